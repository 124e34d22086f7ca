import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cameBack } from '../../../server/patterns/follow-up/came-back.ts';
import { followUp } from '../../../server/patterns/follow-up/follow-up.ts';
import type { DatedCount } from '../../../server/patterns/follow-up/looks.ts';
import { officialSpread } from '../../../server/patterns/follow-up/official-spread.ts';

/** One game of the duty: `misses` of `opportunities` in `week`. */
function game(
  official: string,
  week: number,
  misses: number,
  opportunities: number,
  observer: string,
): DatedCount {
  return {
    official,
    position: 'umpire',
    crew: 'c',
    game: `${official}${week}`,
    week,
    day: `2026-09-${String(week).padStart(2, '0')}`,
    observer,
    duty: 'backside of the run',
    situationCut: null,
    opportunities,
    misses,
    model: 0,
  };
}

/** Five peers who miss 1 of 20 a week, and one official with the misses given; observers take turns. */
function rowsOf(own: readonly number[], opportunities = 20): DatedCount[] {
  const peers = ['a', 'b', 'c', 'd', 'e'].flatMap((peer, i) =>
    own.map((_, week) => game(peer, week + 1, 1, 20, `o${(week + i) % 3}`)),
  );
  const rows = own.map((misses, week) => game('x', week + 1, misses, opportunities, `o${week % 3}`));
  return [...peers, ...rows];
}

/** Half of a season's officials are far off: a high count is then mostly the official's own. */
const wide = { shares: [0.5, 0, 0, 0.2, 0.3, 0], gameVariance: 0, severity: { factors: {}, variance: 0.02 } };
const alike = { ...wide, shares: [1, 0, 0, 0, 0, 0] };
const told = '2026-09-05';
const follow = (own: readonly number[], given: object = {}) =>
  followUp({ rows: rowsOf(own), official: 'x', told, spread: wide, lastWeek: 10, ...given });

describe('before and after', () => {
  it('says fewer when a high count of long ends', () => {
    const found = follow([8, 7, 9, 6, 8, 1, 0, 1, 0, 1]);
    expect(found).toMatchObject({
      verdict: 'fewer misses',
      before: { events: 38, opportunities: 100 },
      after: { events: 3, opportunities: 100, games: 5 },
      looks: 4,
    });
    expect(found.pFewer).toBeLessThan(found.level);
    expect(found.level).toBeLessThan(0.05);
  });
  it('expects no more of one whom chance made high where officials are alike', () => {
    // Peers miss 5 %; 14 of 100 was chance, so that 5 of 100 are as usual.
    const own = [4, 2, 3, 3, 2, 1, 1, 1, 1, 1];
    const found = follow(own, { spread: alike });
    expect(found.unchangedRate).toBeCloseTo(0.05, 1);
    expect(found.unchangedRate).toBeLessThan(0.07);
    expect(found.verdict).not.toBe('fewer misses');
    expect(follow(own).unchangedRate).toBeGreaterThan(0.09);
  });
  it('is less sure of an observer who saw peers in one game, where games differ', () => {
    const spread = { ...alike, gameVariance: 0.3, severity: { factors: {}, variance: 0.8 } };
    const pFewer = (game: (row: DatedCount) => string) => {
      const rows = rowsOf([2, 2, 2, 2, 2, 0, 0, 0, 0, 0], 40);
      const named = rows.map((row) => (row.official === 'x' ? row : { ...row, game: game(row) }));
      return follow([], { rows: named, spread }).pFewer;
    };
    expect(pFewer((row) => row.observer)).toBeGreaterThan(1.2 * pFewer((row) => row.game));
  });
  it('takes off what milder observers afterwards do to everybody', () => {
    // Afterwards everybody's misses are a third of what they were, as other observers mark.
    const own = [6, 6, 6, 6, 6, 2, 2, 2, 2, 2];
    const rows = own.flatMap((misses, week) => {
      const observer = `${week < 5 ? 'strict' : 'mild'}${week % 2}`;
      const peers = ['a', 'b', 'c', 'd', 'e'].map((peer) =>
        game(peer, week + 1, week < 5 ? 3 : 1, 20, observer),
      );
      return [...peers, game('x', week + 1, misses, 20, observer)];
    });
    const severity = { factors: {}, variance: 0.8 };
    expect(follow(own, { rows, spread: { ...wide, severity } }).verdict).not.toBe('fewer misses');
    // The same counts with observers forgotten.
    const forgotten = rows.map((row) => ({ ...row, observer: 'same' }));
    expect(follow(own, { rows: forgotten }).verdict).toBe('fewer misses');
  });
  it('asks for more at an early look than at the last', () => {
    const early = follow([6, 6, 6, 6, 6, 1, 1]);
    const late = follow([6, 6, 6, 6, 6, 1, 1], { lastWeek: 7 });
    expect(early.pFewer).toBe(late.pFewer);
    expect(early.level).toBeLessThan(late.level / 2);
    expect(late.level).toBeCloseTo(0.05, 9); // one look, and the last: nothing to share
  });
  it('says when it got worse', () => {
    expect(follow([2, 3, 2, 2, 3, 9, 8, 9, 10, 9]).verdict).toBe('more misses');
  });
  it('is silent until there were two games, and tells how many chances it takes', () => {
    const found = follow([8, 7, 9, 6, 8, 0]);
    expect(found).toMatchObject({ verdict: 'too early to tell', looks: 0, level: 0 });
    expect(found.opportunitiesNeeded).toBeGreaterThan(10);
    expect(found.opportunitiesNeeded).toBeLessThan(80);
  });
  it('says no change once it would have seen one', () => {
    expect(follow([8, 7, 9, 6, 8, 8, 7, 8, 7, 8]).verdict).toBe('no change shown');
  });
});

describe('bad input', () => {
  it('says why it cannot be told: nobody to compare with, or nothing before', () => {
    const rows = rowsOf([5, 5, 5, 5, 5, 1, 1]).filter(({ official }) => official === 'x');
    expect(follow([], { rows })).toMatchObject({
      verdict: 'cannot be told',
      reason: expect.stringContaining('Nobody else'),
    });
    expect(follow([1, 1, 1], { told: '2026-08-01' })).toMatchObject({
      verdict: 'cannot be told',
      reason: expect.stringContaining('no chance before'),
    });
    expect(follow([], { rows: [] })).toMatchObject({ verdict: 'cannot be told', pFewer: 1, pMore: 1 });
  });
  it('refuses counts that cannot be, naming official and game', () => {
    expect(() => follow([3], { rows: [game('x', 1, 3, 2, 'o')] })).toThrow(/x, game x1: 3 of 2/);
  });
  it('never breaks on any counts, rates of 0 and 1 and one observer included', () => {
    const count = fc.tuple(fc.nat(30), fc.nat(30)).map(([a, b]) => [Math.min(a, b), Math.max(a, b)] as const);
    const row = fc.tuple(fc.constantFrom('x', 'a', 'b'), fc.integer({ min: 1, max: 8 }), count, fc.nat(1));
    fc.assert(
      fc.property(fc.array(row, { maxLength: 24 }), fc.nat(9), fc.nat(1), (cells, day, byOne) => {
        const unique = new Map(cells.map((cell) => [`${cell[0]}${cell[1]}`, cell]));
        const rows = [...unique.values()].map(([official, week, [misses, n], b]) =>
          game(official, week, misses, n, byOne ? 'one' : `o${b}`),
        );
        const spread = officialSpread(rows, 0.2);
        expect(spread.shares.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 9);
        const found = followUp({ rows, official: 'x', told: `2026-09-0${day}`, spread, lastWeek: 8 });
        for (const value of [
          found.pFewer,
          found.pMore,
          found.unchangedRate ?? 0,
          found.targetRate ?? 0,
          found.level,
        ]) {
          expect(value).toBeGreaterThanOrEqual(0);
          expect(value).toBeLessThanOrEqual(1);
        }
        if (found.after.games < 2) expect(['too early to tell', 'cannot be told']).toContain(found.verdict);
        const since = cameBack({ rows, official: 'x', closed: `2026-09-0${day}`, spread, lastWeek: 8 });
        expect(since.pMore).toBeGreaterThanOrEqual(0);
        expect(since.pMore).toBeLessThanOrEqual(1);
      }),
      { numRuns: 60, seed: 6 },
    );
  });
});

describe('a closed point', () => {
  const back = (own: readonly number[]) =>
    cameBack({ rows: rowsOf(own), official: 'x', closed: told, spread: wide, lastWeek: own.length });
  it('opens again for misses in two games that peers do not have', () => {
    expect(back([6, 6, 6, 6, 6, 6, 7]).recurs).toBe(true);
    expect(back([6, 6, 6, 6, 6, 0, 9]).recurs).toBe(false); // one bad evening
    expect(back([6, 6, 6, 6, 6, 1, 2, 1, 1]).recurs).toBe(false); // as peers
  });
  it('asks for more while the season has long to go', () => {
    const of = (lastWeek: number) =>
      cameBack({ rows: rowsOf([6, 6, 6, 6, 6, 3, 3]), official: 'x', closed: told, spread: wide, lastWeek });
    expect(of(12).level).toBeLessThan(of(7).level / 5);
    expect(of(12).pMore).toBe(of(7).pMore);
  });
});
