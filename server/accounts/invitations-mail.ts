import type pg from 'pg';
import { inTransaction } from '../database/transaction.ts';
import { mailFailure, retryAfterMinutes } from '../mail/failure.ts';
import type { Mail, Mailer } from '../mail/mailer.ts';
import { moment } from '../web/format.ts';
import { makeLink } from './account-link.ts';
import { type Role, rolesText } from './roles.ts';

interface Due {
  conferenceId: string;
  personId: string;
  attempts: number;
  /** False when the person came or was deactivated while the mail waited. */
  wanted: boolean;
  name: string;
  email: string;
  roles: Role[];
  conference: string;
  timeZone: string;
  coordinator: string | null;
}

/**
 * Sends the next invitation that is due. Its link is made here and kept only when the mail server took the message:
 * a failure leaves the link the person had. A row lock keeps other processes off it.
 * @returns false when nothing is due.
 */
export async function sendNextInvitation(pool: pg.Pool, mailer: Mailer, address: string): Promise<boolean> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<Due>(
      `SELECT i.conference_id AS "conferenceId", i.person_id AS "personId", i.attempts,
              p.active AND p.password_hash IS NULL AS wanted, p.given_name || ' ' || p.family_name AS name, p.email,
              ARRAY(SELECT r.role FROM person_role r WHERE r.conference_id = p.conference_id AND r.person_id = p.id
                     ORDER BY r.role) AS roles,
              c.name AS conference, c.time_zone AS "timeZone",
              (SELECT a.given_name || ' ' || a.family_name FROM person a
                WHERE a.conference_id = i.conference_id AND a.id = i.asked_by) AS coordinator
         FROM invitation i
         JOIN person p ON p.conference_id = i.conference_id AND p.id = i.person_id
         JOIN conference c ON c.id = i.conference_id
        WHERE i.state = 'waiting' AND i.next_attempt <= now()
        ORDER BY i.next_attempt, i.person_id LIMIT 1 FOR UPDATE OF i SKIP LOCKED`,
    );
    const due = rows[0];
    if (!due) return false;
    const key = [due.conferenceId, due.personId];
    if (!due.wanted) {
      await client.query('DELETE FROM invitation WHERE conference_id = $1 AND person_id = $2', key);
      return true;
    }
    await client.query('SAVEPOINT link');
    const { token, expiresAt } = await makeLink(client, due, 'invitation');
    try {
      await mailer.send(invitationMail(due, `${address}/invitation/${token}`, expiresAt));
    } catch (error) {
      await client.query('ROLLBACK TO SAVEPOINT link');
      const { because, lasting } = mailFailure(error);
      const wait = lasting ? null : (retryAfterMinutes[due.attempts] ?? null);
      await client.query(
        `UPDATE invitation SET attempts = attempts + 1, last_error = $3,
                state = CASE WHEN $4::int IS NULL THEN 'failed' ELSE 'waiting' END,
                next_attempt = now() + coalesce($4::int, 0) * interval '1 minute'
          WHERE conference_id = $1 AND person_id = $2`,
        [...key, because, wait],
      );
      return true;
    }
    await client.query(
      `UPDATE invitation SET state = 'sent', attempts = attempts + 1, last_error = NULL, sent_at = now()
        WHERE conference_id = $1 AND person_id = $2`,
      key,
    );
    return true;
  });
}

function invitationMail(due: Due, link: string, expiresAt: Date): Mail {
  const who = due.coordinator ?? 'The coordinator';
  return {
    to: { name: due.name, address: due.email },
    subject: `${due.conference}: your invitation`,
    text: [
      `Dear ${due.name},`,
      '',
      `${who} invites you to ${due.conference} (${rolesText(due.roles)}). Choose your password here:`,
      '',
      link,
      '',
      `The link works once, until ${moment(expiresAt, due.timeZone)}, and is for you alone: whoever opens it can choose the password. Afterwards you sign in with ${due.email} and that password.`,
      '',
      'A newer invitation makes this one worthless. If you did not expect it, you need not do anything.',
      '',
      due.conference,
    ].join('\n'),
  };
}
