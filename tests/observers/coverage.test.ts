import { describe, expect, it } from 'vitest';
import { coverageOf } from '../../server/observers/coverage.ts';
import type { Assignment, SeasonGame, SeasonMaterial } from '../../server/observers/season-material.ts';
import { planningProblemOf } from '../../server/observers/season-problem.ts';

const spread = {
  official: 3,
  observer: 2,
  game: 1.5,
  officialInGame: 1.8,
  observerInPosition: 1.2,
  residual: 4,
};
const officials = ['a', 'b'].map((id) => ({ id, position: 'umpire' }));

/** Two games of one crew, one seen by an observer who watched this share of each official's 100 chances. */
function season(shares: Readonly<Record<string, number>> | null): SeasonMaterial {
  const game = (id: string, week: number): SeasonGame => ({
    ...{
      id,
      key: id,
      week,
      kickoff: new Date(0),
      timeZone: 'UTC',
      date: `2026-09-0${week}`,
      venue: '',
      place: null,
    },
    ...{
      home: { id: 'h', name: 'H' },
      visitor: { id: 'v', name: 'V' },
      crew: { id: 'c', name: 'C' },
      officials,
    },
    ...{ observersWanted: null, filmAllowed: true, over: false, reported: week === 1 },
  });
  const kept = Object.entries(shares ?? {}).map(
    ([id, share]) =>
      [id, { opportunities: 100 * share, setAside: 0, unwatched: 100 - 100 * share, likely: 0 }] as const,
  );
  const seen: Assignment = {
    ...{ id: 's', gameId: 'g1', observerId: 'o', mode: 'in person', answer: 'accepted', withdrawn: false },
    ...{ locked: false, overrideReason: null, declineReason: null, offeredAt: new Date(0) },
    ...{ revision: 1, changedAt: new Date(0), reportState: shares ? 'filed' : 'draft', kept: new Map(kept) },
  };
  return {
    season: { id: 's', name: 'S' },
    settings: {
      ...{
        observersPerGame: 1,
        crewTarget: { timesSeen: 2, differentObservers: 1 },
        film: 1,
        repeatedPair: 1,
      },
      ...{ load: 1, information: 120 },
    },
    games: [game('g1', 1), game('g2', 2)],
    observers: [],
    assignments: [seen],
  };
}

describe('coverage', () => {
  const of = (shares: Readonly<Record<string, number>>) => {
    const { crews, officials: all } = coverageOf(season(shares), spread);
    return { crew: crews[0]!, a: all.find(({ id }) => id === 'a')!, b: all.find(({ id }) => id === 'b')! };
  };

  it('says of each official what share of their chances was watched, and whom nobody watched is not seen', () => {
    const { crew, a, b } = of({ a: 1, b: 0 });
    expect([crew.watchedShare, a.watchedShare, b.watchedShare]).toEqual([0.5, 1, 0]);
    expect(crew.timesSeen).toBe(1);
    expect(b.errorNow).toBeNull();
    expect(a.errorNow).not.toBeNull();
  });

  it('is less sure of a grade when less of the game was watched', () => {
    const errors = [1, 0.5, 0.1].map((share) => of({ a: share, b: 1 }).a.errorNow!);
    expect(errors[0]!).toBeLessThan(errors[1]!);
    expect(errors[1]!).toBeLessThan(errors[2]!);
    expect(errors[2]!).toBeLessThanOrEqual(spread.official);
  });

  it('is planned on by the chances watched, not by the evenings', () => {
    const standing = (shares: Readonly<Record<string, number>> | null) =>
      planningProblemOf(season(shares), { week: 2, rest: true }, spread).standing;
    expect(standing({ a: 0.25, b: 0.75 })).toMatchObject([{ gameId: 'g1', watchedShare: 0.5 }]);
    // Not filed yet: it is taken that everything will have been watched.
    expect(standing(null)).toMatchObject([{ watchedShare: 1 }]);
  });
});
