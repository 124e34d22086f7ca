import type { SeasonWeek } from './season-weeks.ts';

/** A game's week and its day at the venue, YYYY-MM-DD. */
type GameDay = { readonly week: number; readonly day: string };

/**
 * The number of the week that a season is in: the one with today in it, else the next to come, else the last. Where
 * nobody has given the weeks their days, the games tell: a week ends with its last game. Null without weeks and games.
 * @param today YYYY-MM-DD
 */
export function weekNow(
  weeks: readonly SeasonWeek[],
  games: readonly GameDay[],
  today: string,
): number | null {
  const inOrder = weekEnds(weeks, games);
  return (inOrder.find(([, lastDay]) => lastDay >= today) ?? inOrder.at(-1))?.[0] ?? null;
}

/** Whether all weeks are past. */
export const isOver = (weeks: readonly SeasonWeek[], games: readonly GameDay[], today: string): boolean =>
  weekEnds(weeks, games).every(([, lastDay]) => lastDay < today);

/** Each week's number with its last day, in order. */
function weekEnds(weeks: readonly SeasonWeek[], games: readonly GameDay[]): [number, string][] {
  const ends = new Map(weeks.map(({ number, lastDay }) => [number, lastDay]));
  if (ends.size === 0) {
    for (const { week, day } of games) if (day > (ends.get(week) ?? '')) ends.set(week, day);
  }
  return [...ends].sort(([one], [other]) => one - other);
}
