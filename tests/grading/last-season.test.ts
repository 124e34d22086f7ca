import { expect, test } from 'vitest';
import {
  correlationOf,
  fewestInBoth,
  type OfficialEffects,
  pastRows,
} from '../../server/grading/last-season.ts';
import { fitMixedModel } from '../../server/grading/mixed-model.ts';
import { withSeasonBefore } from '../../server/grading/past-rows.ts';

/** Officials with these effects, and one reliability for all. */
const effects = (values: readonly number[], reliability: number, spread = 2): OfficialEffects => ({
  spread,
  of: new Map(values.map((effect, at) => [`official ${at}`, { effect, reliability }])),
});
const alike = Array.from({ length: 20 }, (_, at) => Math.sin(3 * at));

test('a row of the season before gives what conditioning a bivariate normal distribution gives', () => {
  const [now, before] = [
    effects(alike, 0.5),
    effects(
      alike.map((value) => 1.5 * value),
      0.6,
      3,
    ),
  ];
  const { rows, taken } = pastRows(now, before);
  expect(rows).toHaveLength(20);
  const { correlation } = taken;
  for (const [at, { value, variance }] of rows.entries()) {
    // θ and the sight y = ρθ + change + error, both of variance σ² = 4: E(θ | y) = ρσ²y/(σ²(1 + e)), Var = σ²(1 − ρ²/(1 + e))
    // (the conditional distribution of normal variables, e.g. Anderson 2003, An Introduction to Multivariate Statistical
    // Analysis, theorem 2.5.1).
    const seen = (2 / 3) * ((1.5 * alike[at]!) / 0.6);
    const error = (1 - 0.6) / 0.6;
    const posterior = 1 / (1 / 4 + 1 / variance);
    expect(posterior * (value / variance)).toBeCloseTo((correlation * seen) / (1 + error), 9);
    expect(posterior).toBeCloseTo(4 * (1 - correlation ** 2 / (1 + error)), 9);
  }
});

test('how like themselves officials stay: wholly, not at all, and unknown of few', () => {
  const pair = (own: number, past: number) => ({
    own: { value: own, error: 0.1 },
    past: { value: past, error: 0.1 },
  });
  const many = Array.from({ length: 400 }, (_, at) => Math.sqrt(2) * Math.sin(at * 2.399));
  const others = many.map((_, at) => Math.sqrt(2) * Math.cos(at * 2.399));
  expect(correlationOf(many.map((value) => pair(value, value))).mean).toBeGreaterThan(0.9);
  expect(correlationOf(many.map((value, at) => pair(value, others[at]!))).mean).toBeLessThan(0.1);
  // Against themselves: nothing is borrowed from who is the reverse of what they were.
  expect(correlationOf(many.map((value) => pair(value, -value))).mean).toBeLessThan(0.03);
  const few = correlationOf([pair(0.1, 0.1), pair(-0.1, -0.1)]);
  expect(few.mean).toBeGreaterThan(0.35);
  expect(few.mean).toBeLessThan(0.65);
  expect(few.error).toBeGreaterThan(0.2);
});

test.each([
  [
    'too few served in both',
    effects(alike.slice(0, 11), 0.5),
    effects(alike, 0.5),
    `${fewestInBoth} or more`,
  ],
  [
    'nobody differs now',
    effects(alike, 0, 0),
    effects(alike, 0.5),
    'of this season differ by no more than chance',
  ],
  ['nobody differed then', effects(alike, 0.5), effects(alike, 0, 0), 'of that season differed'],
])('nothing is taken in, with the reason: %s', (_, now, before, reason) => {
  const { rows, taken } = pastRows(now, before);
  expect(rows).toEqual([]);
  expect(taken.reason).toContain(reason);
});

test('variances taken for known are those given, and an official of the season before alone is a level like any', () => {
  const season = {
    response: [1, 2, 3, 2, 1, 4],
    weights: [1, 1, 1, 1, 1, 1],
    fixed: [{ name: 'all', values: [1, 1, 1, 1, 1, 1] }],
    factors: [
      { name: 'official', levels: ['a', 'a', 'b', 'b', 'c', 'c'] },
      { name: 'game', levels: ['x', 'y', 'x', 'y', 'x', 'y'] },
    ],
  };
  const fit = fitMixedModel({
    ...withSeasonBefore(
      season,
      [{ official: 'd', value: 1, variance: 2 }],
      'official',
      ({ value, variance }) => ({
        response: value,
        weight: 0.5 / variance,
      }),
    ),
    known: { residual: 0.5, factors: [0.7, 0.2] },
  });
  if (!fit.fitted) throw new Error(fit.reason);
  expect(fit.residualVariance).toBeCloseTo(0.5, 12);
  expect(fit.factors.map(({ variance }) => variance)).toEqual(
    [0.7, 0.2].map((value) => expect.closeTo(value, 12)),
  );
  // One sight of one official, with a shift of the season of its own, says nothing of them.
  expect(fit.factors[0]!.effects[fit.factors[0]!.levels.indexOf('d')]).toBeCloseTo(0, 9);
});
