const formats = new Map<string, Intl.DateTimeFormat>();

/**
 * The calendar day in a time zone, as YYYY-MM-DD: `dayIn(session.timeZone)` is the conference's today, wherever the
 * server stands.
 * @throws RangeError when there is no such zone.
 */
export function dayIn(timeZone: string, at: Date = new Date()): string {
  let format = formats.get(timeZone);
  if (!format) {
    format = new Intl.DateTimeFormat('en-CA', {
      timeZone,
      year: 'numeric',
      month: '2-digit',
      day: '2-digit',
    });
    formats.set(timeZone, format);
  }
  return format.format(at);
}
