import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import type { Prepare } from '../messages/sending.ts';
import { tell } from '../messages/tell.ts';
import { moment } from '../web/format.ts';
import { linkEnd, linkLifetime, makeLink } from './account-link.ts';
import { appendAudit } from './audit/audit.ts';
import { newToken } from './token.ts';

/** A link that came by mail works for this long, in seconds: shorter than one that was handed over. */
const mailedLinkLifetime = 3600;

/** Puts a request in line. Whether anybody has the address is not looked at here, so that nothing tells. */
export async function askForNewPassword(db: Queryable, email: string): Promise<void> {
  await db.query('INSERT INTO password_request (email) VALUES ($1)', [email]);
}

interface Account {
  conferenceId: string;
  personId: string;
  conference: string;
  timeZone: string;
  /** False for someone with an invitation that works and no password yet. */
  hasPassword: boolean;
}

/**
 * Makes the next request a message: one for all conferences in which the address has an account, in the first of
 * them; none when it has no account.
 * @returns false when nobody asked.
 */
export async function takeNextRequest(pool: pg.Pool): Promise<boolean> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ email: string }>(
      `DELETE FROM password_request WHERE id = (SELECT id FROM password_request ORDER BY asked_at LIMIT 1
                                                   FOR UPDATE SKIP LOCKED) RETURNING email`,
    );
    const request = rows[0];
    if (!request) return false;
    const [account] = await accountsOf(client, request.email);
    if (account)
      await tell(client, {
        conferenceId: account.conferenceId,
        personIds: [account.personId],
        kind: 'password link',
        facts: {},
      });
    return true;
  });
}

async function accountsOf(client: Queryable, email: string): Promise<Account[]> {
  const { rows } = await client.query<Account>(
    `SELECT p.conference_id AS "conferenceId", p.id AS "personId", c.name AS conference, c.time_zone AS "timeZone",
            p.password_hash IS NOT NULL AS "hasPassword"
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

/** A link for each account of the address; they work once the mail server took the message. */
export const preparePasswordLink =
  (address: string): Prepare =>
  async (db, { email }) => {
    const links = (await accountsOf(db, email)).map((account) => {
      const lifetime = account.hasPassword ? mailedLinkLifetime : linkLifetime.invitation;
      return { ...account, token: newToken(), lifetime };
    });
    if (links.length === 0) return null;
    return {
      facts: {
        severalLinks: links.length > 1,
        links: links.map(({ conference, timeZone, hasPassword, token, lifetime }) => ({
          conference,
          url: `${address}/${hasPassword ? 'new-password' : 'invitation'}/${token}`,
          until: moment(linkEnd(lifetime), timeZone),
        })),
      },
      async sent(client) {
        for (const { hasPassword, token, lifetime, ...account } of links)
          await makeLink(client, account, hasPassword ? 'reset' : 'invitation', lifetime, token);
        // In the order of the conferences' ids, as everybody locks the chains.
        for (const { conferenceId, personId } of links)
          await appendAudit(client, {
            conferenceId,
            actorId: null,
            action: 'was mailed a link, having forgotten the password',
            subjectKind: 'person',
            subjectId: personId,
          });
      },
    };
  };
