import type pg from 'pg';
import { z } from 'zod';
import { inTransaction } from '../database/transaction.ts';
import { typedText } from '../text/typed-text.ts';
import { isTimeZone } from '../web/time-zone.ts';
import { makeLink } from './account-link.ts';
import { appendAudit } from './audit/audit.ts';
import { personInput } from './input.ts';

export const conferenceInput = z.object({
  name: typedText({ least: 1, most: 200, tooShort: 'write its name', tooLong: 'at most 200 characters' }),
  slug: z
    .string()
    .regex(/^[a-z0-9][a-z0-9-]{0,62}$/, 'lower-case letters, digits and hyphens only, at most 63'),
  timeZone: z.string().refine(isTimeZone, 'an IANA name such as America/Chicago'),
  coordinator: personInput.omit({ roles: true }),
});

/**
 * Opens an empty conference with its first coordinator, who gets in by the returned invitation token.
 * @throws the database's unique violation (23505) when the slug is taken.
 */
export async function openConference(
  pool: pg.Pool,
  { name, slug, timeZone, coordinator }: z.infer<typeof conferenceInput>,
): Promise<{ conferenceId: string; token: string }> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ id: string }>(
      'INSERT INTO conference (name, slug, time_zone) VALUES ($1, $2, $3) RETURNING id',
      [name, slug, timeZone],
    );
    const conferenceId = rows[0]!.id;
    const people = await client.query<{ id: string }>(
      'INSERT INTO person (conference_id, email, given_name, family_name) VALUES ($1, $2, $3, $4) RETURNING id',
      [conferenceId, coordinator.email, coordinator.givenName, coordinator.familyName],
    );
    const personId = people.rows[0]!.id;
    await client.query(
      "INSERT INTO person_role (conference_id, person_id, role) VALUES ($1, $2, 'coordinator')",
      [conferenceId, personId],
    );
    const { token } = await makeLink(client, { conferenceId, personId }, 'invitation');
    await appendAudit(client, {
      conferenceId,
      actorId: null,
      action: 'opened the conference',
      subjectKind: 'conference',
      subjectId: conferenceId,
      after: { name, slug, timeZone, coordinator: personId },
    });
    return { conferenceId, token };
  });
}
