/** Tries after which a delivery is given up; the last is made some three days after the first. */
export const mostTries = 10;

const first = 30;
const longest = 20 * 3600;
/** So that all that failed together does not come together again. */
const jitter = 0.2;

/**
 * Seconds until the next try, four times as long after each failure up to 20 hours, a fifth more or less by chance; null:
 * given up.
 * @param tries made so far, at least 1
 * @param chance 0 to below 1
 * @param asked seconds that the receiver asked to be left alone for, taken for a day at most
 */
export function secondsUntilNextTry(tries: number, most: number, chance: number, asked = 0): number | null {
  if (tries >= most) return null;
  const wait = Math.min(first * 4 ** (tries - 1), longest) * (1 - jitter + 2 * jitter * chance);
  return Math.round(Math.max(wait, Math.min(asked, 24 * 3600)));
}
