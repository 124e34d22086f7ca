import type { PersonActing } from '../../accounts/acting.ts';
import { newToken, tokenHash } from '../../accounts/token.ts';
import type { Database } from '../../database/database.ts';
import type { Queryable } from '../../database/transaction.ts';

type Pool = Database['pool'];

/** Days after which a link in an e-mail no longer answers. */
const linkDays = 30;

/** Lets a token answer an assignment; earlier ones go on working until they expire. */
export async function keepAnswerLink(
  db: Queryable,
  conferenceId: string,
  assignmentId: string,
  token: string,
): Promise<void> {
  await db.query(
    `INSERT INTO assignment_link (conference_id, token_hash, assignment_id, expires_at)
     VALUES ($1, $2, $3, now() + make_interval(days => $4))`,
    [conferenceId, tokenHash(token), assignmentId, linkDays],
  );
}

export async function findAnswerLink(
  db: Queryable,
  token: string,
): Promise<{ conferenceId: string; assignmentId: string; observerId: string } | null> {
  const { rows } = await db.query<{ conference_id: string; assignment_id: string; observer_id: string }>(
    `SELECT l.conference_id, l.assignment_id, a.observer_id
       FROM assignment_link l
       JOIN observer_assignment a ON a.conference_id = l.conference_id AND a.id = l.assignment_id
       JOIN person p ON p.conference_id = a.conference_id AND p.id = a.observer_id
      WHERE l.token_hash = $1 AND l.expires_at > now() AND p.active`,
    [tokenHash(token)],
  );
  const row = rows[0];
  return row
    ? { conferenceId: row.conference_id, assignmentId: row.assignment_id, observerId: row.observer_id }
    : null;
}

/** Makes the observer's calendar address anew; the one before stops working. @returns the token for the address. */
export async function newCalendarToken(pool: Pool, actor: PersonActing): Promise<string> {
  const token = newToken();
  await pool.query(
    `INSERT INTO observer_profile (conference_id, person_id, calendar_token_hash) VALUES ($1, $2, $3)
     ON CONFLICT (conference_id, person_id) DO UPDATE SET calendar_token_hash = excluded.calendar_token_hash`,
    [actor.conferenceId, actor.personId, tokenHash(token)],
  );
  return token;
}

export async function findCalendarOwner(
  db: Queryable,
  token: string,
): Promise<{ conferenceId: string; conference: string; personId: string; name: string } | null> {
  const { rows } = await db.query<{
    conference_id: string;
    conference: string;
    person_id: string;
    name: string;
  }>(
    `SELECT o.conference_id, k.name AS conference, o.person_id, p.given_name || ' ' || p.family_name AS name
       FROM observer_profile o JOIN person p ON p.conference_id = o.conference_id AND p.id = o.person_id
       JOIN conference k ON k.id = o.conference_id
      WHERE o.calendar_token_hash = $1 AND p.active`,
    [tokenHash(token)],
  );
  const row = rows[0];
  return row
    ? {
        conferenceId: row.conference_id,
        conference: row.conference,
        personId: row.person_id,
        name: row.name,
      }
    : null;
}
