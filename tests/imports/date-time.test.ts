import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readDateTime } from '../../server/imports/csv/date-time.ts';
import { settledBy } from '../../server/imports/csv/settled.ts';
import { scheduleFormat } from '../../server/imports/files/schedule.ts';

const value = '2026-09-05 14:30';

describe('a date and time as spreadsheets write it', () => {
  it.each([
    '2026-09-05 14:30',
    '2026-09-05T14:30',
    '2026-09-05 14:30:00',
    '2026/09/05 14:30',
    '2026.09.05 14:30',
    '5.9.2026 14:30',
    '05.09.2026 14:30',
    '05.09.26 14:30',
    '5. 9. 2026 14.30',
    '5 September 2026 14:30',
    '5-Sep-26 14:30',
    '5th Sept. 2026, 2:30 pm',
    'September 5, 2026 2:30 PM',
    'Sep 5, 2026, 2:30 p.m.',
    'Saturday, September 5, 2026 at 2:30 PM',
    'Sat 2026-09-05 14:30',
    // Excel puts a narrow no-break space before AM and PM (Unicode CLDR 42, English).
    'Sep 5, 2026 2:30\u202fPM',
    // Days since 1899-12-30: 46270 is 2026-09-05, .604166667 is 14:30 (ECMA-376 part 1, 18.17.4.1).
    '46270.604166667',
    '46270,6041666667',
  ])('%s', (written) => {
    expect(readDateTime(written)).toEqual({ value });
  });

  it('counts days as spreadsheets do', () => {
    // Microsoft's documentation of the DATE function: January 1, 2008 is serial number 39448. R 4.2.2,
    // as.Date("2008-01-01") - as.Date("1899-12-30").
    expect(readDateTime('39448.5')).toEqual({ value: '2008-01-01 12:00' });
  });

  it('leaves the order of day and month open where the text does', () => {
    expect(readDateTime('9/5/2026 2:30 PM')).toEqual({
      dayFirst: '2026-05-09 14:30',
      monthFirst: value,
      leaning: 'month-first',
    });
    expect(readDateTime('5/9/2026 14:30')).toEqual({
      dayFirst: value,
      monthFirst: '2026-05-09 14:30',
    });
    expect(readDateTime('25/9/2026 14:30')).toEqual({ dayFirst: '2026-09-25 14:30' });
    expect(readDateTime('9-25-26 14:30')).toEqual({ monthFirst: '2026-09-25 14:30' });
    expect(readDateTime('9/9/2026 14:30')).toEqual({ value: '2026-09-09 14:30' });
  });

  it.each([
    ['2026-09-31 14:30', 'is not a date and time that exists'],
    ['31.9.2026 14:30', 'is not a date and time that exists'],
    ['13/13/2026 14:30', 'is not a date and time that exists'],
    ['2026-09-05 24:00', 'is not a date and time that exists'],
    ['2026-09-05 13:30 PM', 'is not a date and time'],
    ['2026-09-05', 'is a date without a time of day'],
    ['9/5/2026', 'is a date without a time of day'],
    ['2026-09-05T14:30Z', 'is not a date and time'],
    ['2026-09-05 14:30 CST', 'is not a date and time'],
    ['14:30', 'is not a date and time'],
    ['2026', 'is not a date and time'],
    ['46270', undefined],
    ['TBA', 'is not a date and time'],
    ['', 'is not a date and time'],
  ])('%s %s', (written, problem) => {
    if (problem === undefined) expect(readDateTime(written)).toEqual({ value: '2026-09-05 00:00' });
    else expect(() => readDateTime(written)).toThrow(problem);
  });

  it('reads back what the platform’s own formatter writes for people of many places', () => {
    // Intl.DateTimeFormat (Unicode CLDR) is the outside writer; what it writes is read as the day it was, under the
    // order that the place uses, or not at all, but never as another.
    const places = ['en-US', 'en-GB', 'en-CA', 'de-DE', 'fr-FR', 'sv-SE', 'nl-NL', 'en-ZA', 'fi-FI'];
    const formats = places.flatMap((place) =>
      (['short', 'medium', 'long'] as const).map((dateStyle) => ({
        place,
        order: place === 'en-US' ? 'monthFirst' : 'dayFirst',
        write: new Intl.DateTimeFormat(place, { dateStyle, timeStyle: 'short', timeZone: 'UTC' }),
      })),
    );
    const minute = fc
      .date({ min: new Date('2000-01-01T00:00Z'), max: new Date('2049-12-31T23:59Z'), noInvalidDate: true })
      .map((date) => new Date(Math.floor(date.getTime() / 60_000) * 60_000));
    let read = 0;
    fc.assert(
      fc.property(minute, fc.constantFrom(...formats), (date, { order, write }) => {
        let written: ReturnType<typeof readDateTime>;
        try {
          written = readDateTime(write.format(date));
        } catch {
          return;
        }
        read += 1;
        const meant = 'value' in written ? written.value : written[order as 'dayFirst' | 'monthFirst'];
        expect(meant).toBe(date.toISOString().slice(0, 16).replace('T', ' '));
      }),
      { numRuns: 2000 },
    );
    expect(read).toBeGreaterThan(1000);
  });
});

describe('the dates of a file together', () => {
  const settled = (...kickoffs: string[]) => {
    async function* file() {
      yield Buffer.from(`kickoff\n${kickoffs.map((text) => `"${text}"`).join('\n')}\n`);
    }
    return settledBy(file, scheduleFormat as never);
  };

  it('settle the order by one that can only be read one way', async () => {
    expect(await settled('9/5/2026 14:30', '9/26/2026 14:30')).toEqual({ dates: 'month-first' });
    expect(await settled('5/9/2026 14:30', '26/9/2026 14:30')).toEqual({ dates: 'day-first' });
    // One that only works day first outweighs the habit of AM and PM.
    expect(await settled('5/9/2026 2:30 PM', '26/9/2026 2:30 PM')).toEqual({ dates: 'day-first' });
  });

  it('else lean on AM and PM, and settle nothing when they contradict each other', async () => {
    expect(await settled('9/5/2026 2:30 PM')).toEqual({ dates: 'month-first' });
    expect(await settled('9/5/2026 14:30')).toEqual({});
    expect(await settled('9/26/2026 14:30', '26/9/2026 14:30', '9/5/2026 2:30 PM')).toEqual({});
  });
});
