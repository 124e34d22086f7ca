/** How the text of one cell becomes a value. Each schema's message completes the sentence "<value> ...". */
import { z } from 'zod';
import { positionFrom } from '../../football/position-spellings.ts';
import type { Position } from '../../football/positions.ts';
import type { Lane } from '../../football/sides.ts';
import { dayInWords } from '../../text/days.ts';
import { exactText } from '../../text/typed-text.ts';
import { dateTimeInWords, readDateTime } from './date-time.ts';
import type { Asking } from './questions.ts';

/** Text as people type it anywhere; the reader has dropped the blanks around it. */
export const text = (most: number) => exactText({ most, tooLong: `is longer than ${most} characters` });

/** One line of text, inner spaces as given. */
export function line(longest: number) {
  return text(longest).refine((value) => !/[\r\n]/.test(value), 'runs over more than one line');
}

export const email = z
  .string()
  .transform((value) => value.toLowerCase())
  .pipe(z.email('is not an e-mail address'));

export function integer(low: number, high: number) {
  return z
    .string()
    .regex(/^[+-]?\d{1,9}$/, 'is not a whole number')
    .transform(Number)
    .refine((value) => value >= low && value <= high, `is outside ${low} to ${high}`);
}

/** A decimal comma is read as well: no column of ours holds thousands that a comma could separate. */
export function decimal(low: number, high: number) {
  return z
    .string()
    .regex(/^[+-]?\d{1,9}([.,]\d{1,17})?$/, 'is not a number written with a decimal point')
    .transform((value) => Number(value.replace(',', '.')))
    .refine((value) => value >= low && value <= high, `is outside ${low} to ${high}`);
}

const folded = (value: string) => value.toLowerCase().replace(/[\s_-]+/g, ' ');

/** One of the words, whatever its case; `_` and `-` count as a space. `also` are other spellings that are read. */
export function oneOf<const Word extends string>(
  words: readonly Word[],
  also: Readonly<Record<string, Word>> = {},
) {
  const byFolded = new Map<string, Word>(
    Object.entries(also).map(([spelling, word]) => [folded(spelling), word]),
  );
  for (const word of words) byFolded.set(folded(word), word);
  return z.string().transform((value, context): Word => {
    const word = byFolded.get(folded(value));
    if (word !== undefined) return word;
    context.addIssue({ code: 'custom', message: 'is not one of the choices' });
    return z.NEVER;
  });
}

/** Several of the words, separated by semicolons, each at most once. */
export function someOf<const Word extends string>(words: readonly Word[]) {
  const single = oneOf(words);
  return z.string().transform((value, context): Word[] => {
    const chosen = new Set<Word>();
    for (const part of value.split(';')) {
      const parsed = single.safeParse(part.trim());
      if (!parsed.success) {
        context.addIssue({
          code: 'custom',
          message: `has "${part.trim()}", which is not one of the choices`,
        });
        return z.NEVER;
      }
      chosen.add(parsed.data);
    }
    return [...chosen];
  });
}

const yesWords = new Set(['yes', 'y', 'true', 't', '1', 'x', '✓', '✔']);
const noWords = new Set(['no', 'n', 'false', 'f', '0']);

export const yesOrNo = z.string().transform((value, context): boolean => {
  const word = folded(value);
  if (yesWords.has(word)) return true;
  if (noWords.has(word)) return false;
  context.addIssue({ code: 'custom', message: 'is not yes or no' });
  return z.NEVER;
});

/** A position by its word, its letter, or another spelling that the trade uses. */
export const position = z.string().transform((value, context): Position => {
  const found = positionFrom(value);
  if (found !== undefined) return found;
  context.addIssue({ code: 'custom', message: 'is not one of the choices' });
  return z.NEVER;
});

/**
 * Date and time of day without a zone, kept as text, `2031-09-06 19:00`, for the database to place in a zone. For texts
 * that leave the order of day and month open, the column asks (`orderOfDates`).
 */
export const localDateTime = z.string().transform((value, context): string => {
  try {
    const written = readDateTime(value);
    if ('value' in written) return written.value;
    context.addIssue({ code: 'custom', message: 'may be read day first or month first' });
  } catch (error) {
    context.addIssue({ code: 'custom', message: (error as Error).message });
  }
  return z.NEVER;
});

/** A day as date and time, at midnight: spreadsheets write it anew when they save a file, and may add that time. */
const atMidnight = (text: string) =>
  /^\d{5}$/.test(text) ? text : `${text.replace(/[\sT]0?0:00(:00(\.0+)?)?$/, '')} 00:00`;
const dayOf = (moment: string) => moment.slice(0, 10);

/** A day of the calendar as people's spreadsheets write it, kept as `2031-04-12`. Where order is open, see `orderOfDays`. */
export const localDay = (otherwise: string) =>
  z.string().transform((value, context): string => {
    try {
      const written = readDateTime(atMidnight(value));
      if ('value' in written) return dayOf(written.value);
    } catch {
      // Told below, with an example of what is read.
    }
    context.addIssue({ code: 'custom', message: otherwise });
    return z.NEVER;
  });

/**
 * A date such as 9/5/2026: a file's other dates tell the order, else AM and PM make month first likely.
 * @param meant what is kept of a date and time
 */
function orderOf(
  asWritten: (text: string) => string,
  meant: (moment: string) => string,
  inWords: (meaning: string) => string,
): Asking {
  const eitherDate = (text: string) => {
    try {
      const written = readDateTime(asWritten(text));
      return 'value' in written ? undefined : written;
    } catch {
      return undefined;
    }
  };
  return {
    question: 'dates',
    meanings(text) {
      const either = eitherDate(text);
      if (either === undefined) return undefined;
      return {
        ...(either.dayFirst === undefined ? {} : { 'day-first': meant(either.dayFirst) }),
        ...(either.monthFirst === undefined ? {} : { 'month-first': meant(either.monthFirst) }),
      };
    },
    show: (meaning) => inWords(meaning as string),
    vote(text) {
      const either = eitherDate(text);
      if (either === undefined) return undefined;
      if (either.monthFirst === undefined) return { answer: 'day-first', sure: true };
      if (either.dayFirst === undefined) return { answer: 'month-first', sure: true };
      return either.leaning && { answer: either.leaning, sure: false };
    },
  };
}
export const orderOfDates = orderOf(
  (text) => text,
  (moment) => moment,
  dateTimeInWords,
);
export const orderOfDays = orderOf(atMidnight, dayOf, dayInWords);

/** How people write the places across the field, beside our own words for them. */
export const laneSpellings: Readonly<Record<string, Lane>> = {
  'linesman side': 'head linesman side',
  "head linesman's side": 'head linesman side',
  "linesman's side": 'head linesman side',
  'hl side': 'head linesman side',
  'head linesman': 'head linesman side',
  linesman: 'head linesman side',
  hl: 'head linesman side',
  "line judge's side": 'line judge side',
  'lj side': 'line judge side',
  'line judge': 'line judge side',
  lj: 'line judge side',
  center: 'middle',
  centre: 'middle',
  mid: 'middle',
};

const leftOrRight = /^(left|right)( side)?$/i;

/** Left and right are no side of ours: which wing stands there, only the person who made the file can say. */
export const sideOfLeft: Asking = {
  question: 'left',
  meanings(text) {
    const side = leftOrRight.exec(text)?.[1]?.toLowerCase();
    if (side === undefined) return undefined;
    const [head, line]: [Lane, Lane] = ['head linesman side', 'line judge side'];
    return {
      'head-linesman-side': side === 'left' ? head : line,
      'line-judge-side': side === 'left' ? line : head,
      unknown: null,
    };
  },
  show: (meaning) => (meaning === null ? 'unknown' : String(meaning)),
};

/** Game clock `m:ss` or `mm:ss`, in seconds. Spreadsheets take it for a time of day and add seconds of their own. */
export const gameClock = z.string().transform((value, context): number => {
  const parts = /^(\d{1,2}):([0-5]\d)(?::00)?$/.exec(value);
  const seconds = parts === null ? Number.NaN : Number(parts[1]) * 60 + Number(parts[2]);
  if (seconds >= 0 && seconds <= 15 * 60) return seconds;
  context.addIssue({
    code: 'custom',
    message: parts === null ? 'is not a game clock' : 'is more than the 15:00 of a quarter',
  });
  return z.NEVER;
});

/** Film timecode `h:mm:ss` or `mm:ss`, with decimals if wanted, in seconds. */
export const filmTimecode = z.string().transform((value, context): number => {
  const parts = /^(?:(\d{1,2}):)?([0-5]?\d):([0-5]\d)(?:[.,](\d{1,12}))?$/.exec(value);
  if (parts !== null) {
    const whole = Number(parts[1] ?? 0) * 3600 + Number(parts[2]) * 60 + Number(parts[3]);
    // By its digits, so that no sum rounds it.
    return Number(`${whole}.${parts[4] ?? 0}`);
  }
  context.addIssue({ code: 'custom', message: 'is not a film timecode' });
  return z.NEVER;
});
