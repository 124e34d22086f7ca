const minute = 60_000;
const hour = 60 * minute;
const day = 24 * hour;

/** How long something has waited: "3 days", "5 hours", "just now". Whole units, rounded down. */
export function ageInWords(since: Date, now: Date): string {
  const waited = now.getTime() - since.getTime();
  if (waited >= day) return counted(Math.floor(waited / day), 'day');
  if (waited >= hour) return counted(Math.floor(waited / hour), 'hour');
  return waited >= minute ? counted(Math.floor(waited / minute), 'minute') : 'just now';
}

/** How long is left: "in 3 days", "in 5 hours", "within the hour"; "over" once it is. */
export function timeLeftInWords(until: Date, now: Date): string {
  const left = until.getTime() - now.getTime();
  if (left < 0) return 'over';
  if (left >= day) return `in ${counted(Math.floor(left / day), 'day')}`;
  return left >= hour ? `in ${counted(Math.floor(left / hour), 'hour')}` : 'within the hour';
}

const counted = (count: number, unit: string) => `${count} ${unit}${count === 1 ? '' : 's'}`;
