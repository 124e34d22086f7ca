import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { andersenTest } from '../../server/measurement/andersen-test.ts';
import { likeliestMeasure, weightedMeasure } from '../../server/measurement/person-measure.ts';
import { fitRasch } from '../../server/measurement/rasch.ts';
import type { Scored } from '../../server/measurement/scored.ts';
import { rightGiven, symmetricFunctions } from '../../server/measurement/symmetric-functions.ts';

const easy = fc.array(fc.double({ min: 0.02, max: 50, noNaN: true }), { minLength: 2, maxLength: 8 });

test('symmetric functions and chances given a score are those of every pattern written out', () => {
  fc.assert(
    fc.property(easy, (easiness) => {
      const items = easiness.length;
      const scores = Array.from({ length: items - 1 }, (_, at) => at + 1);
      const given = rightGiven(easiness, scores);
      for (const score of scores) {
        let whole = 0;
        const both = easiness.map(() => easiness.map(() => 0));
        for (let pattern = 0; pattern < 2 ** items; pattern += 1) {
          const right = easiness.flatMap((_, at) => ((pattern >> at) & 1 ? [at] : []));
          if (right.length !== score) continue;
          const weight = right.reduce((product, at) => product * easiness[at]!, 1);
          whole += weight;
          for (const a of right) for (const b of right) both[a]![b]! += weight;
        }
        expect(symmetricFunctions(easiness)[score]! / whole).toBeCloseTo(1, 10);
        for (const [a, row] of both.entries()) {
          expect(given[score - 1]!.one[a]).toBeCloseTo(row[a]! / whole, 10);
          for (const [b, value] of row.entries())
            expect(given[score - 1]!.both[a]![b]).toBeCloseTo(value / whole, 10);
        }
      }
    }),
    { numRuns: 30 },
  );
});

test('two items: the difference is the logarithm of the odds of who had only one of them right', () => {
  // Rasch (1960), chapter 10: of two items only those tell who had one right; 30 to 10 is log 3. Its variance is 1/30 + 1/10.
  const people: Scored[] = [
    ...new Array<Scored>(30).fill([1, 0]),
    ...new Array<Scored>(10).fill([0, 1]),
    ...new Array<Scored>(7).fill([1, 1]),
  ];
  const fit = fitRasch(people, 2);
  if ('reason' in fit) throw new Error(fit.reason);
  expect(fit.telling).toBe(40);
  expect(fit.difficulties[1]!.value - fit.difficulties[0]!.value).toBeCloseTo(Math.log(3), 9);
  expect(fit.difficulties[0]!.se).toBeCloseTo(Math.sqrt(1 / 30 + 1 / 10) / 2, 9);
});

test('of items equally hard the weighted measure is the logarithm of (right + 1/2) over (wrong + 1/2)', () => {
  // Warm (1989): his weight is then Jeffreys' prior, whose mode on the log-odds has this closed form.
  for (const items of [1, 2, 5, 40])
    for (let right = 0; right <= items; right += 1) {
      const { value, se } = weightedMeasure(new Array(items).fill(0.7), right);
      expect(value - 0.7).toBeCloseTo(Math.log((right + 0.5) / (items - right + 0.5)), 9);
      expect(Number.isFinite(se)).toBe(true);
    }
});

test('none and all right have no likeliest measure', () => {
  expect(likeliestMeasure([0, 1], 0)).toBeNull();
  expect(likeliestMeasure([0, 1], 2)).toBeNull();
  // Two items as hard as each other, one right: as able as they are hard.
  expect(likeliestMeasure([0.4, 0.4], 1)!.value).toBeCloseTo(0.4, 9);
  expect(() => weightedMeasure([], 0)).toThrow(RangeError);
  expect(() => weightedMeasure([0], 2)).toThrow(RangeError);
});

test('questions with a wide gap between them still give the best of the two maxima, and finite figures', () => {
  const { value, se } = weightedMeasure([-6, -6, -6, 6], 3);
  expect(Number.isFinite(value) && Number.isFinite(se)).toBe(true);
});

describe('what cannot be told is said', () => {
  const people: Scored[] = [
    [1, 0, 1, 0],
    [0, 1, 1, 0],
    [1, 1, 1, 0],
  ];
  test('an item that all had right, one that all had wrong', () => {
    const fit = fitRasch(people, 4);
    if ('reason' in fit) throw new Error(fit.reason);
    expect(fit.reasons).toEqual([null, null, 'all had it right', 'all had it wrong']);
    expect(fit.difficulties[0]!.value).toBeCloseTo(0, 9);
  });
  test.each([
    ['nobody', []],
    ['one person', [[1, 0, 1, 0]]],
    [
      'all alike',
      [
        [1, 1, 0, 0],
        [1, 1, 0, 0],
      ],
    ],
  ] as [string, Scored[]][])('%s', (_, few) => {
    expect(fitRasch(few, 4)).toMatchObject({ reason: expect.stringContaining('told apart') });
    expect(andersenTest(few, 4)).toHaveProperty('reason');
  });
  test('question sets that nobody links are not put on one scale', () => {
    const apart: Scored[] = [
      [1, 0, null, null, null],
      [0, 1, null, null, null],
      [null, null, 1, 0, 1],
      [null, null, 0, 1, 0],
    ];
    const fit = fitRasch(apart, 5);
    if ('reason' in fit) throw new Error(fit.reason);
    expect(fit.reasons).toEqual([
      'nobody links it with the other questions',
      'nobody links it with the other questions',
      null,
      null,
      null,
    ]);
  });
  test('answers that are not as many as the items', () => {
    expect(() => fitRasch([[1, 0]], 3)).toThrow(RangeError);
  });
});

test('whatever is answered, no figure is anything but a number', () => {
  const cell = fc.constantFrom<0 | 1 | null>(0, 1, 1, null);
  fc.assert(
    fc.property(
      fc
        .integer({ min: 1, max: 7 })
        .chain((items) =>
          fc.tuple(
            fc.constant(items),
            fc.array(fc.array(cell, { minLength: items, maxLength: items }), { maxLength: 14 }),
          ),
        ),
      ([items, people]) => {
        const fit = fitRasch(people, items);
        if ('reason' in fit) return;
        const told = fit.difficulties.filter((one) => one !== null);
        for (const { value, se } of told) expect(Number.isFinite(value) && se > 0).toBe(true);
        expect(told.reduce((sum, { value }) => sum + value, 0)).toBeCloseTo(0, 6);
        const values = told.map(({ value }) => value);
        for (let right = 0; right <= values.length; right += 1)
          expect(Number.isFinite(weightedMeasure(values, right).value)).toBe(true);
      },
    ),
    { numRuns: 300 },
  );
});

test('people drawn from known difficulties give them back, also where each was asked other questions', () => {
  const truth = Array.from({ length: 12 }, (_, item) => (item - 5.5) / 3);
  let state = 7;
  const unit = () => {
    state = (state * 16_807) % 2_147_483_647;
    return state / 2_147_483_647;
  };
  const people: Scored[] = Array.from({ length: 3000 }, () => {
    const able = 0.8 + (unit() + unit() + unit() - 1.5) * 2;
    return truth.map((hard) => (unit() < 0.4 ? null : unit() < 1 / (1 + Math.exp(hard - able)) ? 1 : 0));
  });
  const fit = fitRasch(people.slice(0, 400), 12);
  if ('reason' in fit) throw new Error(fit.reason);
  const off = fit.difficulties.map((one, item) => (one!.value - truth[item]!) / one!.se);
  expect(Math.sqrt(off.reduce((sum, one) => sum + one * one, 0) / 12)).toBeLessThan(1.7);
});
