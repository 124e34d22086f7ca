import { expect, test } from 'vitest';
import { dayAfter, dayInWords, daysBetween } from '../../server/text/days.ts';

// The Gregorian calendar: 2028 is a leap year, 2031 and 2100 are none.
test.each([
  ['2031-02-28', 1, '2031-03-01'],
  ['2028-02-28', 1, '2028-02-29'],
  ['2100-02-28', 1, '2100-03-01'],
  ['2031-12-31', 1, '2032-01-01'],
  ['2032-01-01', -1, '2031-12-31'],
  // Clocks in North America go back between these; a day is a day all the same.
  ['2031-11-01', 2, '2031-11-03'],
  ['2031-09-06', 0, '2031-09-06'],
  ['2031-09-06', 365, '2032-09-05'],
])('%s and %i days is %s', (from, days, to) => {
  expect(dayAfter(from, days)).toBe(to);
  expect(daysBetween(from, to)).toBe(days);
});

test('a day is written as letters write it', () => {
  expect(dayInWords('2031-12-06')).toBe('December 6, 2031');
});
