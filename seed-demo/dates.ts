import { dayAfter } from '../server/text/days.ts';

/** The Saturday of the demo's week to come where nobody says another: in tests, and in the files written as examples. */
export const usualSaturday = '2026-11-14';

/** By then the evening's games are over in North America, hours after midnight UTC. */
const endOfGameDay = 8 * 3_600_000;

/**
 * The day of the demo's week to come, YYYY-MM-DD: the next Saturday, so that the season is in its last weeks now. On a
 * Saturday it is the Friday after: the games of the week before lie seven days earlier, and they have been played.
 */
export function gameDayToCome(now: Date): string {
  const friday = 5;
  const saturday = 6;
  const today = new Date(now.getTime() - endOfGameDay);
  const weekday = today.getUTCDay();
  const ahead = weekday === saturday ? 7 + friday - saturday : (saturday - weekday + 7) % 7;
  return dayAfter(today.toISOString().slice(0, 10), ahead);
}
