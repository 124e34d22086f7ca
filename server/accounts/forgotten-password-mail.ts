import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import type { Mail, Mailer } from '../mail/mailer.ts';
import { moment } from '../web/format.ts';
import { makeLink } from './account-link.ts';
import { appendAudit } from './audit/audit.ts';

/** A link that came by mail works for this long, in seconds: shorter than one that was handed over. */
const mailedLinkLifetime = 3600;

/** Minutes after the first, second, ... failure. Later the person has asked again or otherwise. */
const retryAfter = [1, 5, 15] as const;

/** Puts a request in line. Whether anybody has the address is not looked at here, so that nothing tells. */
export async function askForNewPassword(db: Queryable, email: string): Promise<void> {
  await db.query('INSERT INTO password_request (email) VALUES ($1)', [email]);
}

interface Account {
  conferenceId: string;
  personId: string;
  name: string;
  conference: string;
  timeZone: string;
  /** False for someone with an invitation that works and no password yet. */
  hasPassword: boolean;
}

/**
 * Answers the next request: one mail with a link for each conference in which the address has an account, or nothing
 * when it has none. The links are kept only when the mail server took the message.
 * @param gaveUp told the error of a mail that will not be tried again
 * @returns false when no request is due.
 */
export async function sendNextPasswordMail(
  pool: pg.Pool,
  mailer: Mailer,
  address: string,
  gaveUp: (error: unknown) => void,
): Promise<boolean> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ id: string; email: string; attempts: number }>(
      `SELECT id, email, attempts FROM password_request WHERE next_attempt <= now()
        ORDER BY next_attempt LIMIT 1 FOR UPDATE SKIP LOCKED`,
    );
    const request = rows[0];
    if (!request) return false;
    const accounts = await accountsOf(client, request.email);
    await client.query('SAVEPOINT links');
    try {
      if (accounts.length > 0) await mailTo(client, mailer, address, request.email, accounts);
    } catch (error) {
      await client.query('ROLLBACK TO SAVEPOINT links');
      const wait = retryAfter[request.attempts];
      if (wait !== undefined) {
        await client.query(
          `UPDATE password_request SET attempts = attempts + 1, next_attempt = now() + make_interval(mins => $2)
            WHERE id = $1`,
          [request.id, wait],
        );
        return true;
      }
      gaveUp(error);
    }
    await client.query('DELETE FROM password_request WHERE id = $1', [request.id]);
    return true;
  });
}

async function accountsOf(client: Queryable, email: string): Promise<Account[]> {
  const { rows } = await client.query<Account>(
    `SELECT p.conference_id AS "conferenceId", p.id AS "personId", p.given_name || ' ' || p.family_name AS name,
            c.name AS conference, c.time_zone AS "timeZone", p.password_hash IS NOT NULL AS "hasPassword"
       FROM person p JOIN conference c ON c.id = p.conference_id
      WHERE p.email = $1 AND p.active
        AND (p.password_hash IS NOT NULL
             OR EXISTS (SELECT FROM account_link l WHERE l.conference_id = p.conference_id AND l.person_id = p.id
                           AND l.purpose = 'invitation' AND l.used_at IS NULL AND l.expires_at > now()))
      ORDER BY p.conference_id`,
    [email],
  );
  return rows;
}

async function mailTo(
  client: Queryable,
  mailer: Mailer,
  address: string,
  email: string,
  accounts: readonly Account[],
): Promise<void> {
  const links: { conference: string; url: string; until: string }[] = [];
  for (const account of accounts) {
    const { token, expiresAt } = account.hasPassword
      ? await makeLink(client, account, 'reset', mailedLinkLifetime)
      : await makeLink(client, account, 'invitation');
    links.push({
      conference: account.conference,
      url: `${address}/${account.hasPassword ? 'new-password' : 'invitation'}/${token}`,
      until: moment(expiresAt, account.timeZone),
    });
  }
  await mailer.send(passwordMail(email, accounts[0]!.name, links));
  // In the order of the conferences' ids, as everybody locks the chains.
  for (const { conferenceId, personId } of accounts)
    await appendAudit(client, {
      conferenceId,
      actorId: null,
      action: 'was mailed a link, having forgotten the password',
      subjectKind: 'person',
      subjectId: personId,
    });
}

function passwordMail(
  email: string,
  name: string,
  links: readonly { conference: string; url: string; until: string }[],
): Mail {
  const one = links.length === 1;
  return {
    to: { name, address: email },
    subject: one ? `${links[0]!.conference}: choose a new password` : 'Choose a new password',
    text: [
      `Dear ${name},`,
      '',
      one
        ? `somebody, most likely you, asked for a new password at ${links[0]!.conference}. Choose it here:`
        : `somebody, most likely you, asked for a new password. You have an account in ${links.length} conferences, each with a password of its own; choose it here:`,
      '',
      ...links.flatMap(({ conference, url, until }) => [
        ...(one ? [] : [`${conference}:`]),
        url,
        `(works once, until ${until})`,
        '',
      ]),
      'Until then your present password goes on working. If it was not you, you need not do anything: nobody else has this mail.',
    ].join('\n'),
  };
}
