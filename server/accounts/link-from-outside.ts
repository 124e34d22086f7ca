import type pg from 'pg';
import { inTransaction } from '../database/transaction.ts';
import { makeLink } from './account-link.ts';
import { appendAudit } from './audit/audit.ts';
import { findFromOutside, type WhoIsMeant } from './from-outside.ts';

interface LinkFromOutside {
  name: string;
  conference: string;
  timeZone: string;
  purpose: 'reset' | 'invitation';
  token: string;
  expiresAt: Date;
}

/**
 * Makes a link to set a password for whoever runs the server; the audit trail says so.
 * @throws StartupError that says which address or conference to give instead.
 */
export async function makeLinkFromOutside(pool: pg.Pool, asked: WhoIsMeant): Promise<LinkFromOutside> {
  return inTransaction(pool, async (client) => {
    const person = await findFromOutside(client, asked);
    const purpose = person.hasPassword ? 'reset' : 'invitation';
    const link = await makeLink(client, person, purpose);
    await appendAudit(client, {
      conferenceId: person.conferenceId,
      actorId: null,
      action: `made ${purpose === 'reset' ? 'a reset link' : 'an invitation'} by the command on the server`,
      subjectKind: 'person',
      subjectId: person.personId,
    });
    return { ...person, purpose, ...link };
  });
}
