import { describe, expect, test } from 'vitest';
import { otherWaysToRank, type RankWay } from '../../server/grading/other-ways.ts';
import type { SeasonSpread } from '../../server/grading/season-fit.ts';
import { gradeWholeSeason, type SeasonSettings, type Standing } from '../../server/grading/season-model.ts';
import type { GradedGame } from '../../server/grading/season-rows.ts';
import { seeded } from '../bench/planning-instances.ts';
import { addedTo, writtenOut } from './dense-season.ts';

const settings: SeasonSettings = { minimumGames: 0, minimumOpportunities: 0, top: 2, seed: 1, draws: 400 };

const row = (
  official: string,
  position: string,
  game: string,
  observer: string,
  grade: number,
): GradedGame => ({
  official,
  position,
  game,
  observer,
  counts: [{ weight: 1, opportunities: 100, met: Math.min(100, grade) }],
});

/** Two positions of five officials, fourteen games, most seen by two of four observers, the last of them strict. */
function madeSeason(seed: number): GradedGame[] {
  const random = seeded(seed);
  const drawn = new Map<string, number>();
  const effect = (name: string, size: number) => {
    if (!drawn.has(name)) drawn.set(name, size * 2 * (random() + random() + random() - 1.5));
    return drawn.get(name)!;
  };
  const rows: GradedGame[] = [];
  for (let g = 0; g < 14; g += 1) {
    const watching = [g % 4, ...(g % 3 === 0 ? [] : [(g + 1 + (g % 2)) % 4])];
    for (const position of ['umpire', 'line judge']) {
      const official = `${position} ${g % 5}`;
      for (const observer of watching) {
        const grade =
          82 +
          effect(official, 2) +
          effect(`observer ${observer}`, 1) -
          (observer === 3 ? 5 : 0) +
          effect(`game ${g}`, 1.5) +
          effect(`${official} in ${g}`, 1.5) +
          effect(`${observer} on ${position}`, 1) +
          effect(`chance ${rows.length}`, 1);
        rows.push(row(official, position, `game ${g}`, `observer ${observer}`, grade));
      }
    }
  }
  return rows;
}

const standingsOf = (ways: ReturnType<typeof otherWaysToRank>, way: RankWay) =>
  ways.ways.find((one) => one.way === way)!.standings!;
const placesOf = (standings: readonly Standing[]) =>
  standings.map(({ official, rank }) => [official, rank?.place]);

describe('other ways to rank a season', () => {
  const rows = madeSeason(3);
  const ways = otherWaysToRank(rows, settings);

  test('the model in use gives just what stands', () => {
    expect(standingsOf(ways, 'linear')).toEqual(gradeWholeSeason(rows, settings));
    expect(ways.ways.map(({ way }) => way)).toEqual([
      'linear',
      'counts',
      'without the strictest',
      'equally strict',
    ]);
  });

  test("without the strictest observer: Henderson's equations, written out without the reports", () => {
    expect(ways.strictest).toBe('observer 3');
    const without = standingsOf(ways, 'without the strictest');
    const left = rows.filter(({ observer }) => observer !== 'observer 3');
    const plain = writtenOut(left, without.spread!);
    const added = addedTo(left);
    for (const { official, position, adjusted } of without.standings) {
      const expected = plain.gradeAt(official, position);
      expect(adjusted!.grade).toBeCloseTo(expected.value, 5);
      expect(adjusted!.standardError).toBeCloseTo(
        Math.hypot(expected.error, Math.sqrt(added(official, position))),
        5,
      );
    }
    expect(placesOf(without.standings)).not.toEqual(placesOf(standingsOf(ways, 'linear').standings));
  });

  test('under equal severity: the same, written out without observers', () => {
    const equal = standingsOf(ways, 'equally strict');
    expect(equal.spread).toMatchObject({ observer: 0, observerInPosition: 0 });
    const plain = writtenOut(rows, equal.spread!);
    const added = addedTo(rows.map((r) => ({ ...r, observer: 'anybody' })));
    expect(plain.keys.map(({ name }) => name)).not.toContain('observer');
    for (const { official, position, adjusted } of equal.standings) {
      const expected = plain.gradeAt(official, position);
      expect(adjusted!.grade).toBeCloseTo(expected.value, 5);
      expect(adjusted!.standardError).toBeCloseTo(
        Math.hypot(expected.error, Math.sqrt(added(official, position))),
        5,
      );
      expect(adjusted!.parts.observers).toBeCloseTo(0, 12);
    }
  });

  test('without one game: the same, written out without its rows at the same variances', () => {
    const { standings, spread } = standingsOf(ways, 'linear');
    const added = addedTo(rows);
    expect(ways.shares).toHaveLength(10);
    for (const { official, position, shares } of ways.shares.filter((_, at) => at % 3 === 0)) {
      expect(shares.games.length).toBeGreaterThan(1);
      for (const { game, without } of shares.games) {
        const plain = writtenOut(
          rows.filter((r) => !(r.official === official && r.game === game)),
          spread!,
          rows,
        );
        const expected = plain.gradeAt(official, position);
        expect(without!.grade).toBeCloseTo(expected.value, 6);
        expect(without!.standardError).toBeCloseTo(
          Math.hypot(expected.error, Math.sqrt(added(official, position))),
          6,
        );
        const better = standings.filter(
          (other) =>
            other.position === position &&
            other.official !== official &&
            plain.gradeAt(other.official, position).value > expected.value,
        );
        expect(without!.place).toBe(1 + better.length);
      }
    }
  });

  test('the parts of the uncertainty add up, and are those of every effect and row written out', () => {
    const { spread } = standingsOf(ways, 'linear');
    const plain = writtenOut(rows, spread!);
    for (const { official, position, shares } of ways.shares) {
      const { at } = plain.gradeAt(official, position);
      const whole = plain.covariance(at, at);
      // Of each independent part of the error its variance: covariance squared over the part's own variance.
      const ofEffect = (name: keyof SeasonSpread, level: string) => {
        const place = plain.place(name, level, 1);
        const variance = plain.keys.find((key) => key.name === name)?.variance;
        return variance === undefined ? 0 : plain.covariance(at, place) ** 2 / variance / whole;
      };
      const ofRow = (r: GradedGame) => {
        const chance = plain.chance(r);
        return plain.covariance(at, chance.at) ** 2 / chance.variance / whole;
      };
      const everything =
        plain.keys.reduce(
          (sum, { name, levels }) => sum + levels.reduce((s, level) => s + ofEffect(name, level), 0),
          0,
        ) + rows.reduce((sum, r) => sum + ofRow(r), 0);
      expect(everything).toBeCloseTo(1, 9);

      const own = rows.filter((r) => r.official === official);
      for (const { game, uncertainty } of shares.games) {
        const expected =
          ofEffect('game', game) +
          ofEffect('officialInGame', `${official} ${game}`) +
          own.filter((r) => r.game === game).reduce((sum, r) => sum + ofRow(r), 0);
        expect(uncertainty).toBeCloseTo(expected, 6);
      }
      expect(shares.official).toBeCloseTo(ofEffect('official', official), 6);
      const observers = [...new Set(rows.map(({ observer }) => observer))];
      expect(shares.observers).toBeCloseTo(
        observers.reduce(
          (sum, observer) =>
            sum + ofEffect('observer', observer) + ofEffect('observerInPosition', `${observer} ${position}`),
          0,
        ),
        6,
      );
      const told = shares.games.reduce((sum, { uncertainty }) => sum + uncertainty, 0);
      expect(told + shares.official + shares.observers + shares.others).toBeCloseTo(1, 9);
      expect(shares.others).toBeGreaterThan(0);
    }
  });
});

describe('a season that cannot be looked at another way', () => {
  const reasonOf = (ways: ReturnType<typeof otherWaysToRank>, way: RankWay) =>
    ways.ways.find((one) => one.way === way)!.reason;

  test('of one observer says so', () => {
    const ways = otherWaysToRank(
      madeSeason(4).map((r) => ({ ...r, observer: 'X' })),
      settings,
    );
    expect(reasonOf(ways, 'without the strictest')).toBe('one observer wrote every report');
    expect(reasonOf(ways, 'equally strict')).toBe('one observer wrote every report');
    expect(ways.strictest).toBeNull();
    // One observer's positions are what the positions' averages say: nothing of it in anybody's uncertainty.
    expect(standingsOf(ways, 'linear').spread!.observerInPosition).toBe(0);
    for (const { shares } of ways.shares) expect(shares.observers).toBe(0);
  });

  test('whom only the strictest observer saw is in no place without those reports', () => {
    const rows = [
      ...madeSeason(3),
      row('Ash', 'umpire', 'game 3', 'observer 3', 80),
      row('Ash', 'umpire', 'game 7', 'observer 3', 78),
    ];
    const ways = otherWaysToRank(rows, settings);
    expect(ways.strictest).toBe('observer 3');
    const officials = standingsOf(ways, 'without the strictest').standings.map(({ official }) => official);
    expect(officials).toHaveLength(10);
    expect(officials).not.toContain('Ash');
    // Nor where somebody else reported on them without a chance to grade.
    const nothingSeen: GradedGame = {
      ...row('Ash', 'umpire', 'game 4', 'observer 1', 0),
      counts: [{ weight: 1, opportunities: 0, met: 0 }],
    };
    for (const used of ['linear', 'counts'] as const) {
      const found = otherWaysToRank([...rows, nothingSeen], settings, [...rows, nothingSeen], used);
      expect(found.strictest).toBe('observer 3');
      const left = standingsOf(found, 'without the strictest').standings.map(({ official }) => official);
      expect(left).not.toContain('Ash');
    }
  });

  test('of no report, one report, or equal grades has no shares, and one game nothing without it', () => {
    expect(otherWaysToRank([], settings)).toMatchObject({ strictest: null, shares: [] });
    expect(otherWaysToRank([row('Ash', 'umpire', '1', 'X', 90)], settings).shares).toEqual([]);
    const equal = ['Ash', 'Birch', 'Cedar'].flatMap((name) => [
      row(name, 'umpire', '1', 'X', 90),
      row(name, 'umpire', '2', 'Y', 90),
    ]);
    const ways = otherWaysToRank(equal, settings);
    expect(ways.shares).toEqual([]);
    expect(reasonOf(ways, 'without the strictest')).toBe(
      'no observer is told to be stricter than the others',
    );

    const single = otherWaysToRank(
      [...madeSeason(3), row('Ash', 'umpire', 'game 3', 'observer 1', 80)],
      settings,
    );
    const ash = single.shares.find(({ official }) => official === 'Ash')!.shares;
    expect(ash.games).toHaveLength(1);
    expect(ash.games[0]!.without).toBeNull();
    expect(ash.games[0]!.uncertainty + ash.official + ash.observers + ash.others).toBeCloseTo(1, 9);
  });
});
