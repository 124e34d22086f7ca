import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import { costWith, type JudgedCalls, judgedCalls } from './judged-calls.ts';

/**
 * What one game counts for one official and duty, over all its released reports, with what is needed to grade and
 * compare it. Whatever people are shown is taken from these; the grading model takes `ReportCount`.
 */
export type SeasonCount = {
  personId: string;
  position: Position;
  gameId: string;
  week: number;
  crewId: string | null;
  /** Who watched this official there. */
  observerIds: string[];
  dutyKey: string;
  category: string;
  gradedAs: 'mechanics' | 'call';
  /** Weight in the rubric version that the game is counted under. */
  weight: number;
  /** All chances; those not seen, not told or judged differently are among them. */
  opportunities: number;
  notMet: number;
  notCounted: number;
  /** Those of `notCounted` that one observer marked as missed and another as done. */
  differed: number;
  model: number;
  /** What the misses cost, in opportunities, by the consequence weights of the same version. */
  cost: number;
};

/** The same of one released report. */
export type ReportCount = Omit<SeasonCount, 'observerIds' | 'differed'> & {
  reportId: string;
  observerId: string;
};

/**
 * Reads the counts of every game of a season with a released report, or those of one official: the input of letters
 * and explained grades (standings need less: `readGradingRows`).
 * Reports not yet released count nowhere, so that no grade rests on what its official has not been shown.
 */
export function readSeasonCounts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  personId?: string,
): Promise<SeasonCount[]> {
  return personId === undefined
    ? readCounts(db, 'season-counts', { games: 'g.season_id = $2' }, [conferenceId, seasonId])
    : readCounts(
        db,
        'season-counts-of-official',
        { games: 'g.season_id = $2', officials: 'c.person_id = $3' },
        [conferenceId, seasonId, personId],
      );
}

/** The same of one game. */
export function readGameCounts(db: Queryable, conferenceId: string, gameId: string): Promise<SeasonCount[]> {
  return readCounts(db, 'game-counts', { games: 'g.id = $2' }, [conferenceId, gameId]);
}

/**
 * What a duty is in each rubric version of the season, in one object to look it up in: joined with the counts, it would
 * be left to the planner how (see `grading-rows.ts`). As text, since nearly all rows have one of a few hundred.
 */
const duties = (season: string) => `duties AS MATERIALIZED (
        SELECT jsonb_object_agg(v.id || ' ' || d.key, jsonb_build_array(d.category, d.graded_as, d.weight)) AS by_key
          FROM rubric_version v
         CROSS JOIN LATERAL (SELECT key, category, graded_as, weight FROM duty
                              WHERE conference_id = $1 AND rubric_version_id = v.id OFFSET 0) d
         WHERE v.conference_id = $1 AND v.season_id = ${season})`;
const dutyOf = (version: string) => `(SELECT by_key FROM duties) ->> (${version} || ' ' || c.duty_key)`;
const judgedUnder = (version: string) =>
  judgedCalls('c', `(SELECT v FROM rubric_version v WHERE v.conference_id = $1 AND v.id = ${version})`);

type Found<Row> = Omit<Row, 'category' | 'gradedAs' | 'weight' | 'cost'> & {
  /** Category, way of grading and weight, in JSON. */
  duty: string;
  judged: JudgedCalls | null;
};

function withDuties<Row extends ReportCount | SeasonCount>(rows: readonly Found<Row>[]): Row[] {
  const read = new Map<string, [string, Row['gradedAs'], number]>();
  return rows.map(({ duty, judged, ...row }) => {
    const [category, gradedAs, weight] = read.get(duty) ?? JSON.parse(duty);
    if (!read.has(duty)) read.set(duty, [category, gradedAs, weight]);
    const cost = costWith((row as unknown as Row).notMet, judged);
    return { ...row, category, gradedAs, weight, cost } as unknown as Row;
  });
}

async function readCounts(
  db: Queryable,
  name: string,
  { games, officials = 'true' }: { games: string; officials?: string },
  values: readonly string[],
): Promise<SeasonCount[]> {
  const { rows } = await db.query<Found<SeasonCount>>({
    name,
    text: `
      WITH ${duties(`(SELECT g.season_id FROM game g WHERE g.conference_id = $1 AND ${games} LIMIT 1)`)}
      SELECT c.person_id AS "personId", c.position, g.id AS "gameId", g.week, g.crew_id AS "crewId",
             coalesce(w.observers -> c.person_id::text, '[]') AS "observerIds", c.duty_key AS "dutyKey",
             ${dutyOf('c.rubric_version_id')} AS duty, c.opportunities, c.not_met AS "notMet",
             c.not_counted AS "notCounted", c.differed, c.model, ${judgedUnder('c.rubric_version_id')} AS judged
        FROM (SELECT id, week, crew_id FROM game g WHERE g.conference_id = $1 AND ${games} OFFSET 0) g
       CROSS JOIN LATERAL (
         SELECT jsonb_object_agg(person_id, observers) AS observers
           FROM (SELECT c.person_id, jsonb_agg(DISTINCT r.observer_id) AS observers
                   FROM report r
                  CROSS JOIN LATERAL (SELECT DISTINCT person_id FROM opportunity_count c
                                       WHERE c.conference_id = $1 AND c.report_id = r.id AND c.opportunities > 0
                                         AND ${officials} OFFSET 0) c
                  WHERE r.conference_id = $1 AND r.game_id = g.id AND r.state = 'released'
                  GROUP BY c.person_id) watched) w
       CROSS JOIN LATERAL (SELECT * FROM game_count c
                            WHERE c.conference_id = $1 AND c.game_id = g.id AND ${officials} OFFSET 0) c
       ORDER BY c.person_id, c.position, g.week, g.id, c.duty_key`,
    values: [...values],
  });
  return withDuties<SeasonCount>(rows);
}

/** Reads the counts of every released report of a season, one by one: what the grading model would take. */
export async function readReportCounts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ReportCount[]> {
  const { rows } = await db.query<Found<ReportCount>>({
    name: 'report-counts',
    text: `
      WITH ${duties('$2')},
      released AS MATERIALIZED (
        SELECT r.id, r.observer_id, r.game_id, r.rubric_version_id, g.week, g.crew_id
          FROM report r JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
         WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released')
      SELECT c.person_id AS "personId", c.position, r.id AS "reportId", r.observer_id AS "observerId",
             r.game_id AS "gameId", r.week, r.crew_id AS "crewId", c.duty_key AS "dutyKey",
             ${dutyOf('r.rubric_version_id')} AS duty, c.opportunities, c.not_met AS "notMet",
             c.not_counted AS "notCounted", c.model, ${judgedUnder('r.rubric_version_id')} AS judged
        FROM released r
       CROSS JOIN LATERAL (SELECT * FROM opportunity_count
                            WHERE conference_id = $1 AND report_id = r.id AND opportunities > 0 OFFSET 0) c
       ORDER BY c.person_id, c.position, r.week, r.id, c.duty_key`,
    values: [conferenceId, seasonId],
  });
  return withDuties<ReportCount>(rows);
}
