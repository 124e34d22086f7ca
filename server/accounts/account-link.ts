import type { Queryable } from '../database/transaction.ts';
import { newToken, tokenHash } from './token.ts';

/**
 * invitation: a new person sets their first password. reset: sets another. Minutes after the right password was given,
 * sign-in: chooses among conferences; second step: brings a code.
 */
type LinkPurpose = 'invitation' | 'reset' | 'sign-in' | 'second step';

/** How long a link works, in seconds. */
export const linkLifetime: Record<LinkPurpose, number> = {
  invitation: 14 * 24 * 3600,
  reset: 24 * 3600,
  'sign-in': 5 * 60,
  'second step': 10 * 60,
};

export type LinkedPerson = {
  conferenceId: string;
  conferenceName: string;
  personId: string;
  email: string;
  givenName: string;
  familyName: string;
  purpose: LinkPurpose;
};

/** When a link that is made now stops working. */
export const linkEnd = (lifetime: number): Date => new Date(Date.now() + lifetime * 1000);

type Person = { conferenceId: string; personId: string };

/**
 * Makes a link for a person; earlier ones of the kind stop working. Only its hash is kept.
 * @param lifetime in seconds
 * @param token where one was handed out before the link works
 * @returns the token, which cannot be shown again.
 */
export async function makeLink(
  db: Queryable,
  person: Person,
  purpose: LinkPurpose,
  lifetime: number = linkLifetime[purpose],
  token: string = newToken(),
): Promise<{ token: string; expiresAt: Date }> {
  if (purpose === 'invitation' || purpose === 'reset') await cancelLinks(db, person);
  const { rows } = await db.query<{ expires_at: Date }>(
    `INSERT INTO account_link (token_hash, conference_id, person_id, purpose, expires_at)
     VALUES ($1, $2, $3, $4, now() + make_interval(secs => $5)) RETURNING expires_at`,
    [tokenHash(token), person.conferenceId, person.personId, purpose, lifetime],
  );
  return { token, expiresAt: rows[0]!.expires_at };
}

/** Whose link this is, while it works; looking does not use it up. */
export async function findLink(
  db: Queryable,
  token: string,
  purposes: LinkPurpose[],
): Promise<LinkedPerson | null> {
  const { rows } = await db.query(
    `SELECT l.conference_id, c.name, l.person_id, p.email, p.given_name, p.family_name, l.purpose
       FROM account_link l
       JOIN person p ON p.conference_id = l.conference_id AND p.id = l.person_id
       JOIN conference c ON c.id = l.conference_id
      WHERE l.token_hash = $1 AND l.purpose = ANY ($2) AND l.used_at IS NULL AND l.expires_at > now() AND p.active`,
    [tokenHash(token), purposes],
  );
  const row = rows[0];
  if (!row) return null;
  return {
    conferenceId: row.conference_id,
    conferenceName: row.name,
    personId: row.person_id,
    email: row.email,
    givenName: row.given_name,
    familyName: row.family_name,
    purpose: row.purpose,
  };
}

/** Uses the link up. Of two at once only one gets true. */
export async function useLink(db: Queryable, token: string): Promise<boolean> {
  const { rowCount } = await db.query(
    'UPDATE account_link SET used_at = now() WHERE token_hash = $1 AND used_at IS NULL AND expires_at > now()',
    [tokenHash(token)],
  );
  return rowCount === 1;
}

/** Makes every unused link of a person worthless. */
export async function cancelLinks(db: Queryable, person: Person): Promise<void> {
  await db.query(
    'UPDATE account_link SET used_at = now() WHERE conference_id = $1 AND person_id = $2 AND used_at IS NULL',
    [person.conferenceId, person.personId],
  );
}

/** Clears out links that no longer matter; their making is in the audit trail. */
export async function removeOldLinks(db: Queryable): Promise<void> {
  await db.query("DELETE FROM account_link WHERE expires_at < now() - interval '30 days'");
}
