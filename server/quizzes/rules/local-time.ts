/**
 * What a form's date and time of day mean in a zone, as ISO text; an hour that the clock has twice is the first of them, one
 * that it leaves out the moment it jumps over. Anything else comes back as it was, to be refused by its field.
 */
export function instantOf(local: string, timeZone: string): string {
  if (!/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?$/.test(local)) return local;
  const asUtc = new Date(`${local}Z`).getTime();
  if (Number.isNaN(asUtc)) return local;
  const offsets = [asUtc - 86_400_000, asUtc + 86_400_000].map((at) => offsetAt(at, timeZone));
  const fits = offsets.map((offset) => asUtc - offset).filter((at) => offsetAt(at, timeZone) === asUtc - at);
  return new Date(fits.length > 0 ? Math.min(...fits) : asUtc - offsets[0]!).toISOString();
}

/**
 * The same of a field that shows an instant. Left as it was shown it means that one, whose seconds the field has not got, and
 * which may be the second of an hour that the clock has twice.
 */
export const instantOver = (shown: Date, local: string, timeZone: string): string =>
  local === localOf(shown, timeZone) ? shown.toISOString() : instantOf(local, timeZone);

/** The time of day in a zone, as a form's field takes it. */
export function localOf(at: Date, timeZone: string): string {
  return new Date(at.getTime() + offsetAt(at.getTime(), timeZone)).toISOString().slice(0, 16);
}

/** Milliseconds by which the zone's clock is ahead of UTC. */
function offsetAt(at: number, timeZone: string): number {
  const parts = Object.fromEntries(
    new Intl.DateTimeFormat('en-US', {
      timeZone,
      hourCycle: 'h23',
      year: 'numeric',
      month: '2-digit',
      day: '2-digit',
      hour: '2-digit',
      minute: '2-digit',
      second: '2-digit',
    })
      .formatToParts(at)
      .map(({ type, value }) => [type, Number(value)]),
  ) as Record<'year' | 'month' | 'day' | 'hour' | 'minute' | 'second', number>;
  const { year, month, day, hour, minute, second } = parts;
  return Date.UTC(year, month - 1, day, hour, minute, second) - Math.floor(at / 1000) * 1000;
}
