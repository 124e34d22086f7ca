import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import type { WeightedCount } from '../../grading/game-grade.ts';
import type { GradedGame } from '../../grading/season-model.ts';
import { dutyCountOf } from './duty-count.ts';
import { gathered } from './gathered.ts';
import type { SeasonCount } from './season-counts.ts';

/** What one official's grade in one released report rests on: a row of the season model. */
export interface GradingRow extends GradedGame {
  position: Position;
  reportId: string;
  week: number;
  /** How many duties were counted. */
  duties: number;
}

/** The sums of one weight. */
type WeightSums = Omit<GradingRow, 'counts'> & WeightedCount;

/**
 * Reads a season's released reports for grading: by official, position, week and report. Duties of like weight are
 * added up in the database, since a grade only asks for the sums: a ninth of the rows of `readSeasonCounts`. A cap on
 * categories, which no setting asks for yet, would need them here.
 */
export async function readGradingRows(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<GradingRow[]> {
  const { rows: found } = await db.query<WeightSums>({
    name: 'grading-rows',
    text: `
      WITH weighed AS (
        SELECT c.person_id, c.position, r.id AS report_id, r.observer_id, r.game_id, d.weight,
               count(*)::int AS duties, sum(c.opportunities - c.not_counted)::int AS opportunities,
               sum(c.opportunities - c.not_counted - c.not_met)::int AS met
          FROM report r
          JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
          JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
                     AND d.key = c.duty_key
         WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'
         GROUP BY c.person_id, c.position, r.id, r.observer_id, r.game_id, d.weight)
      SELECT w.person_id AS official, w.position, w.observer_id AS observer, w.game_id AS game, g.week,
             w.report_id AS "reportId", w.weight, w.duties, w.opportunities, w.met
        FROM weighed w
        JOIN game g ON g.conference_id = $1 AND g.id = w.game_id
       ORDER BY w.person_id, w.position, g.week, w.report_id, w.weight`,
    values: [conferenceId, seasonId],
  });
  const rows: GradingRow[] = [];
  let counts: WeightedCount[] = [];
  for (const { weight, opportunities, met, duties, ...of } of found) {
    const last = rows.at(-1);
    if (
      last &&
      last.reportId === of.reportId &&
      last.official === of.official &&
      last.position === of.position
    ) {
      last.duties += duties;
    } else {
      counts = [];
      rows.push({ ...of, duties, counts });
    }
    counts.push({ weight, opportunities, met });
  }
  return rows;
}

/** The same from counts by duty, whose weights may have been changed. */
export function gradingRowsOf(counts: readonly SeasonCount[]): GradingRow[] {
  return gathered(counts, (row) => `${row.reportId} ${row.personId} ${row.position}`).map((rows) => ({
    official: rows[0]!.personId,
    position: rows[0]!.position,
    game: rows[0]!.gameId,
    observer: rows[0]!.observerId,
    week: rows[0]!.week,
    reportId: rows[0]!.reportId,
    duties: rows.length,
    counts: rows.map(dutyCountOf),
  }));
}
