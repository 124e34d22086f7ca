import { dayInWords } from '../text/days.ts';
import { number, percent } from '../web/format.ts';
import { escapeMarkdown, Markdown, markdownLink } from './escape-markdown.ts';

/**
 * The words a template may use besides its fields. Each is a small pure function; a template has no others,
 * so it can reach no file, network or object beyond the letter's data.
 */
type Wording = (...values: unknown[]) => unknown;

interface Word {
  does: string;
  /** Fewest and most values it takes. */
  takes: [least: number, most: number];
  call: Wording;
}

const numberOf = (value: unknown): number | null =>
  typeof value === 'number' && Number.isFinite(value) ? value : null;

/** More decimals than any figure here has. */
const mostDecimals = 10;

/** What prints where there is no figure. */
const noFigure = '–';

/** A number with a fixed count of decimals, as everywhere in the letter: 1 unless said. */
function formatNumber(value: number | null, digits = 1): string {
  return number(value, digits);
}

/** A grade, with as many decimals as on the pages: the same figure wherever it stands. */
export const formatGrade = (grade: number | null): string => formatNumber(grade, 2);

/** A share as on the pages; the no-break space keeps it on one line. */
export function formatPercent(rate: number | null): string {
  return percent(rate).replaceAll(' ', '\u00a0');
}

const ordinalRules = new Intl.PluralRules('en-US', { type: 'ordinal' });

/** 1st, 2nd, 3rd, 4th, 11th, 21st. */
function ordinal(value: number): string {
  const whole = Math.round(value);
  const suffix = { one: 'st', two: 'nd', few: 'rd', other: 'th', zero: 'th', many: 'th' };
  return `${whole}${suffix[ordinalRules.select(whole)]}`;
}

export const wording: Readonly<Record<string, Word>> = {
  number: {
    does: 'a figure with one decimal, or as many as the second value says',
    takes: [1, 2],
    call: (value, digits) => {
      const decimals = numberOf(digits) ?? 1;
      if (!Number.isInteger(decimals) || decimals < 0 || decimals > mostDecimals) {
        throw new Error(`takes 0 to ${mostDecimals} decimals, not ${decimals}`);
      }
      return formatNumber(numberOf(value), decimals);
    },
  },
  percent: {
    does: 'a rate in percent',
    takes: [1, 1],
    call: (rate) => new Markdown(formatPercent(numberOf(rate))),
  },
  date: {
    does: 'a date written out',
    takes: [1, 1],
    call: (iso) => {
      if (typeof iso !== 'string') return noFigure;
      if (Number.isNaN(Date.parse(`${iso}T00:00:00Z`))) {
        throw new Error('needs a field that holds a date, and this one holds other text');
      }
      return dayInWords(iso);
    },
  },
  plural: {
    does: 'a count with its word: plural totals.games "game" "games"',
    takes: [3, 3],
    call: (value, one, many) => `${numberOf(value) ?? 0} ${numberOf(value) === 1 ? one : many}`,
  },
  ordinal: {
    does: 'a rank: 1st, 2nd',
    takes: [1, 1],
    call: (value) => (numberOf(value) === null ? noFigure : ordinal(numberOf(value) ?? 0)),
  },
  period: {
    does: 'a quarter as 1st, 2nd, 3rd, 4th or OT',
    takes: [1, 1],
    call: (value) => (/^[1-9]$/.test(String(value)) ? ordinal(Number(value)) : (value ?? '')),
  },
  capital: {
    does: 'text with its first letter large',
    takes: [1, 1],
    call: (text) => String(text ?? '').replace(/^./u, (first) => first.toUpperCase()),
  },
  add: {
    does: 'the sum of two figures',
    takes: [2, 2],
    call: (a, b) => (numberOf(a) ?? 0) + (numberOf(b) ?? 0),
  },
  link: {
    does: 'text that links to an address: link film filmUrl',
    takes: [2, 2],
    call: (text, address) =>
      markdownLink(text == null ? '' : String(text), typeof address === 'string' ? address : null),
  },
  equal: { does: 'whether two values are the same, inside #if', takes: [2, 2], call: (a, b) => a === b },
  more: {
    does: 'whether the first figure is more than the second, inside #if',
    takes: [2, 2],
    call: (a, b) => (numberOf(a) ?? 0) > (numberOf(b) ?? 0),
  },
  known: {
    does: 'whether a field has a value (0 counts), inside #if',
    takes: [1, 1],
    call: (value) => value != null,
  },
};

/** Any value as Markdown text. This is what every `{{field}}` goes through. */
export function toMarkdown(value: unknown): string {
  if (value == null) return '';
  if (value instanceof Markdown) return value.source;
  if (typeof value === 'string') return escapeMarkdown(value);
  if (typeof value === 'number' || typeof value === 'boolean') return escapeMarkdown(String(value));
  return '';
}
