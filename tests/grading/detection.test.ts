import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { describe, expect, test } from 'vitest';
import { type DoubleGame, detectionOf } from '../../server/grading/agreement/detection.ts';
import { chapman, populationOf } from '../../server/grading/agreement/two-samples.ts';

/** A game as it was: so many misses, each seen by either observer with their own chance; some taken for none. */
function game(
  chance: () => number,
  misses: number,
  [first, second]: readonly [Watching, Watching],
): DoubleGame {
  const counts = { both: 0, onlyFirst: 0, onlySecond: 0, firstAgainst: 0, secondAgainst: 0 };
  for (let miss = 0; miss < misses; miss += 1) {
    const [one, other] = [saw(chance, first), saw(chance, second)];
    if (one === 'missed') {
      counts[other === 'missed' ? 'both' : other === 'done' ? 'firstAgainst' : 'onlyFirst'] += 1;
    } else if (other === 'missed') counts[one === 'done' ? 'secondAgainst' : 'onlySecond'] += 1;
  }
  return { game: `g${chance()}`, first: first.observer, second: second.observer, ...counts };
}

interface Watching {
  observer: string;
  sees: number;
  /** How often they mark as done what they see of it. */
  lenient?: number;
}

const saw = (chance: () => number, { sees, lenient = 0 }: Watching) =>
  chance() >= sees ? undefined : chance() < lenient ? 'done' : 'missed';

function chances(seed: number) {
  const source = xoroshiro128plus(seed);
  return () => uniformInt(source, 0, 2 ** 30 - 1) / 2 ** 30;
}

describe('how many misses there were', () => {
  const keenness = [
    ['alike', () => [0.75, 0.75]],
    ['one keener', () => [0.9, 0.5]],
    ['both keen', () => [0.9, 0.9]],
    ['neither keen', () => [0.6, 0.4]],
    ['each pair another', (chance: () => number) => [0.5 + 0.45 * chance(), 0.5 + 0.45 * chance()]],
  ] as const;
  test.each(keenness)('%s: the interval holds the truth as often as promised', (_, drawn) => {
    const chance = chances(20);
    for (const games of [1, 4, 16]) {
      for (const misses of [5, 25, 60]) {
        const seasons = 300;
        let within = 0;
        let bias = 0;
        for (let season = 0; season < seasons; season += 1) {
          let truth = 0;
          const pairs = Array.from({ length: games }, () => {
            const [one, other] = drawn(chance);
            const there = Math.round(misses * (0.5 + chance()));
            truth += there;
            return game(chance, there, [
              { observer: 'a', sees: one! },
              { observer: 'b', sees: other! },
            ]);
          });
          const { low, high, estimate, found } = populationOf(pairs);
          expect(low).toBeGreaterThanOrEqual(found);
          if (low <= truth && (high === null || truth <= high)) within += 1;
          bias += estimate / truth - 1;
        }
        const label = `${games} games of ${misses}`;
        // Of one pair it holds what it promises; counts are coarse, so with few misses rather more. Of several it is
        // an approximation: about 95 %, 91 % where next to nothing was overlooked.
        expect(within / seasons, label).toBeGreaterThan(games === 1 ? 0.925 : 0.885);
        if (games * misses >= 400) expect(within / seasons, label).toBeLessThan(0.99);
        if (misses > 20) expect(Math.abs(bias / seasons), label).toBeLessThan(0.03);
      }
    }
  });

  test('unequal observers in one table would be taken for what they are not', () => {
    // The keen one first in one game, second in the next: 0.9 and 0.5 of 1000 each time.
    const one = { both: 450, onlyFirst: 450, onlySecond: 50 };
    const other = { both: 450, onlyFirst: 50, onlySecond: 450 };
    expect(populationOf([one, other]).estimate).toBeCloseTo(2000, -1);
    expect(chapman({ both: 900, onlyFirst: 500, onlySecond: 500 }).estimate).toBeGreaterThan(2150);
  });

  test('nothing in common bounds nothing; one found within the other does', () => {
    expect(populationOf([{ both: 0, onlyFirst: 3, onlySecond: 2 }])).toMatchObject({
      found: 5,
      low: 5,
      high: null,
    });
    const { estimate, low, high } = populationOf([{ both: 10, onlyFirst: 0, onlySecond: 3 }]);
    expect([estimate, low]).toEqual([13, 13]);
    expect(high).toBeGreaterThan(14);
    expect(high).toBeLessThan(22);
    expect(populationOf([])).toMatchObject({ found: 0, estimate: 0, low: 0, high: 0 });
    expect(() => populationOf([{ both: 1.5, onlyFirst: 0, onlySecond: 0 }])).toThrow('both is 1.5');
  });
});

describe('keen told from strict', () => {
  const season = (seed: number, own: Omit<Watching, 'observer'>) => {
    const chance = chances(seed);
    return Array.from({ length: 8 }, (_, at) => {
      const two = [
        { observer: 'x', ...own },
        { observer: `other ${at % 3}`, sees: 0.7, lenient: 0.2 },
      ] as const;
      return game(chance, 45, at % 2 ? [two[1], two[0]] : two);
    });
  };
  const told = (own: Omit<Watching, 'observer'>) =>
    Array.from({ length: 60 }, (_, seed) => {
      const { observers } = detectionOf(season(seed + 1, own));
      const { keen, strict } = observers.find(({ observer }) => observer === 'x')!;
      return { keen, strict };
    });
  const share = (rows: ReturnType<typeof told>, what: 'keen' | 'strict', said: string) =>
    rows.filter((row) => row[what] === said).length / rows.length;

  test('who sees more is keen and not strict; who judges harder is strict', () => {
    const keen = told({ sees: 0.92, lenient: 0.2 });
    expect(share(keen, 'keen', 'more')).toBeGreaterThan(0.9);
    expect(share(keen, 'strict', 'not told apart')).toBeGreaterThan(0.9);
    const strict = told({ sees: 0.7, lenient: 0 });
    expect(share(strict, 'strict', 'more')).toBeGreaterThan(0.9);
    const lenient = told({ sees: 0.7, lenient: 0.5 });
    expect(share(lenient, 'strict', 'less')).toBeGreaterThan(0.9);
  });

  test('nothing is said of one like the others, nineteen times in twenty', () => {
    const like = told({ sees: 0.7, lenient: 0.2 });
    expect(share(like, 'keen', 'not told apart')).toBeGreaterThan(0.88);
    expect(share(like, 'strict', 'not told apart')).toBeGreaterThan(0.88);
  });

  test('lower grades that keenness explains are not strictness; what goes beyond is', () => {
    // Sees 0.9 where the average is 0.75: a fifth more points lost. 2 points are lost on average.
    const pair = (first: string, second: string, both: number, onlyFirst: number, onlySecond: number) => ({
      game: `${first} ${second}`,
      first,
      second,
      both,
      onlyFirst,
      onlySecond,
      firstAgainst: 0,
      secondAgainst: 0,
    });
    const pairs = [pair('x', 'y', 1080, 720, 120), pair('x', 'z', 1080, 720, 120)];
    const of = (points: number) =>
      detectionOf(pairs, {
        averageLoss: 2,
        severity: new Map([['x', { points, standardError: 0.1 }]]),
      }).observers.find(({ observer }) => observer === 'x')!;
    expect(of(-0.4)).toMatchObject({ keen: 'more', strict: 'not told apart' });
    expect(of(-0.4).beyondKeenness!.points).toBeCloseTo(0, 1);
    expect(of(-1)).toMatchObject({ keen: 'more', strict: 'more' });
    expect(of(0.3)).toMatchObject({ keen: 'more', strict: 'less' });

    // Where misses are multiplied: 0.9 ÷ 0.75 explains 2.4 points lost of 2; at 3.6, half as many again are left.
    const multiplied = (points: number) =>
      detectionOf(pairs, {
        averageLoss: 2,
        multiplies: true,
        severity: new Map([['x', { points, standardError: 0.1 }]]),
      }).observers.find(({ observer }) => observer === 'x')!;
    expect(multiplied(-0.4)).toMatchObject({ keen: 'more', strict: 'not told apart' });
    expect(multiplied(-0.4).beyondKeenness!.points).toBeCloseTo(0, 1);
    expect(multiplied(-1.6)).toMatchObject({ keen: 'more', strict: 'more' });
    expect(multiplied(-1.6).beyondKeenness!.points).toBeCloseTo(-1, 1);
    // Nothing marked has no multiple: nothing is said.
    expect(multiplied(2).beyondKeenness).toBeNull();
  });

  test('the order of the two in a pair changes nothing', () => {
    const pairs = season(3, { sees: 0.85 });
    const turned = pairs.map((one) => ({
      ...one,
      first: one.second,
      second: one.first,
      onlyFirst: one.onlySecond,
      onlySecond: one.onlyFirst,
      firstAgainst: one.secondAgainst,
      secondAgainst: one.firstAgainst,
    }));
    expect(detectionOf(turned)).toEqual(detectionOf(pairs));
  });
});
