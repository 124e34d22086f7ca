import { gradeSeason } from '../../server/grading/season-choice.ts';
import { gradeWholeSeason } from '../../server/grading/season-model.ts';
import { Calculator } from '../../server/results/calculator.ts';
import { seasonResults } from '../../server/results/season-results.ts';
import { readGradingMaterial } from '../../server/results/standings/grading-rows.ts';
import { gradeMaterial } from '../../server/results/standings/season-standings.ts';
import { withDemoDatabase } from './demo-database.ts';
import type { Measurement } from './measurement.ts';
import { ordinarySeason, simulateSeason } from './simulated-season.ts';

const goal = 100;
const settings = { minimumGames: 3, minimumOpportunities: 100, places: 2 };

/**
 * Standings of the demo season, all positions with ranks, found anew: beside the SQL that reads their input and
 * beside the goal of 100 ms. Then how grading grows from 50 to 5,000 games.
 */
export async function standings(): Promise<Measurement[]> {
  const demo = await withDemoDatabase(async ({ pool }, { conferenceId, seasonId }) => {
    const here = {
      grade: async (...input: Parameters<typeof gradeSeason>) => gradeSeason(...input),
    };
    const material = await readGradingMaterial(pool, conferenceId, seasonId);
    // All in one week, so that there is no week before.
    const inOneWeek = <Row>(rows: readonly Row[]) => rows.map((row) => ({ ...row, week: 1 }));
    const oneWeek = {
      ...material,
      reports: inOneWeek(material.reports),
      games: inOneWeek(material.games),
    };
    const change = () =>
      pool.query('UPDATE season SET input_revision = input_revision + 1 WHERE id = $1', [seasonId]);
    let calculator = new Calculator();
    const request = () => seasonResults(pool, calculator).standingsOf(conferenceId, seasonId);
    try {
      return {
        cold: await typical({
          rounds: 5,
          warmUp: 0,
          async prepare() {
            await calculator.close();
            calculator = new Calculator();
            await calculator.start();
            await change();
          },
          work: request,
        }),
        read: await typical({ work: () => readGradingMaterial(pool, conferenceId, seasonId) }),
        once: await typical({ work: () => gradeMaterial(here, oneWeek, settings, 1) }),
        both: await typical({ work: () => gradeMaterial(here, material, settings, 1) }),
        anew: await typical({ prepare: change, work: request }),
        kept: await typical({ work: request }),
      };
    } finally {
      await calculator.close();
    }
  });
  const beside = (what: string, value: number): Measurement => ({
    name: `standings: demo season, ${what}`,
    value,
    unit: 'ms',
    against: `the SQL read of its input, ${demo.read.toFixed(1)} ms`,
    ratio: value / demo.read,
  });
  return [
    {
      name: 'standings: demo season, grades and ranks of all positions from their counts',
      value: demo.once,
      unit: 'ms',
      against: `the goal, ${goal} ms`,
      ratio: demo.once / goal,
    },
    beside('grades and ranks of all positions from their counts', demo.once),
    beside('the same with the week before, to tell what moved', demo.both),
    beside('a request after a change: read, graded in the thread, kept', demo.anew),
    beside('the first such request in a thread just started', demo.cold),
    beside('a request with nothing changed', demo.kept),
    ...(await growth()),
  ];
}

/** Seasons of a growing body: for each 50 games a conference of eight crews and fourteen observers, fitted at once. */
async function growth(): Promise<Measurement[]> {
  const sizes = [50, 500, 5000];
  const options = { minimumGames: 3, minimumOpportunities: 100, top: 2, seed: 1 };
  const seconds: number[] = [];
  for (const games of sizes) {
    const parts = games / 50;
    const { rows } = simulateSeason(
      { ...ordinarySeason, games, parts, crews: 8 * parts, observers: 14 * parts },
      games,
    );
    const several = games < 5000 ? { rounds: 7, warmUp: 3 } : { rounds: 3, warmUp: 0 };
    const work = async () => gradeWholeSeason(rows, options);
    seconds.push((await typical({ ...several, work })) / 1000);
  }
  return sizes.map((games, i) => ({
    name: `standings: ${games} games in conferences of 50, grades and ranks`,
    value: seconds[i]!,
    unit: 's',
    against:
      i === 0
        ? null
        : `games in proportion to ${sizes[0]}, ${((seconds[0]! * games) / sizes[0]!).toFixed(3)} s`,
    ratio: i === 0 ? null : seconds[i]! / ((seconds[0]! * games) / sizes[0]!),
  }));
}

/** Median of several rounds, in ms, after enough to have the code compiled; `prepare` is not timed. */
async function typical(of: {
  work: () => Promise<unknown>;
  prepare?: () => Promise<unknown>;
  rounds?: number;
  warmUp?: number;
}): Promise<number> {
  const { work, prepare, rounds = 15, warmUp = 20 } = of;
  const times: number[] = [];
  for (let round = -warmUp; round < rounds; round += 1) {
    await prepare?.();
    const before = performance.now();
    await work();
    if (round >= 0) times.push(performance.now() - before);
  }
  return times.sort((a, b) => a - b)[Math.floor(rounds / 2)]!;
}
