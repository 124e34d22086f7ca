const day = 24 * 3_600_000;

/** The Saturday of the demo's week to come where nobody says another: in tests, and in the files written as examples. */
export const usualSaturday = '2026-11-14';

/** The first Saturday after this day (UTC), as YYYY-MM-DD: a season that ends with it is in its last weeks now. */
export function saturdayAfter(now: Date): string {
  const saturday = 6;
  const ahead = ((saturday - now.getUTCDay() + 6) % 7) + 1;
  return dayAfter(now.toISOString().slice(0, 10), ahead);
}

/** A day so many days later, or earlier, as YYYY-MM-DD. */
export const dayAfter = (date: string, days: number): string =>
  new Date(Date.parse(`${date}T00:00:00Z`) + days * day).toISOString().slice(0, 10);
