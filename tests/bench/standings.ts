import { gradeWholeSeason } from '../../server/grading/season-model.ts';
import { Grader } from '../../server/standings/grader.ts';
import { readSeasonCounts } from '../../server/standings/season-counts.ts';
import { currentStandings, gradeCounts } from '../../server/standings/season-standings.ts';
import { withDemoDatabase } from './demo-database.ts';
import type { Measurement } from './measurement.ts';
import { ordinarySeason, simulateSeason } from './simulated-season.ts';

const goal = 100;
const rounds = 15;

/**
 * Standings of the demo season, all positions with ranks, found anew: beside the SQL that reads their input and
 * beside the goal of 100 ms. Then how grading grows from 50 to 5,000 games.
 */
export async function standings(): Promise<Measurement[]> {
  const demo = await withDemoDatabase(async ({ pool }, { conferenceId, seasonId }) => {
    const settings = { minimumGames: 3, minimumOpportunities: 100, places: 2 };
    const here = {
      grade: async (...input: Parameters<typeof gradeWholeSeason>) => gradeWholeSeason(...input),
    };
    const counts = await readSeasonCounts(pool, conferenceId, seasonId);
    const grader = new Grader();
    try {
      return {
        read: await typical(() => readSeasonCounts(pool, conferenceId, seasonId)),
        once: await typical(async () => gradeOnce(counts)),
        both: await typical(() => gradeCounts(here, counts, settings, 1)),
        anew: await typical(
          () => currentStandings(pool, grader, conferenceId, seasonId),
          () => pool.query('UPDATE season SET input_revision = input_revision + 1 WHERE id = $1', [seasonId]),
        ),
        kept: await typical(() => currentStandings(pool, grader, conferenceId, seasonId)),
      };
    } finally {
      await grader.close();
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
    beside('a request with nothing changed', demo.kept),
    ...(await growth()),
  ];
}

function gradeOnce(counts: Awaited<ReturnType<typeof readSeasonCounts>>) {
  const once = { grade: async (...input: Parameters<typeof gradeWholeSeason>) => gradeWholeSeason(...input) };
  // One week only, so that there is no week before.
  return gradeCounts(
    once,
    counts.map((row) => ({ ...row, week: 1 })),
    { minimumGames: 3, minimumOpportunities: 100, places: 2 },
    1,
  );
}

/** Seasons of a growing body: for each 50 games a conference of eight crews and fourteen observers, fitted at once. */
async function growth(): Promise<Measurement[]> {
  const sizes = [50, 500, 5000];
  const seconds: number[] = [];
  for (const games of sizes) {
    const { rows } = simulateSeason(
      { ...ordinarySeason, games, parts: games / 50, crews: (8 * games) / 50, observers: (14 * games) / 50 },
      games,
    );
    const settings = { minimumGames: 3, minimumOpportunities: 100, top: 2, seed: 1 };
    const before = performance.now();
    gradeWholeSeason(rows, settings);
    seconds.push((performance.now() - before) / 1000);
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

/** Median of several rounds, in ms, after two to warm up. */
async function typical(work: () => Promise<unknown>, prepare?: () => Promise<unknown>): Promise<number> {
  const times: number[] = [];
  for (let round = -2; round < rounds; round += 1) {
    await prepare?.();
    const before = performance.now();
    await work();
    if (round >= 0) times.push(performance.now() - before);
  }
  return times.sort((a, b) => a - b)[Math.floor(rounds / 2)]!;
}
