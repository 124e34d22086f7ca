import { expect, test } from 'vitest';
import { clockInWords, timecode, timecodeInWords } from '../../server/football/clock-words.ts';
import { filmClock } from '../../server/programs/browser/clip/cut-in-words.ts';

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

test('a place in a film is told as finely as asked for', () => {
  expect([0, 1, 2, 3].map((decimals) => timecode(754.2, decimals))).toEqual([
    '0:12:34',
    '0:12:34.2',
    '0:12:34.20',
    '0:12:34.200',
  ]);
  expect(timecode(3599.9996, 3)).toBe('1:00:00.000');
  expect([3.45, 123.45, 725, 3723.45].map(filmClock)).toEqual([
    '0:03.45',
    '2:03.45',
    '12:05.00',
    '1:02:03.45',
  ]);
});
