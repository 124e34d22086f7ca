import { expect, test } from 'vitest';
import { fitCountModel } from '../../server/grading/count-model/count-model.ts';
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

test('of counts it is that of means of known variance worked out by hand, where counts are many', () => {
  // 40 levels of 4000 trials each: log-odds are normal with variance D = 1/(n p (1 − p)). An effect is B(y − mean), with
  // B = σ²/(σ² + D), and moves by σ²D/(σ² + D)² for each unit of log σ², whose variance by restricted likelihood is
  // 2(σ² + D)²/σ⁴ over 39 (Rao and Molina 2015, *Small Area Estimation*, on the model of Fay and Herriot; from memory).
  const random = seeded(7);
  const normal = () => random() + random() + random() + random() - 2;
  const [levels, trials] = [40, 4000];
  const share = Array.from(
    { length: levels },
    () => Math.round(trials / (1 + Math.exp(0.8 + 0.1 * normal()))) / trials,
  );
  const fit = fitCountModel(
    {
      family: 'binomial',
      response: share,
      weights: share.map(() => trials),
      factors: [{ name: 'level', levels: share.map((_, at) => at) }],
    },
    { restricted: true },
  );
  if (!fit.fitted) throw new Error(fit.reason);
  const { variance } = fit.factors[0]!;
  const y = share.map((p) => Math.log(p / (1 - p)));
  const p = share.reduce((sum, value) => sum + value, 0) / levels;
  const d = 1 / (trials * p * (1 - p));
  // Neither all skill nor all chance, or nothing would be tested.
  expect(variance / d).toBeGreaterThan(0.5);
  expect(variance / d).toBeLessThan(5);
  const overall = y.reduce((sum, value) => sum + value, 0) / levels;
  const combinations = y.map((_, at) => ({
    fixed: { '(intercept)': 1 },
    effects: [{ factor: 'level', level: at }],
  }));
  const added = varianceUncertainty(fit, { ofCounts: true })(combinations);
  for (const [at, value] of y.entries()) {
    const moved = ((variance * d) / (variance + d) ** 2) * (value - overall);
    const expected = 2 * moved ** 2 * ((2 * (variance + d) ** 2) / variance ** 2 / (levels - 1));
    expect(Math.abs(added[at * levels + at]! - expected)).toBeLessThan(0.25 * expected + 1e-7);
  }
  // A variance that was given is not uncertain.
  const held = varianceUncertainty(fit, { ofCounts: true, held: ['level'] })(combinations);
  expect(Math.max(...held)).toBeLessThan(1e-9);
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
