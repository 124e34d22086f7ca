import { randomUUID } from 'node:crypto';
import type { Role } from '../../server/accounts/roles.ts';
import type { Queryable } from '../../server/database/transaction.ts';

/** Makes a conference of its own for a test. @returns its id. */
export async function makeConference(db: Queryable, name = 'Test Conference'): Promise<string> {
  const { rows } = await db.query('INSERT INTO conference (slug, name) VALUES ($1, $2) RETURNING id', [
    `test-${randomUUID()}`,
    name,
  ]);
  return rows[0].id;
}

export type TestPerson = { conferenceId: string; personId: string; email: string };

/** Makes a person with roles in a conference, without a password. */
export async function makePerson(
  db: Queryable,
  conferenceId: string,
  roles: Role[],
  person: { email?: string; givenName?: string; familyName?: string; passwordHash?: string } = {},
): Promise<TestPerson> {
  const email = person.email ?? `${randomUUID()}@example.test`;
  const { rows } = await db.query(
    `INSERT INTO person (conference_id, email, given_name, family_name, password_hash)
     VALUES ($1, $2, $3, $4, $5) RETURNING id`,
    [
      conferenceId,
      email,
      person.givenName ?? 'Test',
      person.familyName ?? 'Person',
      person.passwordHash ?? null,
    ],
  );
  const personId: string = rows[0].id;
  for (const role of roles) {
    await db.query('INSERT INTO person_role (conference_id, person_id, role) VALUES ($1, $2, $3)', [
      conferenceId,
      personId,
      role,
    ]);
  }
  return { conferenceId, personId, email };
}
