import fc from 'fast-check';
import { expect, test } from 'vitest';
import { credited, lengthOf, type Stretch, union } from '../../server/watching/stretches.ts';

const stretch = fc
  .tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 0, max: 60 }))
  .map(([from, length]): Stretch => [from, from + length]);

/** The same union, second by second. */
const seconds = (stretches: readonly Stretch[]) => {
  const set = new Set<number>();
  for (const [from, to] of stretches) for (let at = from; at < to; at++) set.add(at);
  return set;
};

test('the union counts each second once, whatever was played how often', () => {
  fc.assert(
    fc.property(fc.array(stretch), (all) => {
      expect(lengthOf(all)).toBe(seconds(all).size);
      expect(union([...union(all), ...all])).toEqual(union(all));
    }),
  );
});

test('no more is credited than time passed, what is there stays, and what is sent again later counts then', () => {
  fc.assert(
    fc.property(
      fc.array(stretch),
      fc.array(stretch),
      fc.integer({ min: 0, max: 150 }),
      (there, said, most) => {
        const all = credited(there, said, { length: 100, most });
        const before = seconds(union(there));
        const now = seconds(all);
        expect(lengthOf(all)).toBeLessThanOrEqual(Math.max(most, lengthOf(there)) + 1e-9);
        for (const second of before) expect(now.has(second)).toBe(true);
        const possible = seconds([...there, ...said.map(([from, to]): Stretch => [from, Math.min(to, 100)])]);
        for (const second of now) expect(possible.has(second)).toBe(true);
        // As much as fits: with time enough, everything.
        expect(lengthOf(all)).toBe(Math.min(possible.size, Math.max(most, before.size)));
        expect(seconds(credited(all, said, { length: 100, most: 1e6 }))).toEqual(possible);
      },
    ),
  );
});

test('nonsense is left out', () => {
  expect(
    union([
      [5, 3],
      [Number.NaN, 2],
      [1, Number.POSITIVE_INFINITY],
      [2, 4],
    ]),
  ).toEqual([[2, 4]]);
});
