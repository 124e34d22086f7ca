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

async function readCounts(
  db: Queryable,
  name: string,
  { games, officials = 'true' }: { games: string; officials?: string },
  values: readonly string[],
): Promise<SeasonCount[]> {
  const { rows } = await db.query<SeasonCount & { judged: JudgedCalls | null }>({
    name,
    text: `
      WITH watchers AS (
        SELECT r.game_id, c.person_id, array_agg(DISTINCT r.observer_id) AS observers
          FROM game g
          JOIN report r ON r.conference_id = g.conference_id AND r.game_id = g.id AND r.state = 'released'
          JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id AND c.opportunities > 0
         WHERE g.conference_id = $1 AND ${games} AND ${officials}
         GROUP BY r.game_id, c.person_id)
      SELECT c.person_id AS "personId", c.position, g.id AS "gameId", g.week, g.crew_id AS "crewId",
             coalesce(w.observers, '{}') AS "observerIds", c.duty_key AS "dutyKey", d.category,
             d.graded_as AS "gradedAs", d.weight, c.opportunities, c.not_met AS "notMet",
             c.not_counted AS "notCounted", c.differed, c.model, ${judgedCalls('c', 'v')} AS judged
        FROM game g
        JOIN game_count c ON c.conference_id = g.conference_id AND c.game_id = g.id
        JOIN rubric_version v ON v.conference_id = c.conference_id AND v.id = c.rubric_version_id
        JOIN duty d ON d.conference_id = c.conference_id AND d.rubric_version_id = c.rubric_version_id
                   AND d.key = c.duty_key
        LEFT JOIN watchers w ON w.game_id = c.game_id AND w.person_id = c.person_id
       WHERE g.conference_id = $1 AND ${games} AND ${officials}
       ORDER BY c.person_id, c.position, g.week, g.id, c.duty_key`,
    values: [...values],
  });
  return rows.map(({ judged, ...row }) => ({ ...row, cost: costWith(row.notMet, judged) }));
}

/** Reads the counts of every released report of a season, one by one: what the grading model would take. */
export async function readReportCounts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ReportCount[]> {
  const { rows } = await db.query<ReportCount & { judged: JudgedCalls | null }>({
    name: 'report-counts',
    text: `
      SELECT c.person_id AS "personId", c.position, r.id AS "reportId", r.observer_id AS "observerId",
             r.game_id AS "gameId", g.week, g.crew_id AS "crewId", c.duty_key AS "dutyKey", d.category,
             d.graded_as AS "gradedAs", d.weight, c.opportunities, c.not_met AS "notMet",
             c.not_counted AS "notCounted", c.model, ${judgedCalls('c', 'v')} AS judged
        FROM report r
        JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
        JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
        JOIN rubric_version v ON v.conference_id = r.conference_id AND v.id = r.rubric_version_id
        JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
                   AND d.key = c.duty_key
       WHERE r.conference_id = $1 AND r.state = 'released' AND c.opportunities > 0 AND r.season_id = $2
       ORDER BY c.person_id, c.position, g.week, r.id, c.duty_key`,
    values: [conferenceId, seasonId],
  });
  return rows.map(({ judged, ...row }) => ({ ...row, cost: costWith(row.notMet, judged) }));
}
