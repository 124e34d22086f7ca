import { describe, expect, it } from 'vitest';
import type { CountRow } from '../../server/patterns/counts.ts';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { simulateSeason } from '../bench/simulated-counts.ts';

function row(given: Partial<CountRow>): CountRow {
  return {
    official: 'a',
    position: 'line judge',
    crew: 'one',
    game: 'g1',
    week: 1,
    observer: 'o',
    duty: 'dead-ball signal',
    situationCut: null,
    opportunities: 10,
    misses: 0,
    model: 0,
    ...given,
  };
}

/** Official `bad` misses `misses` in each of `games` games of ten chances; three peers miss one in each. */
function season(games: number, misses: number): CountRow[] {
  const rows: CountRow[] = [];
  for (let week = 1; week <= games; week++) {
    rows.push(row({ official: 'bad', crew: 'bad', game: `b${week}`, week, misses }));
    for (const peer of ['x', 'y', 'z']) {
      rows.push(row({ official: peer, crew: peer, game: `${peer}${week}`, week, misses: week % 2 }));
    }
  }
  return rows;
}

describe('repeat misses', () => {
  it('finds one with its evidence', () => {
    const { patterns, families } = findPatterns(season(4, 5), {
      weights: new Map([['dead-ball signal', 3]]),
    });
    expect(families.officials.comparisons).toBe(4);
    expect(patterns).toHaveLength(1);
    const [pattern] = patterns;
    expect(pattern).toMatchObject({ official: 'bad', opportunities: 40, misses: 20, gamesWithMisses: 4 });
    expect(pattern!.expected).toBeCloseTo(2, 10);
    expect(pattern!.excess).toBeCloseTo(18, 10);
    expect(pattern!.consequence).toBeCloseTo(54, 10);
    expect(pattern!.weeks.map((week) => week.misses)).toEqual([5, 5, 5, 5]);
    expect(pattern!.headline).toBe(true);
  });

  it('says nothing of a burst in two games', () => {
    expect(findPatterns(season(2, 9)).patterns).toEqual([]);
  });

  it('does not blame an official for a strict observer', () => {
    const rows: CountRow[] = [];
    for (let week = 1; week <= 6; week++) {
      // `seen strictly` always has the strict observer, who gives everyone five misses of ten
      rows.push(row({ official: 'seen strictly', game: `s${week}`, week, observer: 'strict', misses: 5 }));
      rows.push(
        row({
          official: 'p',
          game: `p${week}`,
          week,
          observer: week < 3 ? 'strict' : 'mild',
          misses: week < 3 ? 5 : 0,
        }),
      );
      rows.push(
        row({
          official: 'q',
          game: `q${week}`,
          week,
          observer: week > 4 ? 'strict' : 'mild',
          misses: week > 4 ? 5 : 0,
        }),
      );
    }
    expect(findPatterns(rows).patterns).toEqual([]);
    const unadjusted = rows.map((r) => ({ ...r, observer: 'same' }));
    expect(findPatterns(unadjusted).patterns.map((p) => p.official)).toEqual(['seen strictly']);
  });

  it('names the bad count and its field', () => {
    expect(() => findPatterns([row({ misses: 11 })])).toThrow(/misses 11 .* exceed opportunities 10/);
    expect(() => findPatterns([row({ opportunities: Number.NaN })])).toThrow(/opportunities is NaN/);
    expect(() => findPatterns([row({})], { weights: new Map() })).toThrow(/dead-ball signal/);
  });

  it('takes an empty season', () => {
    expect(findPatterns([])).toMatchObject({
      patterns: [],
      strengths: [],
      crews: [],
      conference: [],
      weeks: [],
    });
  });
});

describe('a simulated season', () => {
  it('finds what was planted, and where', () => {
    const rows = simulateSeason(3, {
      planted: [
        { official: 'c1p2', duty: 'd1', situationCut: null, missRate: 0.3 },
        { official: 'c4p5', duty: 'd2', situationCut: 'cut1', missRate: 0.5 },
      ],
    });
    const { patterns } = findPatterns(rows);
    const headlines = patterns.filter((pattern) => pattern.headline);
    expect(headlines).toContainEqual(
      expect.objectContaining({ official: 'c1p2', duty: 'd1', situationCut: null }),
    );
    expect(headlines).toContainEqual(
      expect.objectContaining({ official: 'c4p5', duty: 'd2', situationCut: 'cut1', onlyHere: true }),
    );
  });
});

describe('crews', () => {
  /** Ten games a crew; `misses(crew, position, week)` of ten chances each. */
  const games = (misses: (crew: string, position: string, week: number) => number) =>
    ['c', 'd', 'e'].flatMap((crew) =>
      ['umpire', 'line judge', 'back judge'].flatMap((position) =>
        Array.from({ length: 8 }, (_, week) =>
          row({
            official: `${crew} ${position}`,
            crew,
            position,
            game: `${crew}${week}`,
            week,
            misses: misses(crew, position, week),
          }),
        ),
      ),
    );

  it('stand out for what several of their officials miss', () => {
    const { crews } = findPatterns(games((crew, _position, week) => (crew === 'd' ? 3 : week % 2)));
    expect(crews.map((pattern) => pattern.crew)).toEqual(['d']);
    expect(crews[0]).toMatchObject({ officialsWithMisses: 3, misses: 72, opportunities: 240 });
  });

  it('do not answer for one official', () => {
    const { crews, patterns } = findPatterns(
      games((crew, position, week) => (crew === 'd' && position === 'umpire' ? 6 : week % 2)),
    );
    expect(patterns.map((pattern) => pattern.official)).toEqual(['d umpire']);
    expect(crews).toEqual([]);
  });
});
