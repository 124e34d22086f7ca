import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { gradeWholeSeason, type SeasonSettings } from '../../server/grading/season-model.ts';
import type { GradedGame } from '../../server/grading/season-rows.ts';
import { seeded } from '../bench/planning-instances.ts';
import { addedTo, writtenOut } from './dense-season.ts';

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

/** Two positions of six officials, sixteen games seen by two of five observers each, every effect above chance. */
function doublySeenSeason(seed: number): { rows: GradedGame[] } {
  const random = seeded(seed);
  const drawn = new Map<string, number>();
  const effect = (name: string, size: number) => {
    if (!drawn.has(name)) drawn.set(name, size * 2 * (random() + random() + random() - 1.5));
    return drawn.get(name)!;
  };
  const rows: GradedGame[] = [];
  for (let g = 0; g < 16; g += 1) {
    const watching = [g % 5, (g + 1 + (g % 3)) % 5].map((i) => `observer ${i}`);
    for (const position of ['umpire', 'line judge']) {
      const official = `${position} ${g % 6}`;
      for (const observer of watching) {
        const grade =
          80 +
          effect(official, 2) +
          effect(observer, 2) +
          effect(`game ${g}`, 1.5) +
          effect(`${official} in ${g}`, 2) +
          effect(`${observer} on ${position}`, 2) +
          effect(`chance ${rows.length}`, 0.8);
        rows.push(row(official, observer, `game ${g}`, Math.min(100, grade), position));
      }
    }
  }
  return { rows };
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

  test("grades and severity by position are those of Henderson's equations written out in full", () => {
    const { rows } = doublySeenSeason(3);
    const { standings, observers, spread } = gradeWholeSeason(rows, { ...settings, draws: 1 });
    for (const deviation of Object.values(spread!)) expect(deviation).toBeGreaterThan(0.1);
    const plain = writtenOut(rows, spread!);
    const added = addedTo(rows);
    for (const { official, position, adjusted } of standings) {
      const expected = plain.gradeAt(official, position);
      expect(adjusted!.grade).toBeCloseTo(expected.value, 5);
      const more = added(official, position);
      expect(more).toBeGreaterThan(0);
      expect(adjusted!.standardError).toBeCloseTo(Math.hypot(expected.error, Math.sqrt(more)), 5);
      expect(adjusted!.low).toBeLessThan(adjusted!.grade);
      expect(adjusted!.high).toBeGreaterThan(adjusted!.grade);
    }
    for (const { observer, effect, positions: each } of observers) {
      expect(each.map(({ position }) => position).sort()).toEqual(['line judge', 'umpire']);
      const expected = each.map(({ position }) => plain.severityAt(observer, position));
      for (const [at, inPosition] of each.entries()) {
        expect(inPosition.effect).toBeCloseTo(expected[at]!.value, 5);
        // Never surer than with the variances known.
        expect(inPosition.standardError).toBeGreaterThan(expected[at]!.error - 1e-6);
        expect(inPosition.standardError).toBeLessThan(1.5 * expected[at]!.error);
      }
      // As a whole: the mean of the two positions.
      expect(effect).toBeCloseTo((expected[0]!.value + expected[1]!.value) / 2, 5);
    }
  });

  test('a second report of an evening says less than a report of another evening', () => {
    const { rows } = doublySeenSeason(4);
    const errorOf = (given: GradedGame[]) => {
      const { standings } = gradeWholeSeason(given, { ...settings, draws: 0 });
      return standings.reduce((sum, { adjusted }) => sum + adjusted!.standardError, 0) / standings.length;
    };
    // The same reports, the second one of each game said to be of another game: they look like more than they are.
    const seen = new Set<string>();
    const asTwoGames = rows.map((r) => {
      const first = !seen.has(`${r.official} ${r.game}`);
      seen.add(`${r.official} ${r.game}`);
      return first ? r : { ...r, game: `${r.game}, as another` };
    });
    expect(errorOf(rows)).toBeGreaterThan(1.1 * errorOf(asTwoGames));
  });

  test('what nothing can tell is said in words and taken as nothing', () => {
    const { rows } = doublySeenSeason(5);
    const single = rows.filter((r) => r.observer === rows.find(({ game }) => game === r.game)!.observer);
    const alone = gradeWholeSeason(single, settings);
    expect(alone.spread!.officialInGame).toBe(0);
    expect(alone.notes).toContain(
      "no official has two reports of one game, so nothing tells an official's evening from chance; nothing is put down to it",
    );
    const umpires = gradeWholeSeason(
      rows.filter((r) => r.position === 'umpire'),
      settings,
    );
    expect(umpires.spread!.observerInPosition).toBe(0);
    expect(umpires.notes.join()).toContain(
      'observer in one position: goes together with observer throughout, so the two cannot be told apart',
    );
    for (const { effect, positions } of umpires.observers)
      expect(positions[0]!.effect).toBeCloseTo(effect!, 12);
  });

  test('observers that nothing tells apart lean nowhere, not even by rounding', () => {
    const grades = [88, 93, 91, 86, 95, 90, 89, 94, 87];
    const alike = gradeWholeSeason(
      grades.map((grade, at) => row(`official ${at % 3}`, `observer ${Math.floor(at / 3)}`, `g${at}`, grade)),
      settings,
    );
    expect(alike.spread!.observer).toBe(0);
    expect(alike.observers).toHaveLength(3);
    for (const { effect, low, high } of alike.observers.flatMap((one) => [one, ...one.positions]))
      expect([effect, low, high]).toEqual([0, 0, 0]);
  });

  test('no season, one report, all grades equal', () => {
    expect(gradeWholeSeason([], settings)).toEqual({
      standings: [],
      observers: [],
      spread: null,
      clips: null,
      lastSeason: null,
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
    expect(equal.notes).toContain(
      'every report gives a position the same grade, so nothing tells officials or observers apart',
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
