const dayLength = 24 * 3_600_000;
const writer = new Intl.DateTimeFormat('en-US', { dateStyle: 'long', timeZone: 'UTC' });

const middleOfNight = (day: string) => new Date(`${day}T00:00:00Z`);

/** The day so many days later, or earlier when below 0. Both YYYY-MM-DD. */
export const dayAfter = (day: string, days: number): string =>
  new Date(middleOfNight(day).getTime() + days * dayLength).toISOString().slice(0, 10);

/** How many days lie between two: `daysBetween('2031-09-06', '2031-09-08')` is 2. */
export const daysBetween = (from: string, to: string): number =>
  Math.round((middleOfNight(to).getTime() - middleOfNight(from).getTime()) / dayLength);

/** `December 6, 2031`, as pages and letters write days. @param day such as "2031-12-06" */
export const dayInWords = (day: string): string => writer.format(middleOfNight(day));
