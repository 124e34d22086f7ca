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
