import type pg from 'pg';

export type PersonName = { id: string; givenName: string; familyName: string };

/** The names of a conference's people by id, for pages that list many. */
export async function readPeople(
  db: Pick<pg.Pool, 'query'>,
  conferenceId: string,
): Promise<Map<string, PersonName>> {
  const { rows } = await db.query<PersonName>(
    'SELECT id, given_name AS "givenName", family_name AS "familyName" FROM person WHERE conference_id = $1',
    [conferenceId],
  );
  return new Map(rows.map((row) => [row.id, row]));
}
