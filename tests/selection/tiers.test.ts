import { expect, test } from 'vitest';
import { tiersOf } from '../../server/selection/tiers.ts';
import { seeded } from '../bench/planning-instances.ts';

const ranked = (id: string, place: number, low: number, high: number) => ({
  id,
  rank: { place, low, high },
});
const ids = (tiers: { id: string }[][]) => tiers.map((tier) => tier.map(({ id }) => id).join(' '));

test('a new tier begins where every interval above ends before every one below begins', () => {
  expect(
    ids(
      tiersOf([
        ranked('d', 4, 4, 5),
        ranked('a', 1, 1, 2),
        ranked('e', 5, 4, 5),
        ranked('b', 2, 1, 3),
        ranked('c', 3, 2, 3),
      ]),
    ),
  ).toEqual(['a b c', 'd e']);
});

test('one rank in common is an overlap; links go on through others', () => {
  expect(ids(tiersOf([ranked('a', 1, 1, 2), ranked('b', 2, 2, 3), ranked('c', 3, 3, 4)]))).toEqual(['a b c']);
  expect(ids(tiersOf([ranked('a', 1, 1, 1), ranked('b', 2, 2, 2)]))).toEqual(['a', 'b']);
});

test('who is not ranked is in no tier', () => {
  expect(ids(tiersOf([{ id: 'a', rank: null }, ranked('b', 1, 1, 1)]))).toEqual(['b']);
  expect(tiersOf([])).toEqual([]);
});

test('tiers are the connected parts of the graph of overlaps, as found by spreading through it', () => {
  const random = seeded(7);
  for (let run = 0; run < 300; run += 1) {
    const all = Array.from({ length: 1 + Math.floor(random() * 9) }, (_, n) => {
      const low = 1 + Math.floor(random() * 12);
      return ranked(`o${n}`, low, low, low + Math.floor(random() * 4));
    });
    const overlap = (a: (typeof all)[0], b: (typeof all)[0]) =>
      a.rank.low <= b.rank.high && b.rank.low <= a.rank.high;
    const left = new Set(all);
    const parts: string[] = [];
    while (left.size > 0) {
      const part = new Set([...left].slice(0, 1));
      for (let before = 0; before < part.size; ) {
        before = part.size;
        for (const one of all) if ([...part].some((other) => overlap(one, other))) part.add(one);
      }
      for (const one of part) left.delete(one);
      parts.push(
        [...part]
          .map(({ id }) => id)
          .sort()
          .join(' '),
      );
    }
    const found = tiersOf(all);
    expect(
      found.map((tier) =>
        tier
          .map(({ id }) => id)
          .sort()
          .join(' '),
      ),
    ).toEqual(parts.sort((a, b) => lowest(all, a) - lowest(all, b)));
  }
});

const lowest = (all: { id: string; rank: { low: number } }[], part: string) =>
  Math.min(...all.filter(({ id }) => part.split(' ').includes(id)).map(({ rank }) => rank.low));
