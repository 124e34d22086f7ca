import type pg from 'pg';
import type { Position } from '../../football/positions.ts';

/** One official's count of one duty in one released report, with what is needed to grade and compare it. */
export type SeasonCount = {
  personId: string;
  position: Position;
  reportId: string;
  observerId: string;
  gameId: string;
  week: number;
  crewId: string | null;
  dutyKey: string;
  category: string;
  /** Weight in the rubric version that the report was filed under. */
  weight: number;
  /** All chances; those not seen or not told are among them. */
  opportunities: number;
  notMet: number;
  notCounted: number;
  model: number;
};

/**
 * Reads the counts of every released report of a season, or those of one official: the input of patterns, letters
 * and explained grades (standings need less: `readGradingRows`).
 * Reports not yet released count nowhere, so that no grade rests on what its official has not been shown.
 */
export async function readSeasonCounts(
  db: Pick<pg.Pool, 'query'>,
  conferenceId: string,
  seasonId: string,
  personId?: string,
): Promise<SeasonCount[]> {
  const { rows } = await db.query<SeasonCount>({
    name: personId === undefined ? 'season-counts' : 'season-counts-of-official',
    text: `
      SELECT c.person_id AS "personId", c.position, r.id AS "reportId", r.observer_id AS "observerId",
             r.game_id AS "gameId", g.week, g.crew_id AS "crewId", c.duty_key AS "dutyKey", d.category, d.weight,
             c.opportunities, c.not_met AS "notMet", c.not_counted AS "notCounted", c.model
        FROM report r
        JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
        JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
        JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
                   AND d.key = c.duty_key
       WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'
             ${personId === undefined ? '' : 'AND c.person_id = $3'}
       ORDER BY c.person_id, c.position, g.week, r.id, c.duty_key`,
    values: personId === undefined ? [conferenceId, seasonId] : [conferenceId, seasonId, personId],
  });
  return rows;
}
