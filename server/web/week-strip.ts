import { number } from './format.ts';

/** One game or week in a strip. */
interface StripWeek {
  week: number;
  misses: number;
  opportunities: number;
  /** What peers would have missed; null draws no mark. */
  expected: number | null;
}

const slot = 20;
const bar = 15;
const height = 34;
const top = 12;
const foot = 11;

/**
 * Misses week by week as a small SVG: a bar with its number for each week of the season so far, a line across it where
 * peers would have been, an empty slot where the official had chances and missed none, and nothing where there was no
 * chance. Weeks stand under each other from row to row. Returns markup; everything in it is a number.
 */
export function weekStrip(games: readonly StripWeek[], firstWeek: number, lastWeek: number): string {
  const weeks = new Map<number, StripWeek>();
  for (const game of games) {
    const before = weeks.get(game.week);
    weeks.set(
      game.week,
      before
        ? {
            week: game.week,
            misses: before.misses + game.misses,
            opportunities: before.opportunities + game.opportunities,
            expected:
              before.expected === null && game.expected === null
                ? null
                : (before.expected ?? 0) + (game.expected ?? 0),
          }
        : game,
    );
  }
  const most = Math.max(1, ...[...weeks.values()].map((week) => Math.max(week.misses, week.expected ?? 0)));
  const width = (lastWeek - firstWeek + 1) * slot;
  const base = top + height;
  const parts: string[] = [];
  const words: string[] = [];
  for (let week = firstWeek; week <= lastWeek; week++) {
    const x = (week - firstWeek) * slot + (slot - bar) / 2;
    const middle = x + bar / 2;
    parts.push(`<text class="strip-week" x="${middle}" y="${base + foot - 1}">${week}</text>`);
    const entry = weeks.get(week);
    if (!entry || entry.opportunities === 0) continue;
    const tall = (entry.misses / most) * height;
    words.push(`week ${week}: ${entry.misses} of ${entry.opportunities}`);
    parts.push(
      `<g><title>Week ${week}: ${entry.misses} of ${entry.opportunities} missed${
        entry.expected === null ? '' : `, peers ${number(entry.expected)}`
      }</title>`,
      `<rect class="strip-slot" x="${x}" y="${top}" width="${bar}" height="${height}"/>`,
      `<rect class="strip-bar" x="${x}" y="${(base - tall).toFixed(1)}" width="${bar}" height="${tall.toFixed(1)}"/>`,
    );
    if (entry.misses > 0) {
      parts.push(
        `<text class="strip-number" x="${middle}" y="${(base - tall - 2).toFixed(1)}">${entry.misses}</text>`,
      );
    }
    if (entry.expected !== null) {
      const y = (base - (entry.expected / most) * height).toFixed(1);
      parts.push(`<line class="strip-peers" x1="${x - 1}" x2="${x + bar + 1}" y1="${y}" y2="${y}"/>`);
    }
    parts.push('</g>');
  }
  const total = top + height + foot;
  return `<svg class="strip" role="img" width="${width}" height="${total}" viewBox="0 0 ${width} ${total}" aria-label="Misses by week: ${words.join('; ')}">${parts.join('')}</svg>`;
}

/** The weeks that a page's strips span: those with any game in them. */
export function weekSpan(lists: readonly (readonly { week: number }[])[]): { first: number; last: number } {
  const weeks = lists.flat().map(({ week }) => week);
  return weeks.length === 0 ? { first: 1, last: 1 } : { first: Math.min(...weeks), last: Math.max(...weeks) };
}
