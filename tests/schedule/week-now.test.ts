import { expect, test } from 'vitest';
import { isOver, weekNow } from '../../server/schedule/week-now.ts';

const weeks = [
  { number: 3, firstDay: '2031-09-01', lastDay: '2031-09-07' },
  { number: 4, firstDay: '2031-09-08', lastDay: '2031-09-14' },
  // A week without games lies between.
  { number: 6, firstDay: '2031-09-22', lastDay: '2031-09-28' },
];

test.each([
  ['2031-07-01', 3],
  ['2031-09-07', 3],
  ['2031-09-08', 4],
  ['2031-09-15', 6],
  ['2031-09-28', 6],
  ['2031-12-24', 6],
])('on %s the season is in week %i', (today, week) => {
  expect(weekNow(weeks, [], today)).toBe(week);
});

test('without days of weeks the games tell: a week ends with its last game', () => {
  const games = [
    { week: 2, day: '2031-09-13' },
    { week: 1, day: '2031-09-05' },
    { week: 1, day: '2031-09-06' },
  ];
  expect(['2031-09-06', '2031-09-07', '2031-10-01'].map((today) => weekNow([], games, today))).toEqual([
    1, 2, 2,
  ]);
  expect(weekNow([], [], '2031-09-06')).toBeNull();
});

test('a season is over after its last day', () => {
  expect(['2031-09-28', '2031-09-29'].map((today) => isOver(weeks, [], today))).toEqual([false, true]);
});
