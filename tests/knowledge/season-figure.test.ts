import { expect, test } from 'vitest';
import { seasonFigure } from '../../server/knowledge/season-figure.ts';

/** Quizzes in which no sitting was picked. */
const plain = (right: number, asked: number) => ({ right, asked, told: { ofAll: false, right, asked } });

test('the figure is the weighted mean, and its range holds both uncertainties', () => {
  // By hand: .9 x 95 + .1 x 80 = 93.5. Errors: the grade's (97 - 93) / 2 / 1.6449 = 1.21588; the quizzes' of 16.5 of 21
  // over 20 questions 9.17517; sqrt((.9 x 1.21588)^2 + (.1 x 9.17517)^2) = 1.42804, times 1.6449 = 2.34898.
  const figure = seasonFigure({ grade: 95, low: 93, high: 97 }, plain(16, 20), 10)!;
  expect(figure.value).toBeCloseTo(93.5, 10);
  expect(figure.high! - figure.value).toBeCloseTo(2.34898, 4);
  expect(figure.value - figure.low!).toBeCloseTo(2.34898, 4);
});

test('no quiz, no figure; a grade whose range is not known gives a figure without one; ends are kept', () => {
  expect(seasonFigure({ grade: 95, low: 93, high: 97 }, plain(0, 0), 10)).toBeNull();
  expect(seasonFigure({ grade: 95, low: null, high: null }, plain(5, 10), 50)).toEqual({
    value: 72.5,
    low: null,
    high: null,
  });
  const top = seasonFigure({ grade: 99.9, low: 99.5, high: 100 }, plain(10, 10), 50)!;
  expect(top.high).toBe(100);
  expect(top.low!).toBeLessThan(top.value);
});

test('where the best of several sittings counts, the range is of all answers and reaches to the figure', () => {
  // By hand: the figure .5 x 90 + .5 x 90 = 90 by 18 of 20; all answers 28 of 40 give .5 x 90 + .5 x 70 = 80, their error
  // sqrt(28.5 / 41 x 12.5 / 41 / 40) x 100 = 7.27886, the grade's 2 / 1.6449 = 1.21588; half of the range
  // 1.6449 x .5 x sqrt(7.27886^2 + 1.21588^2) = 6.06945.
  const share = { right: 18, asked: 20, told: { ofAll: true, right: 28, asked: 40 } };
  const figure = seasonFigure({ grade: 90, low: 88, high: 92 }, share, 50)!;
  expect(figure.value).toBeCloseTo(90, 10);
  expect(figure.low).toBeCloseTo(80 - 6.06945, 4);
  expect(figure.high).toBeCloseTo(90, 10);
});
