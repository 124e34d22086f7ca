import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type GradedGame, gradeWholeSeason, type SeasonSettings } from '../../server/grading/season-model.ts';
import { scenarios, simulate } from '../bench/simulation.ts';

const settings: SeasonSettings = { minimumGames: 0, minimumOpportunities: 0, top: 1, seed: 1, draws: 500 };

function row(official: string, observer: string, game: string, met: number, position = 'umpire'): GradedGame {
  return {
    official,
    observer,
    game,
    position,
    counts: [{ weight: 1, opportunities: 100, met }],
  };
}

describe('the season model', () => {
  test('a strict observer costs nothing', () => {
    // Ash and Birch do as well; Ash was mostly seen by the strict X. Cedar, seen by both, shows who is strict.
    const rows = [
      row('Ash', 'X', 'g1', 80),
      row('Ash', 'X', 'g2', 81),
      row('Ash', 'Y', 'g3', 91),
      row('Birch', 'Y', 'g4', 90),
      row('Birch', 'Y', 'g5', 90),
      row('Birch', 'X', 'g6', 79),
      row('Cedar', 'X', 'g7', 75),
      row('Cedar', 'Y', 'g8', 85),
      row('Cedar', 'X', 'g9', 76),
      row('Cedar', 'Y', 'g10', 86),
    ];
    const { standings, observers } = gradeWholeSeason(rows, settings);
    const [ash, birch] = ['Ash', 'Birch'].map((name) => standings.find((s) => s.official === name)!);
    const rawGap = birch!.season.pooled.grade! - ash!.season.pooled.grade!;
    expect(rawGap).toBeGreaterThan(2);
    expect(Math.abs(birch!.adjusted!.grade - ash!.adjusted!.grade)).toBeLessThan(rawGap / 2);
    expect(observers[0]).toMatchObject({ observer: 'X', games: 5 });
    expect(observers[1]!.effect! - observers[0]!.effect!).toBeCloseTo(10, 0);
    expect(standings.at(-1)!.official).toBe('Cedar');
  });

  test('who cannot be ranked says why', () => {
    const rows = [
      row('Ash', 'X', 'g1', 90),
      row('Ash', 'X', 'g2', 92),
      row('Birch', 'X', 'g3', 80),
      row('Birch', 'X', 'g4', 84),
      row('Cedar', 'X', 'g5', 99),
      { ...row('Elm', 'X', 'g5', 0), counts: [{ weight: 1, opportunities: 0, met: 0 }] },
    ];
    const { standings, notes } = gradeWholeSeason(rows, { ...settings, minimumGames: 2 });
    expect(standings.map((s) => [s.official, s.rank?.place ?? s.unrankedReason])).toEqual([
      ['Ash', 1],
      ['Birch', 2],
      ['Cedar', '1 of at least 2 games graded'],
      ['Elm', 'no grade: no counted opportunity'],
    ]);
    expect(notes.join()).toContain('observer: only one');
  });

  test('officials that no report links are ranked apart', () => {
    const rows = ['Ash', 'Birch', 'Elm', 'Fir'].flatMap((official, i) =>
      [1, 2, 3].map((g) => row(official, i < 2 ? 'X' : 'Y', `g${i < 2 ? 'x' : 'y'}${g}`, 80 + 3 * i + g)),
    );
    const { standings, groups } = gradeWholeSeason(rows, settings);
    expect(groups).toEqual([
      { officials: ['Ash', 'Birch'], observers: ['X'] },
      { officials: ['Elm', 'Fir'], observers: ['Y'] },
    ]);
    expect(standings.map((s) => [s.official, s.group, s.rank!.place])).toEqual([
      ['Birch', 0, 1],
      ['Ash', 0, 2],
      ['Fir', 1, 1],
      ['Elm', 1, 2],
    ]);
  });

  test('no season, one report, all grades equal', () => {
    expect(gradeWholeSeason([], settings)).toEqual({
      standings: [],
      observers: [],
      spread: null,
      groups: [],
      notes: ['no adjusted grades: no report has a counted opportunity'],
    });
    const one = gradeWholeSeason([row('Ash', 'X', 'g1', 90)], settings);
    expect(one.standings[0]).toMatchObject({ adjusted: null, rank: null });
    expect(one.standings[0]!.unrankedReason).toMatch(/one game grade in one position cannot tell/);
    const equal = gradeWholeSeason(
      ['Ash', 'Birch', 'Cedar'].flatMap((name) => [row(name, 'X', 'g1', 90), row(name, 'Y', 'g2', 90)]),
      settings,
    );
    for (const standing of equal.standings) {
      expect(standing.adjusted).toMatchObject({ standardError: 0 });
      expect(standing.rank).toMatchObject({ place: 1, tied: true });
      expect(standing.rank!.topProbability).toBeCloseTo(1 / 3, 12);
    }
  });

  test('whatever was reported, each official is ranked or says why, and nothing is NaN', () => {
    const report = fc
      .record({
        official: fc.constantFrom('a', 'b', 'c', 'd', 'e'),
        observer: fc.constantFrom('x', 'y', 'z'),
        game: fc.constantFrom('1', '2', '3', '4'),
        position: fc.constantFrom('umpire', 'line judge'),
        opportunities: fc.constantFrom(0, 1, 5, 80),
        weight: fc.constantFrom(0, 1, 3),
        part: fc.double({ min: 0, max: 1, noNaN: true }),
      })
      .map(
        ({ opportunities, part, weight, ...rest }): GradedGame => ({
          ...rest,
          counts: [{ weight, opportunities, met: Math.floor(part * opportunities) }],
        }),
      );
    fc.assert(
      fc.property(fc.array(report, { maxLength: 25 }), (rows) => {
        const result = gradeWholeSeason(rows, { ...settings, minimumGames: 2, draws: 50 });
        const pairs = new Set(rows.map((r) => `${r.official} ${r.position}`));
        expect(result.standings).toHaveLength(pairs.size);
        for (const standing of result.standings) {
          expect(standing.rank === null).toBe(standing.unrankedReason !== null);
        }
        expect(JSON.stringify(result)).toBe(
          JSON.stringify(result, (_, value) =>
            typeof value === 'number' && !Number.isFinite(value) ? 'not finite' : value,
          ),
        );
      }),
      { numRuns: 150 },
    );
  });
});

// Fixed seeds, so these figures never change; margins are from 200 seasons of other seeds, with room.
describe('seasons whose truth is known', () => {
  test.each([
    ['ordinary', 0.03],
    ['few observers per official', 0.03],
    ['one extreme observer', 0.06],
    ['disconnected crews', 0.02],
  ])('%s: adjusted ranks are nearer the truth than raw ones, and intervals hold it', (name, gain) => {
    const result = simulate(name, scenarios[name]!, 12, 1000);
    expect(result.adjustedCorrelation).toBeGreaterThan(result.rawCorrelation + gain);
    expect(result.adjustedError).toBeLessThan(result.rawError);
    expect(result.coverage).toBeGreaterThan(0.82);
    expect(result.coverage).toBeLessThan(0.97);
    expect(result.severityCoverage).toBeGreaterThan(0.8);
    expect(result.rankCoverage).toBeGreaterThan(0.9);
    expect(result.topError).toBeLessThan(0.75 * result.topErrorOfEvenChance);
    expect(result.rankedAcrossGroups).toBe(0);
  });

  test('when no observer is strict, adjusting does no harm', () => {
    const result = simulate('no severity', scenarios['no severity']!, 12, 1000);
    expect(result.adjustedCorrelation).toBeGreaterThan(result.rawCorrelation - 0.02);
  });
});
