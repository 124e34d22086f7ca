import type { CodeFacts } from '../../football/codes.ts';
import type { Play } from '../../football/play.ts';
import type { ClockForm, SpotForm } from './mapping.ts';

type Team = NonNullable<Play['offense']>;

/** What a text could not be read as, and what to do about it. */
export class Unreadable extends Error {
  constructor(
    message: string,
    readonly fix: string,
  ) {
    super(message);
  }
}

/** A whole number with or without a sign; a spreadsheet's `.0` is none. */
export function wholeNumber(text: string): number | undefined {
  const written = text.trim().replace(/^[−–]/, '-');
  return /^[+-]?\d{1,6}([.,]0+)?$/.test(written) ? Math.trunc(Number(written.replace(',', '.'))) : undefined;
}

/** A side and a yard line that stand in one cell: `LAR 35`, `35 L`, `H-35`, or `50`. */
export function sideAndLine(text: string): { side: string; line: number } | undefined {
  const written = text.trim();
  const after = /^(.*?)[\s\-–:@.]*(\d{1,2})$/.exec(written);
  if (after) return { side: after[1]!.trim(), line: Number(after[2]) };
  const before = /^(\d{1,2})[\s\-–:@.]*(.*)$/.exec(written);
  return before ? { side: before[2]!.trim(), line: Number(before[1]) } : undefined;
}

/** Can this text be a place at all, whoever has the ball? */
export function isSpotText(as: SpotForm, text: string, sideApart: boolean): boolean {
  if (as !== 'side and line' || sideApart) return wholeNumber(text) !== undefined;
  return sideAndLine(text) !== undefined;
}

const needsOffense = () =>
  new Unreadable(
    'nothing tells which team had the ball, and without it the side means nothing',
    'Choose a column for the team with the ball, or what its text means.',
  );

const noPlace = (as: SpotForm) =>
  new Unreadable(
    as === 'side and line' ? 'is no side with a yard line' : 'is no whole number of yards',
    'Correct the file, choose another way in which it says spots, or say that this text means unknown.',
  );

/**
 * Yards from the offense's own goal line. `whose` says which team's side a text means, as seen from the play;
 * undefined where the text says neither.
 * @throws Unreadable
 */
export function spotFrom(
  as: SpotForm,
  text: string,
  sideText: string | undefined,
  offense: Team | undefined,
  whose: (side: string) => 'own' | 'theirs' | undefined,
): number {
  if (as === 'side and line') {
    const apart = sideText === undefined ? undefined : wholeNumber(text);
    const read =
      sideText === undefined
        ? sideAndLine(text)
        : apart === undefined
          ? undefined
          : { side: sideText.trim(), line: apart };
    if (read === undefined) throw noPlace(as);
    const { side, line } = read;
    if (line < 0 || line > 50) {
      throw new Unreadable(
        'is beyond the 50, which no yard line of a side is',
        'Correct the file, or choose that it says spots as one number.',
      );
    }
    if (line === 50) return 50;
    if (side === '') {
      throw new Unreadable(
        'has no side, and only midfield needs none',
        'Choose the column that holds the side, or correct the file.',
      );
    }
    const own = whose(side);
    if (own === undefined) throw needsOffense();
    return own === 'own' ? line : 100 - line;
  }
  const yards = wholeNumber(text);
  if (yards === undefined) throw noPlace(as);
  switch (as) {
    case 'count':
      return yards;
    case 'to the goal':
      return 100 - yards;
    case 'from the home goal line':
      if (offense === undefined) throw needsOffense();
      return offense === 'home' ? yards : 100 - yards;
    case 'signed, minus own':
    case 'signed, minus theirs': {
      if (yards === 0) {
        throw new Unreadable(
          'is a goal line, but a sign cannot tell which',
          'Say that this text means unknown, or correct the file.',
        );
      }
      if (Math.abs(yards) > 50) {
        throw new Unreadable(
          'is beyond the 50, which no yard line is',
          'Choose another way in which it says spots.',
        );
      }
      const own = as === 'signed, minus own' ? yards < 0 : yards > 0;
      return own ? Math.abs(yards) : 100 - Math.abs(yards);
    }
  }
}

/** `m:ss`, `m:ss:00` as spreadsheets make of it, or plain seconds, in seconds; undefined when it is neither. */
export function secondsOf(text: string): number | undefined {
  const written = text.trim();
  const parts = /^(\d{1,2}):([0-5]\d)(?::00)?$/.exec(written);
  if (parts) return Number(parts[1]) * 60 + Number(parts[2]);
  const colon = /^:([0-5]\d)$/.exec(written);
  if (colon) return Number(colon[1]);
  const plain = wholeNumber(written);
  return plain !== undefined && plain >= 0 && plain <= 3600 ? plain : undefined;
}

/**
 * Seconds left in the quarter.
 * @throws Unreadable
 */
export function clockFrom(
  as: ClockForm,
  text: string,
  quarter: number | undefined,
  { quarterSeconds }: CodeFacts,
): number {
  const seconds = secondsOf(text);
  if (seconds === undefined) {
    throw new Unreadable('is no game clock', 'Write m:ss or seconds, or say that this text means unknown.');
  }
  const left = () => {
    if (as === 'left in the quarter') return seconds;
    if (as === 'gone in the quarter') return quarterSeconds - seconds;
    if (quarter === undefined || quarter > 4) {
      throw new Unreadable(
        'counts over more than a quarter, and the quarter is not known',
        'Choose a column for the quarter.',
      );
    }
    const after = as === 'left in the half' ? (quarter % 2 === 1 ? 1 : 0) : 4 - quarter;
    return seconds - after * quarterSeconds;
  };
  const result = left();
  if (result < 0 || result > 900) {
    throw new Unreadable(
      `is no ${as === 'gone in the quarter' ? 'time gone' : 'time left'} of this quarter`,
      'Choose another way in which the file says the clock, or correct the file.',
    );
  }
  return result;
}

/** `h:mm:ss`, `mm:ss`, with decimals if wanted, or plain seconds; undefined when it is neither. */
export function filmSecondsOf(text: string): number | undefined {
  const written = text.trim().replace(',', '.');
  const parts = /^(?:(\d{1,2}):)?(\d{1,2}):([0-5]\d)(\.\d{1,6})?$/.exec(written);
  if (parts) {
    return Number(
      `${Number(parts[1] ?? 0) * 3600 + Number(parts[2]) * 60 + Number(parts[3])}${parts[4] ?? ''}`,
    );
  }
  return /^\d{1,6}(\.\d{1,6})?$/.test(written) ? Number(written) : undefined;
}
