import type { CountRow } from '../counts.ts';
import { nominalLevels } from './alpha-spending.ts';

/** A count with the day of its game, YYYY-MM-DD. */
export interface DatedCount extends CountRow {
  day: string;
}

interface Look {
  /** Of all information that the season will give, 0 to 1. */
  fraction: number;
}

/** Games before anything is said. */
const fewestGames = 2;

/**
 * Looks so far: one after each week with a game of the official's, from the second game on. What there is to come is
 * told from the pace so far and the weeks left, at each look with what was known then; in the last week it is nothing.
 *
 * Information on the difference of two rates is as 1 / (1 / before + 1 / after), in chances (Jennison and Turnbull
 * 2000, section 3.1); with no `before`, as the chances.
 *
 * @param since the official's own rows since
 * @param before chances before; null when not compared with a time before
 * @param firstWeek of the official's rows, @param lastWeek of the season
 */
export function looksOf(
  since: readonly DatedCount[],
  before: number | null,
  firstWeek: number,
  lastWeek: number,
): Look[] {
  const played = since.filter(({ opportunities }) => opportunities > 0);
  const weeks = [...new Set(played.map(({ week }) => week))].sort((a, b) => a - b);
  const information = (after: number) => (before === null ? after : 1 / (1 / before + 1 / after));
  const looks: Look[] = [];
  let fraction = 0;
  for (const week of weeks) {
    const rows = played.filter((row) => row.week <= week);
    if (new Set(rows.map((row) => row.game)).size < fewestGames) continue;
    const chances = rows.reduce((sum, row) => sum + row.opportunities, 0);
    const pace = (chances + (before ?? 0)) / Math.max(1, week - firstWeek + 1);
    const toCome = pace * Math.max(0, lastWeek - week);
    fraction = Math.max(fraction, information(chances) / information(chances + toCome));
    looks.push({ fraction });
  }
  return looks;
}

/**
 * What the exact p-value of the latest look has to reach, one-sided (0: nothing can be said yet), and that of a look at
 * the season's end after those so far.
 */
export function levelsNeeded(looks: readonly Look[], level: number): { latest: number; atEnd: number } {
  const levels = nominalLevels([...looks.map(({ fraction }) => fraction), 1], level);
  return { latest: levels.at(-2) ?? 0, atEnd: levels.at(-1)! };
}
