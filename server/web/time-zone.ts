import { z } from 'zod';

/** An IANA time zone name, such as America/Chicago. */
export const timeZone = z.string().refine(isTimeZone, 'is not an IANA time zone name');

/** Zones found good: few, each asked for by many rows, and a formatter is dear to make. */
const knownZones = new Set<string>();

export function isTimeZone(value: string): boolean {
  if (knownZones.has(value)) return true;
  // An offset such as +05:00 is accepted by Intl but isn't a zone name: it knows no daylight saving time.
  if (!/^[A-Z][A-Za-z]*(\/[A-Za-z0-9_+-]+)*$/.test(value)) return false;
  try {
    new Intl.DateTimeFormat('en', { timeZone: value });
  } catch {
    return false;
  }
  knownZones.add(value);
  return true;
}

const american =
  /^(America\/(New_York|Detroit|Indiana\/Indianapolis|Chicago|Denver|Phoenix|Los_Angeles|Anchorage)|Pacific\/Honolulu)$/;

/** Every zone's name, those of the United States first: the suggestions of a form's field. */
export const timeZoneNames: readonly string[] = (() => {
  const all = Intl.supportedValuesOf('timeZone');
  const first = all.filter((zone) => american.test(zone));
  return [...first, ...all.filter((zone) => !american.test(zone))];
})();
