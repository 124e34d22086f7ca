import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { describe, expect, test } from 'vitest';
import { type CountModelRows, fitCountModel } from '../../server/grading/count-model/count-model.ts';
import type { FamilyName } from '../../server/grading/count-model/families.ts';
import { laplaceAt } from '../../server/grading/count-model/laplace.ts';
import { leverages } from '../../server/grading/count-model/leverages.ts';
import { workingEquations } from '../../server/grading/count-model/working-equations.ts';
import { levelErrors } from '../../server/grading/prediction.ts';

const sizes = [14, 5, 9, 4];

/** Crossed counts of four factors, two fixed columns and an offset. */
function made(family: FamilyName, count = 90) {
  const source = xoroshiro128plus(5);
  const uniform = () => uniformFloat64(source);
  const codes = sizes.map((levels) =>
    Int32Array.from({ length: count }, (_, row) => (row < levels ? row : Math.floor(uniform() * levels))),
  );
  const weights = Float64Array.from({ length: count }, () =>
    family === 'binomial' ? 4 + 10 * uniform() : 1,
  );
  const response = weights.map((weight) =>
    family === 'binomial' ? Math.floor(uniform() * weight * 0.4) / weight : Math.floor(uniform() * 6),
  );
  const offset = response.map(() => uniform() - 0.5);
  const columns = [
    new Float64Array(count).fill(1),
    Float64Array.from({ length: count }, (_, row) => (row % 3 === 0 ? 1 : 0)),
  ];
  const factors = sizes.map((levels, k) => ({ levels, codes: codes[k]! }));
  return { rows: { family, response, weights, offset }, columns, factors };
}

const variances = Float64Array.of(0.3, 0.1, 0.2, 0.05);
const exact = { tolerance: 1e-11 };

describe.each(['binomial', 'poisson'] as const)('Laplace of %s counts', (family) => {
  const { rows, columns, factors } = made(family);

  test('its slope in the variances is that of the criterion, fixed effects integrated over', () => {
    const work = workingEquations(rows.response.length, columns, factors);
    const at = (k: number, by: number) =>
      laplaceAt(
        rows,
        work,
        variances.map((value, l) => (l === k ? value * Math.exp(by) : value)),
        null,
        exact,
      )!;
    const { gradient } = at(0, 0);
    for (let k = 0; k < sizes.length; k += 1) {
      expect(gradient[k]!).toBeCloseTo((at(k, 1e-4).criterion - at(k, -1e-4).criterion) / 2e-4, 5);
    }
  });

  test('its slope in variances and fixed effects is that of the criterion, fixed effects given', () => {
    const work = workingEquations(rows.response.length, [], factors);
    const at = (k: number, by: number) => {
      const fixed = Float64Array.of(-0.4, 0.3);
      const moved = variances.slice();
      if (k < sizes.length) moved[k]! *= Math.exp(by);
      else fixed[k - sizes.length]! += by;
      return laplaceAt(rows, work, moved, { fixed, columns }, exact)!;
    };
    const { gradient, fixedGradient } = at(0, 0);
    for (const [k, slope] of [...gradient, ...fixedGradient].entries()) {
      expect(slope).toBeCloseTo((at(k, 1e-4).criterion - at(k, -1e-4).criterion) / 2e-4, 4);
    }
  });

  test('criterion and variances of predictors are those of full matrices', () => {
    const work = workingEquations(rows.response.length, columns, factors);
    const { modes, criterion } = laplaceAt(rows, work, variances, null, exact)!;
    // One column for each fixed effect and level, one row for each count: A, and H = AᵀWA + D⁻¹.
    const prior = [
      0,
      0,
      ...sizes.flatMap((levels, k) => Array.from({ length: levels }, () => 1 / variances[k]!)),
    ];
    const start = sizes.map((_, k) => 2 + sizes.slice(0, k).reduce((sum, size) => sum + size, 0));
    const a = Array.from(rows.response, (_, row) => {
      const values = prior.map(() => 0);
      for (const [j, column] of columns.entries()) values[j] = column[row]!;
      for (const [k, factor] of factors.entries()) values[start[k]! + factor.codes[row]!] = 1;
      return values;
    });
    const h = prior.map((precision, i) =>
      prior.map((_, j) =>
        a.reduce(
          (sum, values, row) => sum + modes.terms.information[row]! * values[i]! * values[j]!,
          i === j ? precision : 0,
        ),
      ),
    );
    const { inverse, logDeterminant } = inverted(h);
    const priorLog = prior.reduce((sum, precision) => sum + (precision > 0 ? Math.log(precision) : 0), 0);
    expect(criterion).toBeCloseTo(
      modes.terms.deviance + modes.penalty + logDeterminant - priorLog - 2 * Math.log(2 * Math.PI),
      7,
    );
    const { rows: spread } = leverages(work, modes.solution, true);
    for (const [row, values] of a.entries()) {
      const dense = values.reduce(
        (sum, x, i) => sum + values.reduce((inner, y, j) => inner + x * y * inverse[i]![j]!, 0),
        0,
      );
      expect(spread[row]!).toBeCloseTo(dense, 8);
    }
  });
});

/** Gauss and Jordan, for a positive definite matrix. */
function inverted(matrix: number[][]) {
  const size = matrix.length;
  const work = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  let logDeterminant = 0;
  for (let c = 0; c < size; c += 1) {
    const pivot = work[c]![c]!;
    logDeterminant += Math.log(pivot);
    work[c] = work[c]!.map((value) => value / pivot);
    for (let r = 0; r < size; r += 1) {
      if (r === c) continue;
      const times = work[r]![c]!;
      work[r] = work[r]!.map((value, j) => value - times * work[c]![j]!);
    }
  }
  return { inverse: work.map((row) => row.slice(size)), logDeterminant };
}

describe('fitting counts', () => {
  const { rows, factors } = made('binomial');
  const input: CountModelRows = {
    ...rows,
    factors: factors.map(({ codes }, k) => ({ name: `factor ${k}`, levels: codes })),
  };

  test('a level without a miss stays finite, and is uncertain', () => {
    const first = factors[0]!.codes;
    const without = rows.response.map((value, row) =>
      first[row] === 3 ? 0 : value + (first[row]! % 2) * 0.3,
    );
    const fit = fitCountModel({ ...input, response: without }, { restricted: true });
    if (!fit.fitted) throw new Error(fit.reason);
    const level = fit.factors[0]!.levels.indexOf(3);
    expect(fit.factors[0]!.effects[level]!).toBe(Math.min(...fit.factors[0]!.effects));
    expect(Number.isFinite(fit.factors[0]!.effects[level]!)).toBe(true);
    expect(levelErrors(fit, 'factor 0').standardErrors[level]!).toBeGreaterThan(0.1);
  });

  test.each([
    ['nothing counted', { response: rows.response.map(() => 0) }, 'nothing was counted in any row'],
    ['everything counted', { response: rows.response.map(() => 1) }, 'everything was counted in any row'],
    ['no weight', { weights: rows.weights.map(() => 0) }, 'no row with a weight above 0'],
    [
      'a column that separates',
      {
        response: rows.response.map((value, row) => (row < 8 ? 0 : value)),
        fixed: [
          { name: 'those', values: rows.response.map((_, row) => (row < 8 ? 1 : 0)) },
          { name: 'others', values: rows.response.map((_, row) => (row < 8 ? 0 : 1)) },
        ],
      },
      'nothing was counted wherever "those" is not 0',
    ],
  ])('%s is a reason, not a number', (_, part, reason) => {
    const fit = fitCountModel({ ...input, ...part });
    expect(fit.fitted).toBe(false);
    if (!fit.fitted) expect(fit.reason).toContain(reason);
  });

  test.each([
    [
      'a share above 1',
      { response: rows.response.map((value, row) => (row === 2 ? 1.5 : value)) },
      /row 2 must be a share/,
    ],
    [
      'a count below 0',
      { family: 'poisson' as const, response: rows.response.map(() => -1) },
      /row 0 must be a count/,
    ],
    ['an endless offset', { offset: rows.offset.map(() => Number.NaN) }, /offset of row 0 must be a finite/],
    ['a short offset', { offset: [1] }, /offset has 1 values for 90 rows/],
    ['a negative weight', { weights: rows.weights.map(() => -1) }, /weight of row 0/],
  ])('%s is refused by row and field', (_, part, message) => {
    expect(() => fitCountModel({ ...input, ...part })).toThrow(message);
  });
});
