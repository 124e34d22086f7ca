import { expect, test } from 'vitest';
import { evenScale, lossAtEven } from '../../server/grading/loss-scale.ts';
import { fitMixedModel } from '../../server/grading/mixed-model.ts';
import { predict } from '../../server/grading/prediction.ts';
import { varianceUncertainty } from '../../server/grading/variance-uncertainty.ts';
import { seeded } from '../bench/planning-instances.ts';

test('what estimating a variance adds is that of a balanced one-way layout worked out by hand', () => {
  // 40 levels of 10 rows. With γ the ratio of variances and B = 1/(1 + 10γ), an effect is (1 − B)(mean − overall mean), and
  // log(1 + 10γ) is the log of the F statistic, whose variance for many levels is 2/39 + 2/360. So an effect moves by
  // B(mean − overall mean) times that, and twice its square is added (Prasad and Rao 1990).
  const random = seeded(5);
  const normal = () => random() + random() + random() + random() - 2;
  const [levels, each] = [40, 10];
  const effects = Array.from({ length: levels }, () => 0.5 * normal());
  const level = Array.from({ length: levels * each }, (_, row) => Math.floor(row / each));
  const response = level.map((at) => 7 + effects[at]! + normal());
  const fit = fitMixedModel({ response, factors: [{ name: 'level', levels: level }] });
  if (!fit.fitted) throw new Error(fit.reason);
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const overall = mean(response);
  const { variance } = fit.factors[0]!;
  const b = 1 / (1 + (each * variance) / fit.residualVariance);
  expect(b).toBeGreaterThan(0.1);
  const combinations = effects.map((_, at) => ({
    fixed: { '(intercept)': 1 },
    effects: [{ factor: 'level', level: at }],
  }));
  const added = varianceUncertainty(fit)(combinations);
  const known = predict(fit, combinations).covariance;
  for (const [at] of effects.entries()) {
    const own = mean(response.filter((_, row) => level[row] === at)) - overall;
    const expected = 2 * (b * own) ** 2 * (2 / (levels - 1) + 2 / (levels * (each - 1)));
    // One standard error to either side is not next to nothing, so the slope is met within a twelfth.
    expect(Math.abs(added[at * levels + at]! - expected)).toBeLessThan(expected / 6 + 1e-9);
    expect(added[at * levels + at]!).toBeLessThan(known[at * levels + at]!);
  }
});

test('sums of effects count each as often as they say', () => {
  const random = seeded(6);
  const rows = Array.from({ length: 60 }, (_, row) => ({ a: row % 5, b: (row * 7) % 11, value: random() }));
  for (const row of rows) row.value += row.a + 0.3 * row.b;
  const fit = fitMixedModel({
    response: rows.map(({ value }) => value),
    factors: [
      { name: 'a', levels: rows.map(({ a }) => a) },
      { name: 'b', levels: rows.map(({ b }) => b) },
    ],
  });
  if (!fit.fitted) throw new Error(fit.reason);
  const one = [
    { factor: 'a', level: 1 },
    { factor: 'b', level: 3 },
    { factor: 'a', level: 'never seen' },
  ];
  const { estimates, covariance } = predict(fit, [
    ...one.map((effect) => ({ effects: [effect] })),
    { effects: one.map((effect, at) => ({ ...effect, times: [2, -0.5, 0.25][at]! })) },
  ]);
  const times = [2, -0.5, 0.25];
  expect(estimates[3]).toBeCloseTo(
    times.reduce((sum, value, at) => sum + value * estimates[at]!, 0),
    10,
  );
  const expected = times.reduce(
    (sum, m, i) => sum + times.reduce((s, n, j) => s + m * n * covariance[i * 4 + j]!, 0),
    0,
  );
  expect(covariance[15]).toBeCloseTo(expected, 10);
});

test('the scale of losses rises without a jump, turns back, and is steep as its variance says', () => {
  let before = Number.NEGATIVE_INFINITY;
  for (let loss = -0.5; loss < 6; loss += 0.01) {
    const value = evenScale(loss);
    expect(value).toBeGreaterThan(before);
    before = value;
    expect(lossAtEven(value)).toBeCloseTo(loss, 9);
    if (loss < 0.07) continue;
    const steepness = (evenScale(loss + 1e-5) - evenScale(loss - 1e-5)) / 2e-5;
    expect(steepness).toBeCloseTo(Math.sqrt(2 / (loss + loss * loss)), 5);
  }
});
