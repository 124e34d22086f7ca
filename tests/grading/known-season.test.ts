import { expect, test } from 'vitest';
import { groupBy } from '../../server/grading/group-by.ts';
import { drawSeason } from '../bench/seasons/season.ts';
import { demoLike, type SeasonShape, scenarios } from '../bench/seasons/shape.ts';
import { averageOver, ofPosition } from '../bench/seasons/truth.ts';

// The generator that grades are judged by is itself held against what it says of itself: plain counts of many draws.

/** Nobody differs but in what a test gives. */
const plain: SeasonShape = {
  ...demoLike,
  spread: {
    official: 0,
    officialByCategory: 0,
    observer: 0,
    observerByPosition: 0,
    game: 0,
    officialByGame: 0,
  },
  substitutes: 0,
  chances: 3,
};

interface Counted {
  weight: number;
  opportunities: number;
  met: number;
}

const lost = (counts: readonly Counted[]) =>
  counts.reduce((sum, { weight, opportunities, met }) => sum + weight * (opportunities - met), 0);
const whole = (counts: readonly Counted[]) =>
  counts.reduce((sum, { weight, opportunities }) => sum + weight * opportunities, 0);
const misses = (counts: readonly Counted[]) =>
  counts.reduce((sum, { opportunities, met }) => sum + opportunities - met, 0);

test('means over a normal quantity are right: E exp(X) = exp(sd² / 2)', () => {
  for (const deviation of [0.2, 0.5, 0.8]) {
    expect(averageOver(deviation, Math.exp) / Math.exp(deviation ** 2 / 2)).toBeCloseTo(1, 6);
  }
});

test('the truth of a grade is what is recorded on average', () => {
  const shape = {
    ...plain,
    spread: { ...plain.spread, official: 0.5, officialByGame: 0.4 },
    crews: 4,
    weeks: 12,
    chances: 1,
  };
  let standard = 0;
  let officials = 0;
  for (const seed of [1, 2]) {
    const { reports, truth } = drawSeason(shape, seed);
    for (const [official, rows] of groupBy(reports, (row) => row.official)) {
      const counts = rows.flatMap((row) => row.counts);
      const grade = truth.grade.get(ofPosition(official, rows[0]!.position))!;
      const evenings = rows.map((row) => 100 - (100 * lost(row.counts)) / whole(row.counts) - grade);
      const error = Math.sqrt(evenings.reduce((sum, value) => sum + value ** 2, 0)) / evenings.length;
      standard += (100 - (100 * lost(counts)) / whole(counts) - grade) / error;
      officials += 1;
    }
  }
  // A mean of standard normal deviations, five standard errors wide. A bias of a twentieth of the loss shows.
  expect(Math.abs(standard / officials)).toBeLessThan(5 / Math.sqrt(officials));
});

test('two observers share what happened, and each notices by their own coin', () => {
  const { reports, games } = drawSeason({ ...plain, seenTwice: 1, keenness: 0.6 }, 5);
  const marked = misses(reports.flatMap((row) => row.counts));
  const once = misses(games.flatMap((row) => row.counts));
  // Of what was missed, 2 × 0.6 is marked, 1 − 0.4² by anybody. Apart coins would give nearly 2 × 0.6 for both.
  expect(once / marked).toBeCloseTo((1 - 0.4 ** 2) / 1.2, 1.7);
});

test('severity multiplies the odds of a miss', () => {
  const { reports, truth } = drawSeason({ ...plain, extremeObserver: 1 }, 6);
  const rate = (rows: typeof reports) => {
    const counts = rows.flatMap((row) => row.counts);
    return lost(counts) / whole(counts);
  };
  const strict = rate(reports.filter(({ observer }) => observer === 'observer 0'));
  const others = rate(reports.filter(({ observer }) => observer !== 'observer 0'));
  // Rates are small, so odds and rates move nearly alike: e times as many, a little fewer where misses are frequent.
  expect(strict / others).toBeGreaterThan(2.2);
  expect(strict / others).toBeLessThan(Math.E * 1.05);
  const [first, second] = ['observer 0', 'observer 1'].map((observer) => truth.severity.get(observer)!);
  expect(first! - second!).toBeCloseTo(100 * (others - strict), 0.5);
  // Held against all observers, each counted alike.
  expect([...truth.severity.values()].reduce((sum, value) => sum + value, 0)).toBeCloseTo(0, 9);
});

test('misses are as rare as in the demo season, and parts never meet', () => {
  const { reports } = drawSeason(demoLike, 7);
  const counts = reports.flatMap((row) => row.counts);
  // The demo's released reports take 0.8 points of 100 off.
  expect(lost(counts) / whole(counts)).toBeGreaterThan(0.005);
  expect(lost(counts) / whole(counts)).toBeLessThan(0.012);

  const { reports: apart, truth } = drawSeason(scenarios['disconnected crews']!, 7);
  for (const [, rows] of groupBy(apart, ({ observer }) => observer)) {
    expect(new Set(rows.map(({ official }) => truth.part.get(official))).size).toBe(1);
  }
  expect(new Set(truth.part.values()).size).toBe(2);
});
