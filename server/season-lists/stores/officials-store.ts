import type { Queryable } from '../../database/transaction.ts';
import { holdsAll } from '../search-words.ts';

interface OfficialLine {
  readonly id: string;
  readonly name: string;
  readonly email: string;
  /** Positions worked or planned in the season, the most frequent first. */
  readonly positions: readonly string[];
  readonly crews: readonly string[];
  readonly games: number;
  /** Games with a released report that counts them. */
  readonly evaluated: number;
}

/** What is asked of a season's officials; null: any. */
interface OfficialsWanted {
  readonly patterns: readonly string[];
  readonly position: string | null;
  readonly crewId: string | null;
}

// Officials of the conference who have not left before the season, and whoever else worked in it.
const found = `
  WITH worked AS (
    SELECT w.person_id, w.position, count(*)::int AS games FROM working_crew_member w
      JOIN game g ON g.conference_id = $1 AND g.id = w.game_id AND g.season_id = $2
     WHERE w.conference_id = $1 GROUP BY w.person_id, w.position),
  member AS (
    SELECT m.person_id, m.position, c.id AS crew_id, c.name AS crew FROM crew_member m
      JOIN crew c ON c.conference_id = $1 AND c.id = m.crew_id AND c.season_id = $2
     WHERE m.conference_id = $1),
  found AS (
    SELECT p.id, p.given_name || ' ' || p.family_name AS name, p.email, p.family_name, p.given_name,
           ARRAY(SELECT x.position FROM (SELECT position, games FROM worked w WHERE w.person_id = p.id
                    UNION ALL SELECT position, 0 FROM member m WHERE m.person_id = p.id) x
                  GROUP BY x.position ORDER BY sum(x.games) DESC, x.position) AS positions,
           ARRAY(SELECT m.crew FROM member m WHERE m.person_id = p.id ORDER BY m.crew) AS crews,
           (SELECT coalesce(sum(w.games), 0)::int FROM worked w WHERE w.person_id = p.id) AS games
      FROM person p
     WHERE p.conference_id = $1
       AND (EXISTS (SELECT FROM worked w WHERE w.person_id = p.id)
            OR p.active AND EXISTS (SELECT FROM person_role r WHERE r.conference_id = $1 AND r.person_id = p.id
                                       AND r.role = 'official')
               AND NOT EXISTS (SELECT FROM season_departure d WHERE d.conference_id = $1 AND d.season_id = $2
                                  AND d.person_id = p.id))
       AND ($5::uuid IS NULL OR EXISTS (SELECT FROM member m WHERE m.person_id = p.id AND m.crew_id = $5))),
  wanted AS (
    SELECT * FROM found f
     WHERE ($4::text IS NULL OR $4 = ANY (f.positions))
       AND ${holdsAll(`concat_ws(' ', f.name, f.email, array_to_string(f.positions, ' '), array_to_string(f.crews, ' '))`, '$3')})`;

const values = (conferenceId: string, seasonId: string, { patterns, position, crewId }: OfficialsWanted) => [
  conferenceId,
  seasonId,
  patterns,
  position,
  crewId,
];

export async function countOfficials(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  wanted: OfficialsWanted,
): Promise<number> {
  const { rows } = await db.query<{ count: number }>(
    `${found} SELECT count(*)::int AS count FROM wanted`,
    values(conferenceId, seasonId, wanted),
  );
  return rows[0]!.count;
}

/** Officials of a season by name. */
export async function listOfficials(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  wanted: OfficialsWanted,
  { limit, offset }: { limit: number; offset: number },
): Promise<OfficialLine[]> {
  const { rows } = await db.query<OfficialLine>(
    `${found}
     SELECT w.id, w.name, w.email, w.positions, w.crews, w.games,
            (SELECT count(DISTINCT n.game_id)::int FROM game_count n
               JOIN game g ON g.conference_id = $1 AND g.id = n.game_id AND g.season_id = $2
              WHERE n.conference_id = $1 AND n.person_id = w.id) AS evaluated
       FROM (SELECT * FROM wanted ORDER BY family_name, given_name, id LIMIT $6 OFFSET $7) w
      ORDER BY w.family_name, w.given_name, w.id`,
    [...values(conferenceId, seasonId, wanted), limit, offset],
  );
  return rows;
}
