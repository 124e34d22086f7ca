import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { peopleInRoles } from '../accounts/people-names.ts';
import type { Database } from '../database/database.ts';
import type { Queryable } from '../database/transaction.ts';
import { type Position, positions } from '../football/positions.ts';
import { conflict, type FieldProblem, notFound } from '../web/problem.ts';
import { readCrews } from './schedule-store.ts';
import { lockSeasonToChange } from './season-to-change.ts';

/** A crew as a form gives it: who works which position, and its name. */
export interface CrewInput {
  readonly name: string;
  readonly members: readonly { readonly position: Position; readonly personId: string }[];
}

export interface Official {
  readonly id: string;
  readonly name: string;
}

/** Everybody who may be put into a crew, by family name. */
export async function readOfficials(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<Official[]> {
  const officials = await peopleInRoles({ prisma }, conferenceId, ['official']);
  return officials.map(({ id, givenName, familyName }) => ({ id, name: `${familyName}, ${givenName}` }));
}

/** What is wrong with who is named: somebody twice, or nobody of the officials. Fields are `member-POSITION`. */
export async function wrongMembers(
  client: Queryable,
  conferenceId: string,
  members: CrewInput['members'],
): Promise<FieldProblem[]> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT p.id FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
      WHERE p.conference_id = $1 AND p.active AND r.role = 'official'`,
    [conferenceId],
  );
  const known = new Set(rows.map(({ id }) => id));
  const seen = new Map<string, Position>();
  return members.flatMap(({ position, personId }) => {
    const field = `member-${position}`;
    if (!known.has(personId)) return [{ field, message: 'Choose an official from the list.' }];
    const first = seen.get(personId);
    seen.set(personId, first ?? position);
    return first ? [{ field, message: `Already the ${first} of this crew; choose somebody else.` }] : [];
  });
}

/** @throws Problem 404 when the season has no such crew. */
export async function findCrew(db: Queryable, conferenceId: string, seasonId: string, crewId: string) {
  const crew = (await readCrews(db, conferenceId, seasonId)).find(({ id }) => id === crewId);
  if (!crew) throw notFound('crew');
  return crew;
}

/**
 * Adds a crew to a season, or corrects the one of that id, members and all. Games keep the crew that worked them.
 * @returns its id. @throws Problem 409 naming the fields that are wrong, 404.
 */
export async function saveCrew(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  { name, members }: CrewInput,
  crewId?: string,
): Promise<string> {
  await lockSeasonToChange(client, conferenceId, seasonId, 'name');
  const before = crewId === undefined ? undefined : await findCrew(client, conferenceId, seasonId, crewId);
  const wrong = await wrongMembers(client, conferenceId, members);
  const taken = await client.query(
    `SELECT FROM crew WHERE conference_id = $1 AND season_id = $2 AND name = $3 AND id IS DISTINCT FROM $4::uuid`,
    [conferenceId, seasonId, name, crewId ?? null],
  );
  if (taken.rowCount !== 0) {
    wrong.push({ field: 'name', message: 'There is a crew of this name already; write another name.' });
  }
  if (wrong.length > 0) throw conflict('The crew cannot be kept as it is.', wrong);
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO crew (conference_id, id, season_id, name) VALUES ($1, COALESCE($2::uuid, gen_random_uuid()), $3, $4)
     ON CONFLICT (conference_id, id) DO UPDATE SET name = excluded.name RETURNING id`,
    [conferenceId, crewId ?? null, seasonId, name],
  );
  const { id } = rows[0]!;
  await client.query('DELETE FROM crew_member WHERE conference_id = $1 AND crew_id = $2', [conferenceId, id]);
  await client.query(
    `INSERT INTO crew_member (conference_id, crew_id, position, person_id)
     SELECT $1, $2, position, person_id FROM unnest($3::text[], $4::uuid[]) AS m (position, person_id)`,
    [conferenceId, id, members.map((one) => one.position), members.map((one) => one.personId)],
  );
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: before === undefined ? 'crew added' : 'crew corrected',
    subjectKind: 'season',
    subjectId: seasonId,
    before: before && {
      name: before.name,
      ...byPosition(before.officials.map(({ position, official }) => ({ position, personId: official.id }))),
    },
    after: { name, ...byPosition(members) },
  });
  return id;
}

const byPosition = (members: CrewInput['members']) =>
  Object.fromEntries(
    positions.flatMap((position) => {
      const member = members.find((one) => one.position === position);
      return member ? [[position, member.personId]] : [];
    }),
  );
