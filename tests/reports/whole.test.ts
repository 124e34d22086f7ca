import { beforeAll, describe, expect, it } from 'vitest';
import type { Play } from '../../server/football/play.ts';
import { positions } from '../../server/football/positions.ts';
import { pointsIn } from '../../server/football/whole/points.ts';
import { type ReportToBeWhole, type Warning, warningsOf } from '../../server/reports/filing/whole.ts';
import { demoSeason } from '../support/demo-season.ts';

type Log = readonly { readonly number: number; readonly play: Play }[];
let games: Log[];
beforeAll(() => {
  games = [...demoSeason().plays.values()];
});

const counts = positions.map((position) => ({ position, opportunities: 50, notCounted: 0, unwatched: 0 }));
const report = (log: Log, more: Partial<ReportToBeWhole> = {}): ReportToBeWhole => ({
  code: 'college',
  plays: log.map(({ play }, at) => ({ id: `play-${at}`, number: at + 1, play })),
  crew: positions,
  crewSize: 8,
  finalScore: null,
  teams: { home: 'Larkspur', visitor: 'Copper Hill' },
  counts,
  ...more,
});
const kinds = (warnings: readonly Warning[]) => new Set(warnings.map(({ what }) => what));

describe('whether a report is whole', () => {
  it('has nothing to say of whole games with the score that their plays add up to', () => {
    for (const log of games) {
      const { least, most } = pointsIn(log.map(({ play }) => play));
      expect(most).toEqual(least);
      expect(warningsOf(report(log, { finalScore: least }))).toEqual([]);
    }
  });

  it('tells a lost quarter, lost drives, lost points and people, each at its place', () => {
    for (const log of games.slice(0, 10)) {
      const { least } = pointsIn(log.map(({ play }) => play));
      const withoutLast = log.filter(({ play }) => (play.quarter ?? 0) < 4);
      const told = warningsOf(report(withoutLast, { finalScore: least }));
      expect(told).toContainEqual(
        expect.objectContaining({ what: 'quarter', says: 'No play of the 4th quarter is logged.' }),
      );
      for (const { playId, number, what } of told) {
        if (what === 'crew' || what === 'chances' || what === 'plays') continue;
        expect(playId).toBe(`play-${number! - 1}`);
      }
      // Ten plays out of the middle of a quarter.
      const from = log.findIndex(({ play }) => play.quarter === 2) + 5;
      const lost = warningsOf(report([...log.slice(0, from), ...log.slice(from + 10)]));
      expect([...kinds(lost)].some((what) => what === 'time' || what === 'sequence')).toBe(true);
    }
    const { least } = pointsIn(games[0]!.map(({ play }) => play));
    const more = { home: least.home + 7, visitor: least.visitor };
    expect(warningsOf(report(games[0]!, { finalScore: more }))).toEqual([
      expect.objectContaining({
        what: 'score',
        says: `The points of the log do not add up: ${least.home} for Larkspur, the final score says ${more.home}.`,
      }),
    ]);
  });

  it('says how many plays there usually are, and who of the crew is missing', () => {
    const short = report(games[0]!.slice(0, 30), { crew: positions.filter((one) => one !== 'side judge') });
    const [crew, plays] = warningsOf(short);
    expect(crew!.says).toBe(
      '7 of 8 officials are entered as working this game; nobody is entered as side judge.',
    );
    expect(plays!.says).toContain('30 plays are logged; a whole game has 140 to 190');
    expect(plays!.says).toContain('no source');
  });

  it('tells positions with few chances, but not of those who were not watched', () => {
    const few = counts.map((count) =>
      count.position === 'umpire'
        ? { ...count, opportunities: 6 }
        : count.position === 'referee'
          ? { ...count, opportunities: 0, unwatched: 40 }
          : count,
    );
    const told = warningsOf(report(games[0]!, { counts: few }));
    expect(told).toEqual([expect.objectContaining({ what: 'chances', position: 'umpire' })]);
  });
});
