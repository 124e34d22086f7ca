import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { comparableGroups } from '../../server/grading/connectedness.ts';
import { NormalDraws } from '../../server/grading/normal-draws.ts';
import { posteriorRanks } from '../../server/grading/ranks.ts';

/** The same counted plainly: each draw written out, each rank found by comparing with all others. */
function plainRanks(
  estimates: number[],
  factor: number[],
  normals: Float64Array,
  draws: number,
  top: number,
) {
  const size = estimates.length;
  const seen: number[][] = estimates.map(() => []);
  for (let draw = 0; draw < draws; draw += 1) {
    const values = estimates.map((estimate, i) =>
      factor
        .slice(i * size, i * size + i + 1)
        .reduce((sum, value, k) => sum + value * normals[draw * size + k]!, estimate),
    );
    for (const [i, value] of values.entries()) seen[i]!.push(1 + values.filter((v) => v > value).length);
  }
  return seen.map((own, at) => {
    const ordered = own.toSorted((a, b) => a - b);
    const reached = (count: number) => ordered[Math.max(1, Math.ceil(count)) - 1]!;
    const place = 1 + estimates.filter((estimate) => estimate - estimates[at]! > 1e-6).length;
    return {
      place,
      median: (reached(draws / 2) + reached(draws / 2 + 1)) / 2,
      low: Math.min(place, reached(((1 - 0.9) / 2) * draws)),
      high: Math.max(place, reached((1 - (1 - 0.9) / 2) * draws)),
      topProbability: own.filter((rank) => rank <= top).length / draws,
    };
  });
}

const diagonal = (variances: number[]) =>
  variances.flatMap((value, i) => variances.map((_, j) => (i === j ? value : 0)));

describe('ranks from the joint posterior', () => {
  test('two alike have an even chance, and share the place', () => {
    const [a, b] = posteriorRanks(
      { estimates: [90, 90], covariance: diagonal([4, 4]) },
      { normals: new NormalDraws(1), top: 1 },
    );
    expect(a).toMatchObject({ place: 1, tied: true, low: 1, high: 2 });
    expect(a!.topProbability).toBeCloseTo(0.5, 1);
    expect(a!.topProbability + b!.topProbability).toBeCloseTo(1, 12);
  });

  test('the chance of the better of two is that of a normal difference', () => {
    // P(N(1, 1 + 1) > 0) = Φ(1/√2) = 0.7602; with correlation 0.75 it is Φ(1/√0.5) = 0.9214.
    const options = { normals: new NormalDraws(7), top: 1, draws: 40_000 };
    const apart = posteriorRanks({ estimates: [91, 90], covariance: diagonal([1, 1]) }, options);
    expect(apart[0]!.topProbability).toBeCloseTo(0.7602, 1.8);
    const together = posteriorRanks({ estimates: [91, 90], covariance: [1, 0.75, 0.75, 1] }, options);
    expect(together[0]!.topProbability).toBeCloseTo(0.9214, 1.8);
  });

  test('without uncertainty the ranks are the order, and a tie across the last place shares it', () => {
    const ranks = posteriorRanks(
      { estimates: [80, 95, 90, 90, 70], covariance: diagonal([0, 0, 0, 0, 0]) },
      { normals: new NormalDraws(3), top: 2 },
    );
    expect(ranks.map((rank) => [rank.place, rank.tied, rank.median, rank.low, rank.high])).toEqual([
      [4, false, 4, 4, 4],
      [1, false, 1, 1, 1],
      [2, true, 2, 2, 2],
      [2, true, 2, 2, 2],
      [5, false, 5, 5, 5],
    ]);
    expect(ranks.map((rank) => rank.topProbability)).toEqual([0, 1, 0.5, 0.5, 0]);
  });

  test('the interval holds the place, also where the best estimate is first in few draws', () => {
    // One known well, a little above thirty of whom little is known: some ten of these are above in a draw.
    const [known] = posteriorRanks(
      {
        estimates: [90.5, ...Array.from({ length: 30 }, () => 90)],
        covariance: diagonal([0.001, ...Array.from({ length: 30 }, () => 1)]),
      },
      { normals: new NormalDraws(5), top: 2 },
    );
    expect(known).toMatchObject({ place: 1, low: 1 });
    expect(known!.median).toBeGreaterThan(6);
  });

  test('without draws they are those of the estimates', () => {
    const ranks = posteriorRanks(
      { estimates: [80, 95, 90, 90], covariance: diagonal([4, 4, 4, 4]) },
      { normals: new NormalDraws(3), top: 2, draws: 0 },
    );
    expect(ranks.map((rank) => [rank.place, rank.tied, rank.low, rank.high, rank.topProbability])).toEqual([
      [4, false, 4, 4, 0],
      [1, false, 1, 1, 1],
      [2, true, 2, 2, 0.5],
      [2, true, 2, 2, 0.5],
    ]);
  });

  test('the same seed gives the same figures; chances add up to the places; nothing is out of range', () => {
    const posterior = fc
      .integer({ min: 0, max: 7 })
      .chain((size) =>
        fc.record({
          estimates: fc.array(fc.double({ min: 0, max: 100, noNaN: true }), {
            minLength: size,
            maxLength: size,
          }),
          factor: fc.array(fc.double({ min: -3, max: 3, noNaN: true }), {
            minLength: size * size,
            maxLength: size * size,
          }),
        }),
      )
      .map(({ estimates, factor }) => {
        const size = estimates.length;
        const covariance = Array.from({ length: size * size }, (_, at) => {
          const [i, j] = [Math.floor(at / size), at % size];
          let sum = 0;
          for (let k = 0; k < size; k += 1) sum += factor[i * size + k]! * factor[j * size + k]!;
          return sum;
        });
        return { estimates, covariance };
      });
    fc.assert(
      fc.property(posterior, fc.integer(), fc.nat(9), (input, seed, top) => {
        const size = input.estimates.length;
        const ranks = posteriorRanks(input, { normals: new NormalDraws(seed), top, draws: 200 });
        expect(posteriorRanks(input, { normals: new NormalDraws(seed), top, draws: 200 })).toEqual(ranks);
        const chances = ranks.reduce((sum, rank) => sum + rank.topProbability, 0);
        expect(chances).toBeCloseTo(Math.min(top, size), 9);
        for (const rank of ranks) {
          for (const value of [rank.place, rank.median, rank.low, rank.high]) {
            expect(value).toBeGreaterThanOrEqual(1);
            expect(value).toBeLessThanOrEqual(size);
          }
          expect(rank.low).toBeLessThanOrEqual(rank.median);
          expect(rank.median).toBeLessThanOrEqual(rank.high);
        }
      }),
    );
  });

  test('are those of each draw put in order', () => {
    const posterior = fc.integer({ min: 1, max: 9 }).chain((size) =>
      fc.record({
        // In thousandths: closer than rounding tells apart is a tie.
        estimates: fc.array(
          fc.integer({ min: 80_000, max: 95_000 }).map((value) => value / 1000),
          {
            minLength: size,
            maxLength: size,
          },
        ),
        factor: fc
          .array(fc.double({ min: -3, max: 3, noNaN: true }), {
            minLength: size * size,
            maxLength: size * size,
          })
          .map((values) =>
            values.map((value, at) => {
              const [i, j] = [Math.floor(at / size), at % size];
              return i === j ? 0.5 + Math.abs(value) : i > j ? value : 0;
            }),
          ),
      }),
    );
    fc.assert(
      fc.property(posterior, fc.integer(), fc.nat(9), ({ estimates, factor }, seed, top) => {
        const size = estimates.length;
        const covariance = factor.map((_, at) => {
          const [i, j] = [Math.floor(at / size), at % size];
          let sum = 0;
          for (let k = 0; k < size; k += 1) sum += factor[i * size + k]! * factor[j * size + k]!;
          return sum;
        });
        const draws = 200;
        // One stream for all rankings of a season: what was drawn for a larger one begins like it.
        const normals = new NormalDraws(seed);
        normals.first(3 * draws * size);
        const ranks = posteriorRanks({ estimates, covariance }, { normals, top, draws });
        const plain = plainRanks(estimates, factor, new NormalDraws(seed).first(draws * size), draws, top);
        expect(ranks).toMatchObject(plain);
      }),
    );
  });

  test('what is not a covariance is refused', () => {
    expect(() =>
      posteriorRanks({ estimates: [1, 2], covariance: [1] }, { normals: new NormalDraws(1), top: 1 }),
    ).toThrow(/4 entries/);
    expect(() =>
      posteriorRanks({ estimates: [Number.NaN], covariance: [1] }, { normals: new NormalDraws(1), top: 1 }),
    ).toThrow(/estimate 0/);
  });
});

describe('who can be compared', () => {
  test('officials that no chain of shared observers links are apart', () => {
    const groups = comparableGroups([
      { official: 'Ash', observer: 'X' },
      { official: 'Birch', observer: 'X' },
      { official: 'Birch', observer: 'Y' },
      { official: 'Cedar', observer: 'Y' },
      { official: 'Elm', observer: 'Z' },
      // The same name as official and as observer is not a link.
      { official: 'Z', observer: 'W' },
    ]);
    expect(groups).toEqual([
      { officials: ['Ash', 'Birch', 'Cedar'], observers: ['X', 'Y'] },
      { officials: ['Elm'], observers: ['Z'] },
      { officials: ['Z'], observers: ['W'] },
    ]);
    expect(comparableGroups([])).toEqual([]);
  });

  test('the groups part everyone, and one more meeting joins at most two', () => {
    const meeting = fc.record({
      official: fc.constantFrom('a', 'b', 'c', 'd', 'e', 'f'),
      observer: fc.constantFrom('a', 'x', 'y', 'z'),
    });
    fc.assert(
      fc.property(fc.array(meeting), meeting, (meetings, extra) => {
        const groups = comparableGroups(meetings);
        const officials = groups.flatMap((group) => group.officials);
        expect(officials.sort()).toEqual([...new Set(meetings.map((m) => m.official))].sort());
        for (const m of meetings) {
          expect(
            groups.filter((g) => g.officials.includes(m.official) && g.observers.includes(m.observer)),
          ).toHaveLength(1);
        }
        const after = comparableGroups([...meetings, extra]).length;
        expect(after).toBeGreaterThanOrEqual(groups.length - 1);
        expect(after).toBeLessThanOrEqual(groups.length + 1);
      }),
    );
  });
});
