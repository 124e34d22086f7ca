import { clockInWords } from '../football/clock-words.ts';
import type { PlayKind } from '../football/play.ts';
import { downInWords, kindInWords } from '../football/play-in-words.ts';
import { type Position, positionLetter } from '../football/positions.ts';
import { yardLineInWords } from '../football/yard-line-words.ts';

/** The ways that figures and dates are written, the same on every page. Each takes a raw value, gives text. */

const none = '–';

/** A grade or other number with one decimal (or `digits`); a dash where there is none. */
export function number(value: unknown, digits: unknown = 1): string {
  if (value === null || value === undefined || !Number.isFinite(Number(value))) return none;
  const text = Number(value).toFixed(typeof digits === 'number' ? digits : 1);
  // What rounds to nothing has no sign.
  return Number(text) === 0 ? text.replace('-', '') : text.replace('-', '−');
}

/** A probability that chance alone did it, 0..1, with three decimals: one too small for them is not none. */
export function chance(value: unknown): string {
  const given = number(value, 3);
  return given === '0.000' || (given !== none && Number(value) < 0.001) ? 'below 0.001' : given;
}

/** A difference with its sign; none before what rounds to nothing. */
export function signed(value: number, digits = 1): string {
  const size = Math.abs(value).toFixed(digits);
  if (Number(size) === 0) return size;
  return `${value < 0 ? '−' : '+'}${size}`;
}

/** A share 0..1 as whole percent; near 0 and near 1 with a decimal, so that few of many do not read as none or all. */
export function percent(value: unknown): string {
  if (value === null || value === undefined || !Number.isFinite(Number(value))) return none;
  const hundredths = Number(value) * 100;
  const isNearEnd = (hundredths > 0 && hundredths < 0.95) || (hundredths > 99.05 && hundredths < 100);
  if (!isNearEnd) return `${Math.round(hundredths)} %`;
  if (hundredths < 0.05) return 'under 0.1 %';
  return hundredths >= 99.95 ? 'over 99.9 %' : `${hundredths.toFixed(1)} %`;
}

/** Seconds as m:ss, or h:mm:ss from an hour on. */
export function clock(value: unknown): string {
  if (value === null || value === undefined || !Number.isFinite(Number(value))) return none;
  return clockInWords(Number(value));
}

/** An instant in the given time zone, with the zone's name: a kickoff is read where it happens. */
export function moment(value: unknown, timeZone: unknown = 'UTC'): string {
  if (!value) return none;
  return writer('moment', timeZone).format(new Date(value as string));
}

export function day(value: unknown, timeZone: unknown = 'UTC'): string {
  if (!value) return none;
  return writer('day', timeZone).format(new Date(value as string));
}

const forms = {
  moment: {
    weekday: 'short',
    month: 'short',
    day: 'numeric',
    year: 'numeric',
    hour: 'numeric',
    minute: '2-digit',
    timeZoneName: 'short',
  },
  day: { month: 'long', day: 'numeric', year: 'numeric' },
} as const satisfies Record<string, Intl.DateTimeFormatOptions>;

const writers = new Map<string, Intl.DateTimeFormat>();

/** One per form and zone for the life of the process: each holds memory outside the heap that is slow to come back. */
function writer(form: keyof typeof forms, timeZone: unknown): Intl.DateTimeFormat {
  const zone = typeof timeZone === 'string' ? timeZone : 'UTC';
  const key = `${form} ${zone}`;
  let found = writers.get(key);
  if (!found) {
    found = new Intl.DateTimeFormat('en-US', { ...forms[form], timeZone: zone });
    writers.set(key, found);
  }
  return found;
}

export function person(value: { givenName: string; familyName: string } | null | undefined): string {
  return value ? `${value.givenName} ${value.familyName}` : none;
}

/** The position's word with its trade letter beside it. */
export function positionWithLetter(value: string): string {
  const letter = positionLetter[value as Position];
  return letter ? `${capital(value)} (${letter})` : capital(value);
}

export function capital(value: string): string {
  return value.charAt(0).toUpperCase() + value.slice(1);
}

/** Yards from the offense's own goal line (0..100) as the trade says a spot. */
export function spot(value: unknown): string {
  if (value === null || value === undefined) return none;
  return yardLineInWords(Number(value));
}

/** `Run, 2nd and goal at opponent's 3`: a play's kind and where it began, as rows of the database hold them. */
export function situation(play: {
  kind: string;
  spot: number;
  down: number | null;
  distance: number | null;
}): string {
  const known = {
    kind: play.kind as PlayKind,
    spot: play.spot,
    ...(play.down === null ? {} : { down: play.down as 1 | 2 | 3 | 4 }),
    ...(play.distance === null ? {} : { distance: play.distance }),
  };
  return `${capital(kindInWords(known))}, ${downInWords(known)}`;
}
