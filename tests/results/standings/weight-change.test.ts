import { describe, expect, it } from 'vitest';
import { gradeSeason } from '../../../server/grading/season-choice.ts';
import { standingsWithWeight } from '../../../server/results/standings/weight-change.ts';

const grader = { grade: async (...args: Parameters<typeof gradeSeason>) => gradeSeason(...args) };
const settings = { minimumGames: 1, minimumOpportunities: 1, places: 2 };

/** One row: who, in which game, how many of 20 were missed of a duty with weight 1. */
const row = (personId: string, game: number, dutyKey: string, notMet: number) => ({
  personId,
  position: 'umpire' as const,
  reportId: `report ${game} ${personId}`,
  observerId: `observer ${game % 3}`,
  observerIds: [`observer ${game % 3}`],
  gameId: `game ${game} ${personId}`,
  week: game,
  crewId: null,
  dutyKey,
  category: 'spotting',
  weight: 1,
  opportunities: 20,
  notMet,
  notCounted: 0,
  differed: 0,
  model: 0,
  gradedAs: 'mechanics' as const,
  cost: notMet,
});

// One is better at spots, the other at signals; both miss as much in all but for one signal.
const games = [1, 2, 3, 4, 5, 6];
const rows = games.flatMap((game) => [
  row('spotter', game, 'spot', 1),
  row('spotter', game, 'signal', 6),
  row('signaller', game, 'spot', 5),
  row('signaller', game, 'signal', 1),
]);
const counts = { reports: rows, games: rows };

const placesOf = (moved: Awaited<ReturnType<typeof standingsWithWeight>>) =>
  Object.fromEntries(moved.map((one) => [one.personId, [one.now.place, one.would.place]]));

describe('the standings with another weight', () => {
  it('put first who is better at the heavier duty, and change nothing', async () => {
    const before = structuredClone(counts);
    const moved = await standingsWithWeight(grader, counts, 'spot', 10, settings);
    expect(placesOf(moved)).toEqual({ spotter: [2, 1], signaller: [1, 2] });
    expect(counts).toEqual(before);
  });

  it('leave a duty out with weight 0', async () => {
    const moved = await standingsWithWeight(grader, counts, 'signal', 0, settings);
    const spotter = moved.find((one) => one.personId === 'spotter')!;
    // 1 of 20 spots missed, nothing else counted; 7 of 40 before.
    expect(spotter.now.raw).toBeCloseTo(82.5, 9);
    expect(spotter.would.raw).toBeCloseTo(95, 9);
  });

  it('are the same with the same weight, and empty without counts', async () => {
    for (const { now, would } of await standingsWithWeight(grader, counts, 'spot', 1, settings)) {
      expect(would).toEqual(now);
    }
    expect(await standingsWithWeight(grader, { reports: [], games: [] }, 'spot', 2, settings)).toEqual([]);
  });
});
