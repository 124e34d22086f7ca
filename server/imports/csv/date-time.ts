/** Dates and times of day as people's spreadsheets write them. */

/** `2031-09-06 19:00`: a date and time of day without a zone. */
type LocalDateTime = string;

/**
 * What a text says: one date and time, or one of two, which only the order of day and month decides (an order in which
 * it is no date at all is left out). `leaning` is what the way of writing makes likely.
 */
type WrittenDateTime =
  | { value: LocalDateTime }
  | { dayFirst?: LocalDateTime; monthFirst?: LocalDateTime; leaning?: 'month-first' };

const months = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'];

const monthNamed = (name: string) => months.indexOf(name.slice(0, 3).toLowerCase()) + 1;

const weekday = /^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[.,]*\s+/i;
const two = (value: number) => String(value).padStart(2, '0');

/** A year of two digits is one of this century. */
const fullYear = (digits: string) => (digits.length === 2 ? 2000 : 0) + Number(digits);

interface TimeOfDay {
  text: string;
  /** Written with AM or PM. */
  half: boolean;
}

/** `14:30`, `14:30:00`, `2:30 PM`, `2 p.m.`; with `dots` also `14.30`. */
function timeOfDay(text: string, dots: boolean): TimeOfDay | undefined {
  const parts = /^(\d{1,2})(?:([:.])([0-5]\d)(?::00(?:\.0+)?)?)?(?:\s*([ap])\.?\s?m\.?)?$/i.exec(text);
  if (parts === null) return undefined;
  const [, hours, mark, minutes, half] = parts;
  if (mark === '.' && !dots && half === undefined) return undefined;
  if (minutes === undefined && half === undefined) return undefined;
  let hour = Number(hours);
  if (half !== undefined) {
    if (hour < 1 || hour > 12) return undefined;
    hour = (hour % 12) + (half.toLowerCase() === 'p' ? 12 : 0);
  }
  if (hour > 23) return undefined;
  return { text: `${two(hour)}:${minutes ?? '00'}`, half: half !== undefined };
}

function joined(year: number, month: number, day: number, time: TimeOfDay): LocalDateTime | undefined {
  const date = new Date(Date.UTC(year, month - 1, day));
  const real =
    date.getUTCFullYear() === year && date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
  return real && year >= 1900 ? `${year}-${two(month)}-${two(day)} ${time.text}` : undefined;
}

/**
 * Spreadsheets count days since 1899-12-30, with the time of day as a fraction (ECMA-376 part 1, 18.17.4.1, the 1900
 * date system after February 1900). Only days of this century are taken for dates.
 */
function fromSerial(text: string): LocalDateTime | undefined {
  if (!/^\d{5}([.,]\d+)?$/.test(text)) return undefined;
  const days = Number(text.replace(',', '.'));
  if (days < 36_526 || days >= 73_051) return undefined;
  const minutes = Math.round(days * 1440);
  return new Date(Date.UTC(1899, 11, 30) + minutes * 60_000).toISOString().slice(0, 16).replace('T', ' ');
}

/** @throws Error whose message completes "This ..." */
export function readDateTime(written: string): WrittenDateTime {
  const serial = fromSerial(written);
  if (serial !== undefined) return { value: serial };
  const text = written.replace(weekday, '').replace(/[\s\u00a0\u202f]+/g, ' ');
  const known = (value: LocalDateTime | undefined): WrittenDateTime => {
    if (value === undefined) throw new Error('is not a date and time that exists');
    return { value };
  };
  const parts = /^(.+?)(?:T|,? at |,? )(\d{1,2}(?:[:.]\d{2}.*|\s*[ap]\.?\s?m\.?))$/i.exec(text);
  if (parts === null) {
    const dateOnly = /^(\d{1,4}[./-]\d{1,2}[./-]\d{1,4}|[a-z]+ \d{1,2}, \d{4}|\d{1,2} [a-z]+ \d{4})$/i.test(
      text,
    );
    throw new Error(dateOnly ? 'is a date without a time of day' : 'is not a date and time');
  }
  const [, date, clock] = parts as unknown as [string, string, string];
  const time = timeOfDay(clock, /^\d{1,2}\.\s?\d{1,2}\.\s?\d/.test(date));
  if (time === undefined) {
    // A date that exists with a time of day that does not, as 24:00 or 10:60, is told as such.
    throw new Error(
      /^\d{1,2}:\d{2}$/.test(clock) ? 'is not a date and time that exists' : 'is not a date and time',
    );
  }

  const yearFirst = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$/.exec(date);
  if (yearFirst) return known(joined(Number(yearFirst[1]), Number(yearFirst[2]), Number(yearFirst[3]), time));
  const dotted = /^(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4}|\d{2})$/.exec(date);
  if (dotted) return known(joined(fullYear(dotted[3]!), Number(dotted[2]), Number(dotted[1]), time));
  const dayName = /^(\d{1,2})(?:st|nd|rd|th)?\.?[ -]([a-z]{3,9})\.?,?[ -](\d{4}|\d{2})$/i.exec(date);
  if (dayName && monthNamed(dayName[2]!) > 0)
    return known(joined(fullYear(dayName[3]!), monthNamed(dayName[2]!), Number(dayName[1]), time));
  const nameDay = /^([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})$/i.exec(date);
  if (nameDay && monthNamed(nameDay[1]!) > 0)
    return known(joined(Number(nameDay[3]), monthNamed(nameDay[1]!), Number(nameDay[2]), time));

  const either = /^(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})$/.exec(date);
  if (!either) throw new Error('is not a date and time');
  const [first, second, year] = [Number(either[1]), Number(either[2]), fullYear(either[3]!)];
  const dayFirst = joined(year, second, first, time);
  const monthFirst = joined(year, first, second, time);
  if (dayFirst === undefined && monthFirst === undefined)
    throw new Error('is not a date and time that exists');
  if (dayFirst === monthFirst) return known(dayFirst);
  return { dayFirst, monthFirst, ...(time.half ? { leaning: 'month-first' as const } : {}) };
}

/** `September 5, 2026 at 14:30`: the month in letters, so that it cannot be taken for the day. */
export function dateTimeInWords(value: string): string {
  const date = new Date(`${value.replace(' ', 'T')}Z`);
  return `${dateInWords.format(date)} at ${value.slice(11)}`;
}

const dateInWords = new Intl.DateTimeFormat('en-US', {
  year: 'numeric',
  month: 'long',
  day: 'numeric',
  timeZone: 'UTC',
});
