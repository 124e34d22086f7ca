import { z } from 'zod';
import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { crewSizes } from '../football/positions.ts';
import { typedText } from '../text/typed-text.ts';
import { isTimeZone } from '../web/time-zone.ts';

/** The rules books that a conference may play by. */
export const codes = ['college', 'high school'] as const;

/** What a conference says of itself. */
export const conferenceSchema = z.object({
  name: typedText({
    least: 1,
    most: 200,
    tooShort: 'Write the name of the conference.',
    tooLong: 'Write at most 200 characters.',
  }),
  timeZone: z.string().trim().refine(isTimeZone, 'Choose a zone from the list, such as America/Chicago.'),
  code: z.enum(codes, 'Choose the rules book you play by.'),
  crewSize: z.coerce
    .number('Choose a crew size.')
    .pipe(z.literal(crewSizes, 'Choose a crew size from 4 to 8.')),
});
export type Conference = z.infer<typeof conferenceSchema>;

export async function readConference(db: Queryable, conferenceId: string): Promise<Conference> {
  const { rows } = await db.query<Conference>(
    'SELECT name, time_zone AS "timeZone", code, crew_size AS "crewSize" FROM conference WHERE id = $1',
    [conferenceId],
  );
  return rows[0]!;
}

/**
 * Keeps what the coordinator looked through. Seasons that have no report yet take over the crew size: those with
 * reports were worked in theirs.
 */
export async function keepConference(
  client: Queryable,
  { conferenceId, personId }: Acting,
  conference: Conference,
): Promise<void> {
  await client.query('SELECT FROM conference WHERE id = $1 FOR UPDATE', [conferenceId]);
  const before = await readConference(client, conferenceId);
  await client.query(
    `UPDATE conference SET name = $2, time_zone = $3, code = $4, crew_size = $5, confirmed_at = now() WHERE id = $1`,
    [conferenceId, conference.name, conference.timeZone, conference.code, conference.crewSize],
  );
  await client.query(
    `UPDATE season s SET crew_size = $2
      WHERE s.conference_id = $1 AND s.state = 'open' AND s.crew_size <> $2
        AND NOT EXISTS (SELECT FROM report r WHERE r.conference_id = s.conference_id AND r.season_id = s.id)`,
    [conferenceId, conference.crewSize],
  );
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'conference looked through',
    subjectKind: 'conference',
    subjectId: conferenceId,
    before,
    after: conference,
  });
}
