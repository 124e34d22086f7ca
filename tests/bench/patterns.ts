import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { Calculator } from '../../server/results/calculator.ts';
import { readPatternCounts } from '../../server/results/patterns/pattern-counts.ts';
import { seasonResults } from '../../server/results/season-results.ts';
import { withDemoDatabase } from './demo-database.ts';
import type { Measurement } from './measurement.ts';
import { simulateSeason } from './simulated-counts.ts';

const rounds = 15;

/**
 * Whole-season patterns of the demo conference (officials, crews, weeks, strengths, every cut) beside the SQL
 * aggregate of the same counts; then how finding grows from one conference's season to 100 conferences × 10 seasons.
 */
export async function patterns(): Promise<Measurement[]> {
  const calculator = new Calculator();
  await calculator.start();
  const demo = await withDemoDatabase(async ({ pool }, { conferenceId, seasonId }) => {
    const results = seasonResults(pool, calculator);
    const cutting = await timed(() => results.cutsUpToDate(conferenceId, seasonId));
    await pool.query('ANALYZE');
    const rows = await readPatternCounts(pool, conferenceId, seasonId);
    const aggregate = () =>
      pool.query(
        `SELECT person_id, position, duty_key, cut, sum(opportunities - not_counted), sum(not_met), sum(model),
                count(DISTINCT game_id) FILTER (WHERE not_met > 0)
           FROM (SELECT c.game_id, c.person_id, c.position, c.duty_key, NULL AS cut, c.opportunities, c.not_counted,
                        c.not_met, c.model
                   FROM game g JOIN game_count c ON c.conference_id = g.conference_id AND c.game_id = g.id
                  WHERE g.conference_id = $1 AND g.season_id = $2
                 UNION ALL
                 SELECT c.game_id, c.person_id, c.position, c.duty_key, c.situation_cut, c.opportunities, c.not_counted,
                        c.not_met, c.model
                   FROM game g JOIN cut_count c ON c.conference_id = g.conference_id AND c.game_id = g.id
                  WHERE g.conference_id = $1 AND g.season_id = $2) counts
          GROUP BY person_id, position, duty_key, cut`,
        [conferenceId, seasonId],
      );
    const move = () =>
      pool.query('UPDATE season SET input_revision = input_revision + 1 WHERE id = $1', [seasonId]);
    return {
      rows: rows.length,
      cutting,
      aggregate: await typical(aggregate),
      read: await typical(() => readPatternCounts(pool, conferenceId, seasonId)),
      find: await typical(async () => findPatterns(rows)),
      anew: await typical(() => results.patternsOf(conferenceId, seasonId), move),
      kept: await typical(() => results.patternsOf(conferenceId, seasonId)),
    };
  });
  await calculator.close();
  const beside = (what: string, value: number): Measurement => ({
    name: `patterns: demo season (${demo.rows} counts), ${what}`,
    value,
    unit: 'ms',
    against: `the SQL aggregate of its counts, ${demo.aggregate.toFixed(1)} ms`,
    ratio: value / demo.aggregate,
  });
  return [
    beside('all patterns from counts in memory', demo.find),
    beside('reading the counts', demo.read),
    beside('a request after a change: read, found, kept', demo.anew),
    beside('a request with nothing changed', demo.kept),
    {
      name: 'patterns: demo season, cutting all released reports by situation, once after release',
      value: demo.cutting,
      unit: 'ms',
      against: null,
      ratio: null,
    },
    ...growth(),
  ];
}

/** Seasons one after another, as they are asked for: 1, 100 (conferences) and 1,000 (100 conferences × 10 seasons). */
function growth(): Measurement[] {
  const body = [1, 2, 3, 4].map((seed) => simulateSeason(seed));
  for (const rows of body) findPatterns(rows);
  const sizes = [10, 100, 1000];
  const each = sizes.map((seasons) => {
    const before = process.cpuUsage();
    for (let i = 0; i < seasons; i++) findPatterns(body[i % body.length]!);
    const used = process.cpuUsage(before);
    return (used.user + used.system) / 1000 / seasons;
  });
  return sizes.map((seasons, i) => ({
    name: `patterns: ${seasons} seasons of ${body[0]!.length} counts, processor time a season`,
    value: each[i]!,
    unit: 'ms',
    against: `that of ${sizes[0]} seasons, ${each[0]!.toFixed(1)} ms`,
    ratio: each[i]! / each[0]!,
  }));
}

async function timed(work: () => Promise<unknown>): Promise<number> {
  const begun = performance.now();
  await work();
  return performance.now() - begun;
}

/** Median of several rounds after two that warm up. */
async function typical(
  work: () => Promise<unknown>,
  before: () => Promise<unknown> = async () => {},
): Promise<number> {
  const times: number[] = [];
  for (let round = -2; round < rounds; round++) {
    await before();
    const time = await timed(work);
    if (round >= 0) times.push(time);
  }
  return times.sort((a, b) => a - b)[Math.floor(rounds / 2)]!;
}
