import { expect, it } from 'vitest';
import { type FoundUnit, placeAt, settle } from '../../server/patterns/baseline.ts';
import { ComparedGroup } from '../../server/patterns/comparison.ts';
import { type CountRow, prepareCounts } from '../../server/patterns/counts.ts';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { besidePeers } from '../../server/patterns/one-official.ts';
import { groupRows } from '../../server/patterns/row-groups.ts';

/** Officials who all work twelve games of ten chances before one observer and miss so many in each, in turn. */
function season(missesOf: Record<string, readonly number[]>): CountRow[] {
  return Object.entries(missesOf).flatMap(([official, misses]) =>
    Array.from({ length: 12 }, (_, i) => ({
      official,
      position: 'umpire',
      crew: official,
      game: `${official}${i}`,
      week: i + 1,
      observer: 'o',
      duty: 'spot of the ball',
      situationCut: null,
      opportunities: 10,
      misses: misses[i % misses.length]!,
      model: 0,
    })),
  );
}

const found = (rows: readonly CountRow[]) => {
  const { patterns, strengths, crews } = findPatterns(rows);
  return {
    patterns: patterns.map(({ official }) => official).sort(),
    strengths: strengths.map(({ official }) => official).sort(),
    crews: crews.map(({ crew }) => crew).sort(),
  };
};

it('does not call others strong beside one who misses much', () => {
  // Beside all three others, each of a, b and c would miss 12 of 120 where 48 are expected: p below 1e-8.
  expect(found(season({ bad: [7], a: [1], b: [1], c: [1] }))).toEqual({
    patterns: ['bad'],
    strengths: [],
    crews: [],
  });
});

it('finds the second whom the first hid', () => {
  // Beside the first, `next` has 24 of 120 and the others 108 of 360; without, 24 of 120 and 24 of 240.
  const rows = season({ bad: [7], next: [2], a: [1], b: [1] });
  expect(found(rows)).toEqual({ patterns: ['bad', 'next'], strengths: [], crews: [] });
  const next = findPatterns(rows).patterns.find(({ official }) => official === 'next')!;
  expect(next).toMatchObject({ peers: { events: 24, opportunities: 240 }, peerCount: 3, peersLeftOut: 1 });
});

it('gives a development point the peers of the pattern', () => {
  const rows = season({ bad: [7], next: [2], a: [1], b: [1] });
  const { leftOut, patterns } = findPatterns(rows);
  const names = leftOut[placeAt('misses', 'spot of the ball', 'umpire')]!;
  expect(names).toEqual(['bad', 'next']);
  const peers = { leftOut: new Set(names), minimumOpportunities: 10 };
  for (const { official, expected, comparable } of patterns) {
    expect(expected).toBeCloseTo(12, 9); // a tenth of 120, as the two others miss
    expect(besidePeers(rows, official, peers)).toMatchObject({ expected, comparable });
  }
});

it('does the same for crews', () => {
  const rows = season({ bad: [7], next: [2], a: [1], b: [1] }).flatMap((row) =>
    ['umpire', 'referee', 'back judge'].map((position) => ({
      ...row,
      position,
      official: `${row.official} ${position}`,
    })),
  );
  expect(found(rows).crews).toEqual(['bad', 'next']);
});

it('leaves half of a position in the baseline, so that nobody is held against the single best', () => {
  const { patterns } = findPatterns(season({ a: [3], b: [3], c: [3], best: [0, 0, 1] }));
  for (const { peersLeftOut, peerCount } of patterns) {
    expect(peerCount).toBe(3);
    expect(peersLeftOut).toBeLessThanOrEqual(2);
  }
});

it('compares with all again where only found ones were seen by the same observers', () => {
  // `far` shares its observer with `bad` alone: without him there is nobody, with him it still misses more.
  const rows = season({ bad: [3], far: [8], a: [1], b: [1], c: [1] }).map((row) =>
    row.official === 'far' || (row.official === 'bad' && row.week > 6) ? { ...row, observer: 'p' } : row,
  );
  const { patterns } = findPatterns(rows);
  expect(patterns.map(({ official }) => official).sort()).toEqual(['bad', 'far']);
  expect(patterns.find(({ official }) => official === 'far')!.peersLeftOut).toBe(0);
});

it('ends where the rounds go in a circle: who left in one of them is left out for good', () => {
  const counts = prepareCounts(season({ a: [1], b: [1], c: [1], d: [1] }));
  const compared = groupRows(counts, 'duty and position').map(
    (group) => new ComparedGroup(counts, group, counts.official, counts.observer),
  );
  const one = (name: string): FoundUnit => ({
    compared: compared[0]!,
    unit: compared[0]!.find(name),
    event: 'misses',
    pValue: 0.001,
  });
  const asked: string[] = [];
  const { leftOut } = settle(compared, (without) => {
    const names = [...without.values()].flatMap((set) => [...set]).sort();
    asked.push(names.join());
    return { found: names.join() === 'a' ? [one('b')] : [one('a')] };
  });
  expect(asked).toEqual(['', 'a', 'b', 'a,b']);
  expect([...leftOut.values()].map((names) => [...names].sort())).toEqual([['a', 'b']]);
});
