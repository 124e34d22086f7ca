import { situationOf } from '../football/situations/index.ts';
import type { Duty } from './duty.ts';
import { selectorOf } from './selectors/index.ts';

/** One part of a duty that is another in the later version, in words. */
interface ChangedPart {
  readonly part: string;
  readonly before: string;
  readonly after: string;
}

interface DutyDifference {
  readonly key: string;
  readonly title: string;
  readonly kind: 'added' | 'removed' | 'changed';
  /** Only for changed duties. */
  readonly parts: readonly ChangedPart[];
}

const list = (items: readonly (string | number)[]) => (items.length === 0 ? 'none' : items.join(', '));
const clauses = (keys: Duty['allOf']) => list(keys.map((key) => situationOf(key).clause));

const parts: readonly { part: string; inWords: (duty: Duty) => string }[] = [
  { part: 'title', inWords: (duty) => duty.title },
  { part: 'category', inWords: (duty) => duty.category },
  { part: 'owed', inWords: (duty) => (duty.per === 'game' ? 'once a game' : 'on each play that gives it') },
  { part: 'what is expected', inWords: (duty) => duty.expected },
  { part: 'positions', inWords: (duty) => list(duty.positions) },
  { part: 'crew sizes', inWords: (duty) => list(duty.crewSizes) },
  {
    part: 'other positions in some crew sizes',
    inWords: (duty) =>
      list(duty.instead.map((other) => `crew of ${other.crewSize}: ${list(other.positions)}`)),
  },
  { part: 'which of them', inWords: (duty) => selectorOf(duty.who).label },
  { part: 'when all of', inWords: (duty) => clauses(duty.allOf) },
  { part: 'and one of', inWords: (duty) => clauses(duty.anyOf) },
  { part: 'unless', inWords: (duty) => clauses(duty.unless) },
  { part: 'weight', inWords: (duty) => String(duty.weight) },
  { part: 'graded as', inWords: (duty) => duty.gradedAs },
  { part: 'guidance', inWords: (duty) => duty.guidance || 'none' },
  { part: 'source', inWords: (duty) => duty.source },
];

/** What differs from one version of a rubric to a later one: by duty, in the order of the later one, removals last. */
export function rubricDifference(before: readonly Duty[], after: readonly Duty[]): DutyDifference[] {
  const earlier = new Map(before.map((duty) => [duty.key, duty]));
  const later = new Set(after.map((duty) => duty.key));
  const differences: DutyDifference[] = [];
  for (const duty of after) {
    const { key, title } = duty;
    const old = earlier.get(key);
    if (old === undefined) {
      differences.push({ key, title, kind: 'added', parts: [] });
      continue;
    }
    const changed = parts
      .map(({ part, inWords }) => ({ part, before: inWords(old), after: inWords(duty) }))
      .filter((one) => one.before !== one.after);
    if (changed.length > 0) differences.push({ key, title, kind: 'changed', parts: changed });
  }
  for (const { key, title } of before) {
    if (!later.has(key)) differences.push({ key, title, kind: 'removed', parts: [] });
  }
  return differences;
}
