import { expect, test } from 'vitest';
import { seasonFigure } from '../../server/knowledge/season-figure.ts';

test('the figure is the weighted mean, and its range holds both uncertainties', () => {
  // By hand: .9 x 95 + .1 x 80 = 93.5. Errors: the grade's (97 - 93) / 2 / 1.6449 = 1.21588; the quizzes' of 16.5 of 21
  // over 20 questions 9.17517; sqrt((.9 x 1.21588)^2 + (.1 x 9.17517)^2) = 1.42804, times 1.6449 = 2.34898.
  const figure = seasonFigure({ grade: 95, low: 93, high: 97 }, { right: 16, asked: 20 }, 10)!;
  expect(figure.value).toBeCloseTo(93.5, 10);
  expect(figure.high! - figure.value).toBeCloseTo(2.34898, 4);
  expect(figure.value - figure.low!).toBeCloseTo(2.34898, 4);
});

test('no quiz, no figure; a grade whose range is not known gives a figure without one; ends are kept', () => {
  expect(seasonFigure({ grade: 95, low: 93, high: 97 }, { right: 0, asked: 0 }, 10)).toBeNull();
  expect(seasonFigure({ grade: 95, low: null, high: null }, { right: 5, asked: 10 }, 50)).toEqual({
    value: 72.5,
    low: null,
    high: null,
  });
  const top = seasonFigure({ grade: 99.9, low: 99.5, high: 100 }, { right: 10, asked: 10 }, 50)!;
  expect(top.high).toBe(100);
  expect(top.low!).toBeLessThan(top.value);
});
