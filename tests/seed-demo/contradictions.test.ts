import { beforeAll, describe, expect, it } from 'vitest';
import { Draws } from '../../seed-demo/draws.ts';
import { contradictionsIn } from '../../server/football/contradictions/index.ts';
import type { Play } from '../../server/football/play.ts';
import { type Position, positions } from '../../server/football/positions.ts';
import { demoSeason } from '../support/demo-season.ts';

type Log = readonly { readonly number: number; readonly play: Play }[];
let games: { key: string; log: Log; crew: Position[] }[];
beforeAll(() => {
  const season = demoSeason();
  games = [...season.plays].map(([key, log]) => {
    const worked = season.games.find((game) => game.key === key)!.workingCrew;
    return { key, log, crew: positions.filter((position) => worked[position] !== undefined) };
  });
});

describe("the demo season's play logs", () => {
  it('contradict themselves nowhere', () => {
    const told = games.flatMap(({ key, log, crew }) =>
      contradictionsIn(log, crew).map((one) => `${key} play ${one.number}: ${one.says}`),
    );
    expect(told).toEqual([]);
  });

  /** The share of slips that are found when one play of a game is wrong, over four games' plays. */
  function shareFound(slip: (play: Play, draws: Draws) => Play | undefined): number {
    const draws = new Draws(15);
    let planted = 0;
    let found = 0;
    for (const { log, crew } of games.slice(0, 4)) {
      for (const [at, { number, play }] of log.entries()) {
        const wrong = slip(play, draws);
        if (wrong === undefined) continue;
        planted++;
        const near = [
          ...log.slice(Math.max(0, at - 2), at),
          { number, play: wrong },
          ...log.slice(at + 1, at + 3),
        ];
        if (contradictionsIn(near, crew).length > 0) found++;
      }
    }
    expect(planted).toBeGreaterThan(100);
    return found / planted;
  }

  // Slips beside a penalty, a score or the start of a half cannot be told; the rest nearly all are.
  it.each([
    [
      'a dead-ball spot ten yards off',
      0.7,
      (play: Play) => {
        const off = play.endSpot! > 50 ? play.endSpot! - 10 : play.endSpot! + 10;
        return (play.kind === 'run' || play.kind === 'pass') && play.endSpot! > 0 && play.endSpot! < 100
          ? { ...play, endSpot: off }
          : undefined;
      },
    ],
    [
      'a down one off',
      0.7,
      (play: Play) =>
        play.down === undefined || play.kind === 'no snap'
          ? undefined
          : { ...play, down: play.down === 4 ? 3 : play.down + 1 },
    ],
    [
      'a spot on the other side of midfield',
      0.8,
      (play: Play) =>
        play.down === undefined || Math.abs(play.spot - 50) < 3
          ? undefined
          : { ...play, spot: 100 - play.spot },
    ],
    [
      'a clock two minutes too early',
      0.8,
      (play: Play) =>
        play.clockSeconds === undefined || play.clockSeconds < 180 || play.clockSeconds > 720
          ? undefined
          : { ...play, clockSeconds: play.clockSeconds + 120 },
    ],
  ] as const)('show %s', (what, atLeast, slip) => {
    const share = shareFound(slip);
    console.info(`${what}: ${(100 * share).toFixed(0)} % found`);
    expect(share).toBeGreaterThanOrEqual(atLeast);
  });
});
