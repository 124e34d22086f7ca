import type { LetterData, ToWorkOn } from './letter-data.ts';
import { formatGrade, formatPercent } from './wording.ts';

/**
 * What differs between two editions of a letter, in sentences an official can check, most weighty first.
 * Empty when the figures and marks are the same; dates of issue and reply alone change nothing.
 */
export function changesBetween(before: LetterData, after: LetterData): string[] {
  const changes: string[] = [];
  const figure = (what: string, from: number | null, to: number | null) => {
    const [old, now] = [formatGrade(from), formatGrade(to)];
    if (old !== now) changes.push(`${what}: ${now} instead of ${old}.`);
  };
  figure('Adjusted grade', before.grade.adjusted, after.grade.adjusted);
  figure('Lower end of its interval', before.grade.low, after.grade.low);
  figure('Upper end of its interval', before.grade.high, after.grade.high);
  figure('Grade as observed', before.grade.raw, after.grade.raw);
  for (const kind of ['calls', 'mechanics'] as const) {
    const [old, now] = [before.grade[kind], after.grade[kind]];
    // A letter made before there were such grades says nothing that could have changed.
    if (!old || !now) continue;
    figure(`Grade of ${kind}, adjusted`, old.adjusted, now.adjusted);
    figure(`Grade of ${kind}, as observed`, old.raw, now.raw);
  }
  if (before.official.position !== after.official.position)
    changes.push(`The letter is about ${after.official.position} instead of ${before.official.position}.`);
  const total = (what: string, from: number, to: number) => {
    if (from !== to) changes.push(`${what}: ${to} instead of ${from}.`);
  };
  total('Graded games', before.totals.games, after.totals.games);
  total('Opportunities', before.totals.opportunities, after.totals.opportunities);
  total('Missed', before.totals.misses, after.totals.misses);

  if (before.toWorkOn.length === 0 && after.toWorkOn.length > 0)
    changes.push('The letter now names the duties that cost most, also where it may be chance.');
  else changes.push(...dutiesBetween(before.toWorkOn, after.toWorkOn));
  if (changes.length === 0 && comparable(before) !== comparable(after))
    changes.push('Wording or details were corrected; no figure changed.');
  return changes;
}

function dutiesBetween(before: readonly ToWorkOn[], after: readonly ToWorkOn[]): string[] {
  const old = new Map(before.map((one) => [one.duty, one]));
  const now = new Map(after.map((one) => [one.duty, one]));
  const counts = ({ misses, opportunities }: ToWorkOn) => `${misses} of ${opportunities}`;
  const changed = after.flatMap((one) => {
    const { duty, certainty, rate } = one;
    const was = old.get(duty);
    if (!was) return [`New to work on: ${duty} (${counts(one)}, ${formatPercent(rate)}; ${certainty}).`];
    const told: string[] = [];
    if (counts(was) !== counts(one)) told.push(`${duty}: missed ${counts(one)} instead of ${counts(was)}.`);
    else if (text(was.plays) !== text(one.plays)) told.push(`${duty}: a play or its comment was corrected.`);
    if (was.certainty !== certainty) told.push(`${duty}: ${certainty} now, not ${was.certainty}.`);
    return told;
  });
  const gone = before
    .filter(({ duty }) => !now.has(duty))
    .map(({ duty }) => `No longer named to work on: ${duty}.`);
  return [...changed, ...gone];
}

/** Everything but what each issue of a letter has of its own. */
function comparable(data: LetterData): string {
  const { edition, changes, issuedOn, reply, ...rest } = data;
  return text(rest);
}

const text = (value: unknown): string => JSON.stringify(sorted(value));

/** Keys in order, as the database keeps them in another. */
function sorted(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(sorted);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, inner]) => [key, sorted(inner)]),
  );
}
