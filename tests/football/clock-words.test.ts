import { expect, test } from 'vitest';
import { clockInWords, timecodeInWords } from '../../server/football/clock-words.ts';

test('a clock is minutes and seconds, from an hour on hours too', () => {
  expect([0, 9, 725, 3599, 3600, 5025].map(clockInWords)).toEqual([
    '0:00',
    '0:09',
    '12:05',
    '59:59',
    '1:00:00',
    '1:23:45',
  ]);
});

test('a place in a film keeps its tenths, and never reads 60 seconds', () => {
  expect([0, 59.96, 61.5, 3725.25].map(timecodeInWords)).toEqual([
    '0:00:00',
    '0:01:00',
    '0:01:01.5',
    '1:02:05.3',
  ]);
});
