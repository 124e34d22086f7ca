import { z } from 'zod';
import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Database } from '../database/database.ts';
import type { Team } from '../database/generated/client.ts';
import type { Queryable } from '../database/transaction.ts';
import { typedText } from '../text/typed-text.ts';
import { conflict, notFound } from '../web/problem.ts';
import { isTimeZone } from '../web/time-zone.ts';
import { coordinatesFrom } from './coordinates.ts';
import type { Venue } from './schedule-store.ts';

const name = (what: string) =>
  typedText({
    least: 1,
    most: 200,
    tooShort: `Write the name of the ${what}.`,
    tooLong: 'Write at most 200 characters.',
  });

/** A venue as a form sends it; its coordinates are one field. */
export const venueInput = z.object({
  name: name('venue'),
  place: typedText({ most: 200, tooLong: 'Write at most 200 characters.' }).default(''),
  coordinates: z.string().transform((text, context) => {
    const found = coordinatesFrom(text);
    if (found) return found;
    context.addIssue({
      code: 'custom',
      message: 'Write degrees north and east, as maps show them: 41.62, -93.98 (west is negative).',
    });
    return z.NEVER;
  }),
  timeZone: z.string().trim().refine(isTimeZone, 'Choose a zone from the list, such as America/Chicago.'),
});
type VenueInput = z.infer<typeof venueInput>;

/** A team as a form sends it; an empty venue is none. */
export const teamInput = z.object({
  name: name('team'),
  venueId: z.union([z.literal('').transform(() => null), z.uuid('Choose a venue from the list.')]),
});
type TeamInput = z.infer<typeof teamInput>;

/** The conference's venues by name, with how many teams play at home there. */
export async function readVenues(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<(Venue & { teams: number })[]> {
  const venues = await prisma.venue.findMany({
    where: { conferenceId },
    orderBy: { name: 'asc' },
    omit: { conferenceId: true },
    include: { _count: { select: { teams: true } } },
  });
  return venues.map(({ _count, ...venue }) => ({ ...venue, teams: _count.teams }));
}

/** @throws Problem 404 when the conference has no such venue. */
export async function findVenue(db: Queryable, conferenceId: string, venueId: string): Promise<Venue> {
  const { rows } = await db.query<Venue>(
    `SELECT id, name, place, latitude, longitude, time_zone AS "timeZone"
       FROM venue WHERE conference_id = $1 AND id = $2`,
    [conferenceId, venueId],
  );
  if (!rows[0]) throw notFound('venue');
  return rows[0];
}

/** @throws Problem 404 when the conference has no such team. */
export async function findTeam(
  db: Queryable,
  conferenceId: string,
  teamId: string,
): Promise<Omit<Team, 'conferenceId'>> {
  const { rows } = await db.query<Omit<Team, 'conferenceId'>>(
    'SELECT id, name, venue_id AS "venueId" FROM team WHERE conference_id = $1 AND id = $2',
    [conferenceId, teamId],
  );
  if (!rows[0]) throw notFound('team');
  return rows[0];
}

/**
 * Adds a venue, or corrects the one of that id. Kickoffs are instants: a corrected zone changes how they are shown,
 * not when they are.
 * @returns its id. @throws Problem 409 when another venue has the name, 404.
 */
export async function saveVenue(
  client: Queryable,
  { conferenceId, personId }: Acting,
  venue: VenueInput,
  venueId?: string,
): Promise<string> {
  const before = venueId === undefined ? undefined : await findVenue(client, conferenceId, venueId);
  await refuseTaken(client, conferenceId, 'venue', venue.name, venueId);
  const { latitude, longitude } = venue.coordinates;
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO venue (conference_id, id, name, place, latitude, longitude, time_zone)
     VALUES ($1, COALESCE($2::uuid, gen_random_uuid()), $3, $4, $5, $6, $7)
     ON CONFLICT (conference_id, id) DO UPDATE
       SET name = excluded.name, place = excluded.place, latitude = excluded.latitude, longitude = excluded.longitude,
           time_zone = excluded.time_zone
     RETURNING id`,
    [conferenceId, venueId ?? null, venue.name, venue.place, latitude, longitude, venue.timeZone],
  );
  const { id } = rows[0]!;
  const after = await findVenue(client, conferenceId, id);
  await audit(client, { conferenceId, personId }, 'venue', id, before, after);
  return id;
}

/** Adds a team, or corrects the one of that id. @returns its id. @throws Problem 409, 404. */
export async function saveTeam(
  client: Queryable,
  { conferenceId, personId }: Acting,
  team: TeamInput,
  teamId?: string,
): Promise<string> {
  const before = teamId === undefined ? undefined : await findTeam(client, conferenceId, teamId);
  if (team.venueId !== null) await findVenue(client, conferenceId, team.venueId);
  await refuseTaken(client, conferenceId, 'team', team.name, teamId);
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO team (conference_id, id, name, venue_id)
     VALUES ($1, COALESCE($2::uuid, gen_random_uuid()), $3, $4)
     ON CONFLICT (conference_id, id) DO UPDATE SET name = excluded.name, venue_id = excluded.venue_id
     RETURNING id`,
    [conferenceId, teamId ?? null, team.name, team.venueId],
  );
  const { id } = rows[0]!;
  await audit(client, { conferenceId, personId }, 'team', id, before, { id, ...team });
  return id;
}

async function refuseTaken(
  client: Queryable,
  conferenceId: string,
  table: 'venue' | 'team',
  name: string,
  exceptId: string | undefined,
): Promise<void> {
  const { rowCount } = await client.query(
    `SELECT FROM ${table} WHERE conference_id = $1 AND name = $2 AND id IS DISTINCT FROM $3::uuid`,
    [conferenceId, name, exceptId ?? null],
  );
  if (rowCount === 0) return;
  throw conflict(`There is a ${table} of this name already.`, [
    {
      field: 'name',
      message: `There is a ${table} of this name already; open that one, or write another name.`,
    },
  ]);
}

async function audit(
  client: Queryable,
  { conferenceId, personId }: Acting,
  kind: 'venue' | 'team',
  id: string,
  before: object | undefined,
  after: object,
): Promise<void> {
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: `${kind} ${before === undefined ? 'added' : 'corrected'}`,
    subjectKind: kind,
    subjectId: id,
    before,
    after,
  });
}
