import { describe, expect, it } from 'vitest';
import type { GameToWatch, ObserverToSend } from '../../server/planning/planning-problem.ts';
import { rulesBrokenAlone, rulesBrokenBeside } from '../../server/planning/rules.ts';

const game: GameToWatch = {
  id: 'g',
  week: 3,
  date: '2026-09-19',
  place: { latitude: 40, longitude: -90 },
  teamIds: ['home', 'away'],
  crewId: 'crew',
  officialIds: ['official'],
  observersWanted: 1,
  filmAllowed: true,
};
const observer: ObserverToSend = {
  id: 'b',
  home: { latitude: 40, longitude: -90 },
  modes: ['in person', 'film'],
  absences: [],
  conflicts: [],
  weeklyLimit: 1,
  seasonLimit: 2,
  travelLimitMiles: 200,
};
const names = (broken: readonly { rule: string }[]) => broken.map(({ rule }) => rule);

describe('eligibility', () => {
  it('lets an observer with nothing declared watch', () => {
    expect(rulesBrokenAlone(observer, game, 'in person', 10)).toEqual([]);
  });

  it.each([
    ['2026-09-18', false],
    ['2026-09-19', true],
    ['2026-09-20', true],
    ['2026-09-21', true],
    ['2026-09-22', false],
  ])('counts both ends of an absence (kickoff %s)', (date, away) => {
    const absent = {
      ...observer,
      absences: [{ from: '2026-09-19', to: '2026-09-21', of: 'all work' as const }],
    };
    expect(names(rulesBrokenAlone(absent, { ...game, date }, 'film', null))).toEqual(
      away ? ['availability'] : [],
    );
  });

  it('lets someone away from stadiums watch film', () => {
    const absent = {
      ...observer,
      absences: [{ from: '2026-09-19', to: '2026-09-19', of: 'in person' as const }],
    };
    expect(names(rulesBrokenAlone(absent, game, 'in person', 10))).toEqual(['availability']);
    expect(rulesBrokenAlone(absent, game, 'film', null)).toEqual([]);
  });

  it.each([
    [{ kind: 'school tie', teamId: 'away' }],
    [{ kind: 'family', officialId: 'official' }],
    [{ kind: 'former crew', crewId: 'crew' }],
    [{ kind: 'business interest', teamId: 'home' }],
  ] as const)('holds a declared conflict in person and on film: %o', (conflict) => {
    const tied = { ...observer, conflicts: [conflict] };
    for (const mode of ['in person', 'film'] as const) {
      const [broken] = rulesBrokenAlone(tied, game, mode, 10);
      expect(broken?.rule).toBe('declared conflict');
      expect(broken?.why).toContain(conflict.kind);
    }
    expect(
      rulesBrokenAlone(tied, { ...game, teamIds: [], officialIds: [], crewId: null }, 'film', 10),
    ).toEqual([]);
  });

  it('lets nobody watch a game they work themselves', () => {
    const both = { ...observer, id: 'official' };
    expect(names(rulesBrokenAlone(both, game, 'film', null))).toEqual(['declared conflict']);
  });

  it('limits travel in person only, and an unknown distance breaks nothing', () => {
    expect(names(rulesBrokenAlone(observer, game, 'in person', 200))).toEqual([]);
    expect(names(rulesBrokenAlone(observer, game, 'in person', 200.1))).toEqual(['travel limit']);
    expect(names(rulesBrokenAlone(observer, game, 'film', 900))).toEqual([]);
    expect(names(rulesBrokenAlone(observer, game, 'in person', null))).toEqual([]);
  });

  it('counts the week, the season and the day beside other assignments, never the same game', () => {
    const other = (week: number, date: string, mode: 'in person' | 'film', gameId = 'other') => ({
      observerId: 'b',
      gameId,
      week,
      date,
      mode,
    });
    expect(
      names(rulesBrokenBeside(observer, game, 'in person', [other(3, '2026-09-19', 'in person')])),
    ).toEqual(['one place at a time', 'weekly limit']);
    expect(names(rulesBrokenBeside(observer, game, 'film', [other(3, '2026-09-19', 'in person')]))).toEqual([
      'weekly limit',
    ]);
    const season = [other(1, '2026-09-05', 'film', 'x'), other(2, '2026-09-12', 'film', 'y')];
    expect(names(rulesBrokenBeside(observer, game, 'film', season))).toEqual(['season limit']);
    expect(names(rulesBrokenBeside(observer, game, 'film', [other(3, '2026-09-19', 'film', 'g')]))).toEqual(
      [],
    );
    expect(names(rulesBrokenBeside({ ...observer, id: 'c' }, game, 'film', season))).toEqual([]);
  });
});
