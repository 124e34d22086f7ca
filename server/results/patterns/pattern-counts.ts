import type { Queryable } from '../../database/transaction.ts';
import type { CountRow } from '../../patterns/counts.ts';
import type { DatedCount } from '../../patterns/follow-up/looks.ts';

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

// Who saw the official in the game: one observer, or the pair of them as a stratum of its own (see `CountRow`).
const watchers = (games: string) => `
  SELECT r.game_id, c.person_id, string_agg(DISTINCT r.observer_id::text, '+' ORDER BY r.observer_id::text) AS observers
    FROM game g
    JOIN report r ON r.conference_id = g.conference_id AND r.game_id = g.id AND r.state = 'released'
    JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id AND c.opportunities > 0
   WHERE g.conference_id = $1 AND g.season_id = $2 AND ${games}
   GROUP BY r.game_id, c.person_id`;

const columns = (cut: string) => `
  c.person_id AS official, c.position, coalesce(g.crew_id::text, '') AS crew, g.id AS game, g.week,
  w.observers AS observer, c.duty_key AS duty, ${cut} AS "situationCut",
  c.opportunities - c.not_counted AS opportunities, c.not_met AS misses, c.model`;

const joins = (table: string) => `
  FROM game g
  JOIN ${table} c ON c.conference_id = g.conference_id AND c.game_id = g.id
  JOIN watchers w ON w.game_id = c.game_id AND w.person_id = c.person_id`;

/**
 * Counts of every game of a season with a released report, each chance once, whole duties and cuts: the input of
 * `findPatterns`.
 */
export async function readPatternCounts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<CountRow[]> {
  const { rows } = await db.query<CountRow>({
    name: 'pattern-counts',
    text: `
      WITH watchers AS MATERIALIZED (${watchers('true')})
      SELECT ${columns('NULL')} ${joins('game_count')} WHERE g.conference_id = $1 AND g.season_id = $2
      UNION ALL
      SELECT ${columns('c.situation_cut')} ${joins('cut_count')} WHERE g.conference_id = $1 AND g.season_id = $2`,
    values: [conferenceId, seasonId],
  });
  return rows;
}

/** Counts of whole duties of every game of a season with a released report, each with the day where it was played. */
export async function readDatedCounts(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<DatedCount[]> {
  const { rows } = await db.query<DatedCount>(
    `WITH watchers AS MATERIALIZED (${watchers('true')})
     SELECT ${columns('NULL')}, to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD') AS day ${joins('game_count')}
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
      WHERE g.conference_id = $1 AND g.season_id = $2`,
    [conferenceId, seasonId],
  );
  return rows;
}

export interface DutyAtPosition {
  conferenceId: string;
  seasonId: string;
  dutyKey: string;
  position: string;
  /** Empty for the whole duty. */
  situationCut: string;
}

/** Everybody's counts of one duty (or cut of it) at one position, each with the day of the game where it was played. */
export async function readDutyCounts(db: Queryable, of: DutyAtPosition): Promise<DatedCount[]> {
  const whole = of.situationCut === '';
  const { rows } = await db.query<DatedCount>(
    `WITH watchers AS MATERIALIZED (${watchers('c.position = $4')})
     SELECT ${columns(whole ? 'NULL' : 'c.situation_cut')},
            to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD') AS day
       ${joins(whole ? 'game_count' : 'cut_count')}
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
      WHERE g.conference_id = $1 AND g.season_id = $2 AND c.duty_key = $3 AND c.position = $4
        ${whole ? '' : 'AND c.situation_cut = $5'}`,
    [of.conferenceId, of.seasonId, of.dutyKey, of.position, ...(whole ? [] : [of.situationCut])],
  );
  return rows;
}
