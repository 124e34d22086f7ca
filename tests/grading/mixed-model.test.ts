import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fitMixedModel, type MixedModelFit, type MixedModelRows } from '../../server/grading/mixed-model.ts';
import { levelErrors, predict } from '../../server/grading/prediction.ts';
import { type DenseModel, denseCriterion, denseEquations } from './dense-mixed-model.ts';

function fitted(rows: MixedModelRows): MixedModelFit {
  const result = fitMixedModel(rows);
  if (!result.fitted) throw new Error(result.reason);
  return result;
}

/** Rows with a real effect of each factor, from a seed. */
const design = fc
  .record({
    spare: fc.integer({ min: 8, max: 30 }),
    levels: fc.array(fc.integer({ min: 2, max: 9 }), { minLength: 1, maxLength: 3 }),
    groups: fc.integer({ min: 1, max: 3 }),
    /** Parts between which no factor has a level in common. */
    parts: fc.integer({ min: 1, max: 3 }),
    seed: fc.integer(),
  })
  .map(({ spare, levels: levelsOfPart, groups, parts, seed }) => {
    const levels = levelsOfPart.map((count) => parts * count);
    const rows = spare + groups + levels.reduce((sum, count) => sum + count, 0);
    let state = seed | 0;
    const random = () => {
      state = (Math.imul(state ^ (state >>> 15), 0x2c1b3c6d) + 0x9e3779b9) | 0;
      return ((state ^ (state >>> 13)) >>> 0) / 2 ** 32;
    };
    const factors = levelsOfPart.map((count) =>
      Array.from({ length: rows }, (_, i) => (i % parts) * count + Math.floor(random() * count)),
    );
    const group = Array.from({ length: rows }, (_, i) => i % groups);
    const effects = levels.map((count) => Array.from({ length: count }, () => 6 * random() - 3));
    const weights = Array.from({ length: rows }, () => 0.2 + 4 * random());
    const response = weights.map(
      (weight, i) =>
        80 +
        5 * group[i]! +
        factors.reduce((sum, codes, k) => sum + effects[k]![codes[i]!]!, 0) +
        (random() + random() + random() - 1.5) / Math.sqrt(weight),
    );
    const fixed = Array.from({ length: groups }, (_, g) => group.map((value) => (value === g ? 1 : 0)));
    return { response, weights, fixed, factors } satisfies DenseModel;
  });

function rowsOf(model: DenseModel): MixedModelRows {
  return {
    response: model.response,
    weights: model.weights,
    fixed: model.fixed.map((values, j) => ({ name: `group ${j}`, values })),
    factors: model.factors.map((levels, k) => ({ name: `factor ${k}`, levels })),
  };
}

describe('the mixed model', () => {
  test('has the criterion of the full matrices, and no nearby variances have a lower one', () => {
    fc.assert(
      fc.property(design, (model) => {
        const fit = fitted(rowsOf(model));
        const variances = [...fit.factors.map((factor) => factor.variance), fit.residualVariance];
        const criterion = denseCriterion(model, variances);
        expect(fit.criterion).toBeCloseTo(criterion, 5);
        if (fit.notes.some((note) => note.includes('too few rows to tell chance'))) return;
        for (let k = 0; k < variances.length; k += 1) {
          for (const factor of [0.98, 1.02]) {
            const near = variances.map((value, j) => (j === k ? value * factor : value));
            expect(denseCriterion(model, near)).toBeGreaterThan(criterion - 1e-6);
          }
          // A variance at 0 must not want to leave it.
          if (
            variances[k] === 0 &&
            !fit.notes.some((note) => /nothing to compare|cannot be told/.test(note))
          ) {
            const near = variances.map((value, j) => (j === k ? 1e-4 * variances.at(-1)! : value));
            expect(denseCriterion(model, near)).toBeGreaterThan(criterion - 1e-6);
          }
        }
      }),
      { numRuns: 60 },
    );
  });

  test("has the effects, standard errors and joint covariance of Henderson's equations", () => {
    fc.assert(
      fc.property(design, (model) => {
        const fit = fitted(rowsOf(model));
        const variances = [...fit.factors.map((factor) => factor.variance), fit.residualVariance];
        if (variances.some((value) => value < 1e-3)) return;
        const codes = model.factors.map((levels, k) =>
          levels.map((level) => fit.factors[k]!.levels.indexOf(level)),
        );
        const levels = fit.factors.map((factor) => factor.levels.length);
        const dense = denseEquations({ ...model, factors: codes }, variances, levels);
        let at = 0;
        for (const effect of fit.fixed) {
          expect(effect.estimate).toBeCloseTo(dense.solution[at]!, 5);
          expect(effect.standardError).toBeCloseTo(Math.sqrt(dense.inverse[at]![at]!), 5);
          at += 1;
        }
        const offset: number[] = [];
        for (const [k, factor] of fit.factors.entries()) {
          offset.push(at);
          const { standardErrors, reliabilities } = levelErrors(fit, factor.name);
          for (let l = 0; l < factor.levels.length; l += 1, at += 1) {
            const variance = dense.inverse[at]![at]!;
            expect(factor.effects[l]).toBeCloseTo(dense.solution[at]!, 5);
            expect(standardErrors[l]).toBeCloseTo(Math.sqrt(variance), 5);
            expect(reliabilities[l]).toBeCloseTo(Math.max(0, 1 - variance / variances[k]!), 5);
          }
        }
        // Of each factor in turn every level, and with it one of the next factor.
        const picked = fit.factors.flatMap(({ levels }, k) =>
          levels.map((_, l) => {
            const next = (k + 1) % fit.factors.length;
            return [{ k, l }, ...(next === k ? [] : [{ k: next, l: l % fit.factors[next]!.levels.length }])];
          }),
        );
        const { covariance } = predict(
          fit,
          picked.map((places, i) => ({
            fixed: { [`group ${i % model.fixed.length}`]: 1 },
            effects: places.map(({ k, l }) => ({ factor: `factor ${k}`, level: fit.factors[k]!.levels[l]! })),
          })),
        );
        const unknowns = picked.map((places, i) => [
          i % model.fixed.length,
          ...places.map(({ k, l }) => offset[k]! + l),
        ]);
        for (const [i, a] of unknowns.entries()) {
          for (const [j, b] of unknowns.entries()) {
            const expected = a.reduce((sum, r) => sum + b.reduce((s, c) => s + dense.inverse[r]![c]!, 0), 0);
            expect(covariance[i * unknowns.length + j]).toBeCloseTo(expected, 5);
          }
        }
      }),
      { numRuns: 60 },
    );
  });

  test('units do not matter: of the response, of the weights, of the order of rows and factors', () => {
    fc.assert(
      fc.property(
        design,
        fc.constantFrom(1e-150, 1e-3, 7, 1e90),
        fc.constantFrom(1e-250, 0.01, 3, 1e250),
        (model, unit, weightUnit) => {
          const plain = fitted(rowsOf(model));
          const changed = fitted(
            rowsOf({
              response: model.response.map((value) => value * unit).reverse(),
              weights: model.weights.map((value) => value * weightUnit).reverse(),
              fixed: model.fixed.map((column) => [...column].reverse()),
              factors: model.factors.map((codes) => [...codes].reverse()),
            }),
          );
          const sd = (fit: MixedModelFit, k: number) => Math.sqrt(fit.factors[k]!.variance);
          const scale = Math.sqrt(plain.residualVariance);
          for (let k = 0; k < model.factors.length; k += 1) {
            expect((sd(changed, k) / unit - sd(plain, k)) / scale).toBeCloseTo(0, 3);
          }
        },
      ),
      { numRuns: 30 },
    );
  });
});

describe('what cannot be told from the rows', () => {
  const one = (response: number[], factors: Record<string, (string | number)[]>, weights?: number[]) =>
    fitMixedModel({
      response,
      weights,
      factors: Object.entries(factors).map(([name, levels]) => ({ name, levels })),
    });

  test('no rows, or none with weight, or as many fixed effects as rows: a reason, no fit', () => {
    expect(one([], {})).toEqual({ fitted: false, reason: 'no row with a weight above 0' });
    expect(one([80, 90], { official: ['a', 'b'] }, [0, 0])).toEqual({
      fitted: false,
      reason: 'no row with a weight above 0',
    });
    expect(one([80], { official: ['a'] })).toEqual({
      fitted: false,
      reason: 'one row cannot tell one fixed effect from chance',
    });
  });

  test('one observer: variance 0 and a note', () => {
    const fit = one([80, 90, 84, 91], { official: ['a', 'b', 'a', 'b'], observer: ['x', 'x', 'x', 'x'] });
    if (!fit.fitted) throw new Error(fit.reason);
    expect(fit.factors.map((factor) => factor.variance > 0)).toEqual([true, false]);
    expect(fit.notes).toEqual([
      'observer: only one, so nothing to compare it with; nothing is adjusted for it',
    ]);
    expect([...fit.factors[1]!.effects]).toEqual([0]);
    expect(levelErrors(fit, 'observer')).toEqual({
      standardErrors: new Float64Array(1),
      reliabilities: new Float64Array(1),
    });
  });

  test('all grades equal: the grade, no variance, no error', () => {
    const fit = one([88, 88, 88, 88], { official: ['a', 'a', 'b', 'b'] });
    if (!fit.fitted) throw new Error(fit.reason);
    expect(fit.fixed[0]!.estimate).toBeCloseTo(88, 10);
    expect(fit).toMatchObject({ criterion: null, residualVariance: 0, converged: true });
    expect(fit.notes[0]).toMatch(/explained by the fixed effects alone/);
    const { estimates, covariance } = predict(fit, [
      { fixed: { '(intercept)': 1 }, effects: [{ factor: 'official', level: 'a' }] },
    ]);
    expect(estimates[0]).toBeCloseTo(88, 10);
    expect([...covariance]).toEqual([0]);
  });

  test('one game each, and observers who each saw the games that another factor names', () => {
    const fit = one([80, 90, 84, 91, 85], { official: ['a', 'b', 'c', 'd', 'e'], game: [1, 1, 2, 2, 2] });
    if (!fit.fitted) throw new Error(fit.reason);
    expect(fit.notes[0]).toMatch(/official: one graded row each/);
    const twins = one([80, 90, 84, 91, 85], { game: [1, 1, 2, 2, 2], observer: ['x', 'x', 'y', 'y', 'y'] });
    if (!twins.fitted) throw new Error(twins.reason);
    expect(twins.notes.join()).toContain('observer: goes together with game throughout');
  });

  test('a level without rows is predicted as the mean, with the variance of its factor', () => {
    const fit = one([80, 90, 81, 92, 79, 91], { official: ['a', 'b', 'a', 'b', 'a', 'b'] });
    if (!fit.fitted) throw new Error(fit.reason);
    const { estimates, covariance } = predict(fit, [{ effects: [{ factor: 'official', level: 'new' }] }]);
    expect(estimates[0]).toBe(0);
    expect(covariance[0]).toBe(fit.factors[0]!.variance);
    expect(() => predict(fit, [{ effects: [{ factor: 'crew', level: 'a' }] }])).toThrow(/no factor "crew"/);
    expect(() => predict(fit, [{ fixed: { umpire: 1 } }])).toThrow(/no fixed effect "umpire"/);
  });

  test.each([
    [{ response: [1, Number.NaN], factors: [] }, 'response of row 1'],
    [{ response: [1, 2], weights: [1, -1], factors: [] }, 'weight of row 1'],
    [{ response: [1, 2], weights: [1, Number.POSITIVE_INFINITY], factors: [] }, 'weight of row 1'],
    [{ response: [1, 2], weights: [1], factors: [] }, 'weights has 1 values for 2 rows'],
    [{ response: [1, 2], factors: [{ name: 'official', levels: ['a'] }] }, 'factor "official" has 1 values'],
    [
      { response: [1, 2], fixed: [{ name: 'x', values: [1, Number.NaN] }], factors: [] },
      'fixed column "x" of row 1',
    ],
  ] satisfies [MixedModelRows, string][])('a number that cannot be is refused by name', (rows, message) => {
    expect(() => fitMixedModel(rows)).toThrow(message);
  });

  test('whatever the rows, the answer is finite or has a reason', () => {
    const value = fc.oneof(
      fc.constantFrom(0, 50, 100, 1e-300, 1e100, -1e100),
      fc.double({ min: 0, max: 100, noNaN: true }),
    );
    const weight = fc.oneof(
      fc.constantFrom(0, 1, 1e-100, 1e100),
      fc.double({ min: 0, max: 500, noNaN: true }),
    );
    const level = fc.nat(4);
    const row = fc.record({
      response: value,
      weight,
      official: level,
      observer: level,
      game: fc.nat(12),
      position: fc.nat(2),
    });
    fc.assert(
      fc.property(fc.array(row, { maxLength: 30 }), (rows) => {
        const input: MixedModelRows = {
          response: rows.map((r) => r.response),
          weights: rows.map((r) => r.weight),
          fixed: [0, 1, 2, 3].map((p) => ({
            name: `p${p}`,
            values: rows.map((r) => (r.position === p ? 1 : 0)),
          })),
          factors: (['official', 'observer', 'game'] as const).map((name) => ({
            name,
            levels: rows.map((r) => r[name]),
          })),
        };
        const fit = fitMixedModel(input);
        if (!fit.fitted) {
          expect(fit.reason).not.toBe('');
          return;
        }
        const numbers = [fit.residualVariance, ...fit.factors.map((factor) => factor.variance)];
        for (const factor of fit.factors) {
          const { standardErrors, reliabilities } = levelErrors(fit, factor.name);
          numbers.push(...factor.effects, ...standardErrors, ...reliabilities);
        }
        const present = fit.fixed.filter((effect) => effect.estimate !== null);
        for (const effect of present) numbers.push(effect.estimate!, effect.standardError!);
        const { estimates, covariance } = predict(
          fit,
          fit.factors[0]!.levels.map((l) => ({
            fixed: { [present[0]?.name ?? 'p0']: 1 },
            effects: [{ factor: 'official', level: l }],
          })),
        );
        numbers.push(...estimates, ...covariance);
        for (const number of numbers) expect(Number.isFinite(number)).toBe(true);
        expect(numbers[0]).toBeGreaterThanOrEqual(0);
      }),
      { numRuns: 300 },
    );
  });
});
