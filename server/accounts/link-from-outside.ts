import type pg from 'pg';
import { StartupError } from '../database/startup-error.ts';
import { inTransaction } from '../database/transaction.ts';
import { makeLink } from './account-link.ts';
import { appendAudit } from './audit/audit.ts';

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
export async function makeLinkFromOutside(
  pool: pg.Pool,
  { email, conference }: { email: string; conference: string | undefined },
): Promise<LinkFromOutside> {
  return inTransaction(pool, async (client) => {
    const { rows: all } = await client.query<{
      conferenceId: string;
      personId: string;
      name: string;
      conference: string;
      slug: string;
      timeZone: string;
      active: boolean;
      hasPassword: boolean;
    }>(
      `SELECT p.conference_id AS "conferenceId", p.id AS "personId", p.given_name || ' ' || p.family_name AS name,
              c.name AS conference, c.slug, c.time_zone AS "timeZone", p.active,
              p.password_hash IS NOT NULL AS "hasPassword"
         FROM person p JOIN conference c ON c.id = p.conference_id WHERE p.email = $1 ORDER BY c.slug`,
      [email],
    );
    if (all.length === 0) throw new StartupError(`Nobody has the address ${email}.`);
    const rows = all.filter(({ slug }) => conference === undefined || slug === conference);
    const slugs = all.map(({ slug }) => slug).join(', ');
    if (rows.length === 0)
      throw new StartupError(`${email} is in no conference "${conference}", but in: ${slugs}.`);
    if (rows.length > 1)
      throw new StartupError(`${email} is in several conferences: choose one with --conference (${slugs}).`);
    const person = rows[0]!;
    if (!person.active)
      throw new StartupError(
        `${person.name} is deactivated; another coordinator can activate them on the People page.`,
      );
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
