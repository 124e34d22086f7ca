import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Agreement } from '../../server/grading/agreement/agreement.ts';
import { intraclassCorrelations } from '../../server/grading/agreement/intraclass.ts';
import { fleissKappa, weightedKappa } from '../../server/grading/agreement/kappa.ts';
import { krippendorffAlpha } from '../../server/grading/agreement/krippendorff.ts';

function expectDefined(agreement: Agreement) {
  if (agreement.value === null) {
    expect(agreement.reason).not.toBe('');
    return;
  }
  expect(Number.isFinite(agreement.value)).toBe(true);
  expect(agreement.low).toBeLessThanOrEqual(agreement.high);
  expect(agreement.value).toBeLessThanOrEqual(1 + 1e-12);
}

describe('agreement', () => {
  test('full agreement is 1, by every coefficient', () => {
    expect(
      weightedKappa([
        [5, 0],
        [0, 7],
      ]).value,
    ).toBeCloseTo(1, 12);
    expect(
      fleissKappa([
        [3, 0],
        [0, 3],
        [3, 0],
        [0, 3],
      ]).value,
    ).toBeCloseTo(1, 12);
    for (const level of ['nominal', 'ordinal', 'interval'] as const) {
      expect(
        krippendorffAlpha(
          [
            [1, 1],
            [2, 2],
            [5, 5, null],
            [1, 1],
          ],
          level,
        ).value,
      ).toBe(1);
    }
    const forms = intraclassCorrelations([
      [80, 80],
      [90, 90],
      [85, 85],
    ]);
    for (const form of Object.values(forms)) {
      expect(form.single.value).toBeCloseTo(1, 10);
      expect(form.average.value).toBeCloseTo(1, 10);
    }
  });

  test('a judge who is stricter throughout lowers agreement, and leaves consistency at 1', () => {
    const forms = intraclassCorrelations([
      [80, 70],
      [90, 80],
      [85, 75],
      [95, 85],
    ]);
    expect(forms.fixed.single.value).toBeCloseTo(1, 10);
    expect(forms.random.single.value!).toBeLessThan(0.7);
  });

  test('what gives no coefficient gives a reason', () => {
    expect(weightedKappa([])).toEqual({ value: null, reason: 'no item was judged by both' });
    expect(
      weightedKappa([
        [9, 0],
        [0, 0],
      ]),
    ).toMatchObject({ value: null });
    expect(fleissKappa([])).toMatchObject({ value: null });
    expect(fleissKappa([[1, 0]])).toMatchObject({ value: null });
    expect(
      krippendorffAlpha(
        [
          [1, null],
          [null, 2],
        ],
        'nominal',
      ),
    ).toMatchObject({ value: null });
    expect(
      krippendorffAlpha(
        [
          [3, 3],
          [3, 3],
        ],
        'interval',
      ),
    ).toMatchObject({ value: null });
    expect(intraclassCorrelations([]).random.single).toMatchObject({ value: null });
    expect(intraclassCorrelations([[1, 2]]).oneWay.single).toMatchObject({ value: null });
    expect(
      intraclassCorrelations([
        [5, 5],
        [5, 5],
      ]).fixed.average,
    ).toMatchObject({ value: null });
  });

  test('what is no table is refused', () => {
    expect(() => weightedKappa([[1, 2]])).toThrow(/square/);
    expect(() => weightedKappa([[-1]])).toThrow(/not a count/);
    expect(() =>
      weightedKappa(
        [
          [1, 0],
          [0, 1],
        ],
        { weights: [[1]] },
      ),
    ).toThrow(/2 by 2/);
    expect(() =>
      fleissKappa([
        [2, 0],
        [1, 0],
      ]),
    ).toThrow(/item 1 has 1 observers/);
    expect(() => intraclassCorrelations([[1, 2], [1]])).toThrow(/target 1/);
  });

  test('whatever the marks, the answer is finite or has a reason', () => {
    const mark = fc.option(fc.integer({ min: 0, max: 4 }), { nil: null, freq: 3 });
    fc.assert(
      fc.property(
        fc.array(fc.array(mark, { minLength: 3, maxLength: 3 }), { maxLength: 12 }),
        fc.constantFrom('nominal', 'ordinal', 'interval'),
        (units, level) => {
          expectDefined(krippendorffAlpha(units, level));
          const full = units.filter((unit) => unit.every((value) => value !== null)) as number[][];
          const forms = intraclassCorrelations(full);
          for (const form of Object.values(forms)) {
            expectDefined(form.single);
            expectDefined(form.average);
          }
          const table = [0, 1, 2, 3, 4].map((a) =>
            [0, 1, 2, 3, 4].map((b) => full.filter((unit) => unit[0] === a && unit[1] === b).length),
          );
          expectDefined(weightedKappa(table));
          expectDefined(weightedKappa(table, { weights: 'quadratic' }));
          expectDefined(
            fleissKappa(full.map((unit) => [0, 1, 2, 3, 4].map((c) => unit.filter((v) => v === c).length))),
          );
        },
      ),
      { numRuns: 60 },
    );
  });
});
