import type { LetterData } from './letter-data.ts';
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

  const pointsBefore = new Map(before.development.map((point) => [point.duty, point]));
  const pointsAfter = new Map(after.development.map((point) => [point.duty, point]));
  for (const [duty, point] of pointsAfter) {
    const old = pointsBefore.get(duty);
    if (!old)
      changes.push(
        `New development point: ${duty} (${point.misses} of ${point.opportunities}, ${formatPercent(point.rate)}).`,
      );
    else if (old.misses !== point.misses || old.opportunities !== point.opportunities)
      changes.push(
        `${duty}: missed ${point.misses} of ${point.opportunities} instead of ${old.misses} of ${old.opportunities}.`,
      );
    else if (text(old.plays) !== text(point.plays))
      changes.push(`${duty}: a play or its comment was corrected.`);
  }
  for (const duty of pointsBefore.keys())
    if (!pointsAfter.has(duty)) changes.push(`No longer a development point: ${duty}.`);
  if (changes.length === 0 && comparable(before) !== comparable(after))
    changes.push('Wording or details were corrected; no figure changed.');
  return changes;
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
