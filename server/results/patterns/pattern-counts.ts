import type { Queryable } from '../../database/transaction.ts';
import type { CountRow } from '../../patterns/counts.ts';

/** A duty as the newest rubric version of the season that has it words and weighs it. */
export interface DutyName {
  key: string;
  title: string;
  weight: number;
  category: string;
  guidance: string;
}

/** SQL of a season's duties, each as its newest rubric version has it. */
export const dutiesOfSeason = (columns: string, conferenceId: string, seasonId: string) => `
  SELECT DISTINCT ON (d.key) ${columns}
    FROM duty d
    JOIN rubric_version v ON v.conference_id = d.conference_id AND v.id = d.rubric_version_id
   WHERE v.conference_id = ${conferenceId} AND v.season_id = ${seasonId} ORDER BY d.key, v.number DESC`;

export async function readDuties(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<Map<string, DutyName>> {
  const { rows } = await db.query<DutyName>(
    dutiesOfSeason(
      "d.key, d.title, d.weight, d.category, coalesce(d.definition->>'guidance', '') AS guidance",
      '$1',
      '$2',
    ),
    [conferenceId, seasonId],
  );
  return new Map(rows.map((row) => [row.key, row]));
}

const columns = (cut: string) => `
  c.person_id AS official, c.position, coalesce(g.crew_id::text, '') AS crew, r.game_id AS game, g.week,
  r.observer_id AS observer, c.duty_key AS duty, ${cut} AS "situationCut",
  c.opportunities - c.not_counted AS opportunities, c.not_met AS misses, c.model`;

const joins = (table: string) => `
  FROM report r
  JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
  JOIN ${table} c ON c.conference_id = r.conference_id AND c.report_id = r.id`;

/** Counts of every released report of a season, whole duties and cuts: the input of `findPatterns`. */
export async function readPatternCounts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<CountRow[]> {
  const { rows } = await db.query<CountRow>({
    name: 'pattern-counts',
    text: `
      SELECT ${columns('NULL')} ${joins('opportunity_count')}
       WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'
      UNION ALL
      SELECT ${columns('c.situation_cut')} ${joins('cut_count')}
       WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'`,
    values: [conferenceId, seasonId],
  });
  return rows;
}

/**
 * For each official and game the one released report that patterns count where two observers saw it: the rule of
 * `prepareCounts`, for queries about part of a season ($1 conference, $2 season). `who` narrows it to some officials;
 * it must keep all of an official's counts of a game or none.
 */
export const countedReports = (who: string) => `
  SELECT DISTINCT ON (r.game_id, c.person_id) r.id AS report_id, c.person_id, r.game_id, r.observer_id
    FROM report r
    JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
   WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND c.conference_id = $1 AND ${who}
   GROUP BY r.game_id, c.person_id, r.id, r.observer_id
   ORDER BY r.game_id, c.person_id, sum(c.opportunities - c.not_counted) DESC, r.observer_id`;

export interface DutyAtPosition {
  conferenceId: string;
  seasonId: string;
  dutyKey: string;
  position: string;
  /** Empty for the whole duty. */
  situationCut: string;
}

/** A count with the day of the game where it was played, YYYY-MM-DD. */
export interface DatedCountRow extends CountRow {
  day: string;
}

/** Everybody's counts of one duty (or cut of it) at one position, dated: what a development point is followed by. */
export async function readDutyCounts(db: Queryable, of: DutyAtPosition): Promise<DatedCountRow[]> {
  const whole = of.situationCut === '';
  // Tables are reached from the few counted reports outwards, so that the plan is right without statistics too.
  const { rows } = await db.query<DatedCountRow>(
    `WITH counted AS MATERIALIZED (${countedReports('c.position = $4')})
     SELECT c.person_id AS official, c.position, coalesce(g.crew_id::text, '') AS crew, k.game_id AS game, g.week,
            k.observer_id AS observer, c.duty_key AS duty, ${whole ? 'NULL' : 'c.situation_cut'} AS "situationCut",
            c.opportunities - c.not_counted AS opportunities, c.not_met AS misses, c.model,
            to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD') AS day
       FROM counted k
       JOIN ${whole ? 'opportunity_count' : 'cut_count'} c
         ON c.conference_id = $1 AND c.report_id = k.report_id AND c.person_id = k.person_id
       JOIN game g ON g.conference_id = $1 AND g.id = k.game_id
       JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
      WHERE c.duty_key = $3 AND c.position = $4 ${whole ? '' : 'AND c.situation_cut = $5'}`,
    [of.conferenceId, of.seasonId, of.dutyKey, of.position, ...(whole ? [] : [of.situationCut])],
  );
  return rows;
}
