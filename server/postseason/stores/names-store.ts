import type { Queryable } from '../../database/transaction.ts';

/** Names by id. */
export interface Names {
  readonly people: ReadonlyMap<string, string>;
  readonly teams: ReadonlyMap<string, string>;
  readonly venues: ReadonlyMap<string, string>;
}

/** The names of a conference's people, teams and venues, each in the order of the alphabet. */
export async function readNames(db: Queryable, conferenceId: string): Promise<Names> {
  const named = async (sql: string) => {
    const { rows } = await db.query<{ id: string; name: string }>(sql, [conferenceId]);
    return new Map(rows.map(({ id, name }) => [id, name]));
  };
  return {
    people: await named(
      `SELECT id, given_name || ' ' || family_name AS name FROM person WHERE conference_id = $1
        ORDER BY family_name, given_name, id`,
    ),
    teams: await named('SELECT id, name FROM team WHERE conference_id = $1 ORDER BY name'),
    venues: await named('SELECT id, name FROM venue WHERE conference_id = $1 ORDER BY name'),
  };
}

/** Those of a conference's officials who are there, by name. */
export async function readOfficialsToChoose(
  db: Queryable,
  conferenceId: string,
): Promise<{ id: string; name: string }[]> {
  const { rows } = await db.query<{ id: string; name: string }>(
    `SELECT p.id, p.given_name || ' ' || p.family_name AS name
       FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
      WHERE p.conference_id = $1 AND r.role = 'official' AND p.active
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId],
  );
  return rows;
}
