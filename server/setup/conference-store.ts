import { z } from 'zod';
import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Database } from '../database/database.ts';
import type { Prisma } from '../database/generated/client.ts';
import type { Queryable } from '../database/transaction.ts';
import { codes } from '../football/codes.ts';
import { crewSizes } from '../football/positions.ts';
import { typedText } from '../text/typed-text.ts';
import { isTimeZone } from '../web/time-zone.ts';

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
type Conference = z.infer<typeof conferenceSchema>;

const whatItSays = {
  name: true,
  timeZone: true,
  code: true,
  crewSize: true,
} satisfies Prisma.ConferenceSelect;
type ConferenceRow = Prisma.ConferenceGetPayload<{ select: typeof whatItSays }>;

export function readConference(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<ConferenceRow> {
  return prisma.conference.findUniqueOrThrow({ where: { id: conferenceId }, select: whatItSays });
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
  const { rows } = await client.query<ConferenceRow>(
    `SELECT name, time_zone AS "timeZone", code, crew_size AS "crewSize" FROM conference WHERE id = $1 FOR UPDATE`,
    [conferenceId],
  );
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
    before: rows[0],
    after: conference,
  });
}
