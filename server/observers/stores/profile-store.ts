import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { fullName } from '../../accounts/people-names.ts';
import type { Database } from '../../database/database.ts';
import type { ObserverProfile, Prisma } from '../../database/generated/client.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import type { Absence, ConflictKind } from '../../planning/planning-problem.ts';
import { readOfficials } from '../../schedule/crew-store.ts';
import { notFound } from '../../web/problem.ts';

type Pool = Database['pool'];

/** An observer with what they declare about themself; a coordinator may edit it too. */
const declared = {
  givenName: true,
  familyName: true,
  homePlace: true,
  homeLatitude: true,
  homeLongitude: true,
  observerProfile: true,
  observerAbsences: { orderBy: [{ firstDay: 'asc' }, { id: 'asc' }] },
  observerConflicts: {
    orderBy: [{ declaredAt: 'asc' }, { id: 'asc' }],
    select: {
      id: true,
      kind: true,
      note: true,
      team: { select: { name: true } },
      crew: { select: { name: true, season: { select: { name: true } } } },
      official: { select: { givenName: true, familyName: true } },
    },
  },
} satisfies Prisma.PersonSelect;

/** How an observer can be sent out: where from, to what, how often. */
interface Terms extends Pick<ObserverProfile, Limits | 'watchesInPerson' | 'watchesFilm'> {
  homePlace: string;
  latitude: number | null;
  longitude: number | null;
}
type Limits = 'weeklyLimit' | 'seasonLimit' | 'travelLimitMiles';

/** @throws Problem 404 when the person is not an observer of the conference. */
export async function loadProfile(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  personId: string,
) {
  const person = await prisma.person.findFirst({
    where: { conferenceId, id: personId, personRoles: { some: { role: 'observer' } } },
    select: declared,
  });
  if (!person) throw notFound('observer');
  const { observerProfile: kept, observerAbsences, observerConflicts } = person;
  return {
    personId,
    name: fullName(person),
    homePlace: person.homePlace ?? '',
    latitude: person.homeLatitude,
    longitude: person.homeLongitude,
    watchesInPerson: kept?.watchesInPerson ?? true,
    watchesFilm: kept?.watchesFilm ?? true,
    weeklyLimit: kept?.weeklyLimit ?? null,
    seasonLimit: kept?.seasonLimit ?? null,
    travelLimitMiles: kept?.travelLimitMiles ?? null,
    hasCalendar: (kept?.calendarTokenHash ?? null) !== null,
    absences: observerAbsences.map(({ id, firstDay, lastDay, awayFrom, note }) => ({
      id,
      from: dayOf(firstDay),
      to: dayOf(lastDay),
      of: awayFrom as Absence['of'],
      note,
    })),
    conflicts: observerConflicts.map(({ id, kind, note, team, crew, official }) => ({
      id,
      kind: kind as ConflictKind,
      note,
      party:
        team?.name ?? (crew ? `Crew ${crew.name}, ${crew.season.name}` : official ? fullName(official) : ''),
    })),
  };
}

const dayOf = (date: Date) => date.toISOString().slice(0, 10);

/** The terms as they stand inside a transaction. @throws Problem 404 when the person is no observer here. */
async function termsOf(client: Queryable, conferenceId: string, personId: string): Promise<Terms> {
  const { rows } = await client.query<Terms>(
    `SELECT COALESCE(p.home_place, '') AS "homePlace", p.home_latitude AS latitude, p.home_longitude AS longitude,
            COALESCE(o.watches_in_person, true) AS "watchesInPerson", COALESCE(o.watches_film, true) AS "watchesFilm",
            o.weekly_limit AS "weeklyLimit", o.season_limit AS "seasonLimit", o.travel_limit_miles AS "travelLimitMiles"
       FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'observer'
       LEFT JOIN observer_profile o ON o.conference_id = p.conference_id AND o.person_id = p.id
      WHERE p.conference_id = $1 AND p.id = $2`,
    [conferenceId, personId],
  );
  if (!rows[0]) throw notFound('observer');
  return rows[0];
}

export async function saveProfile(
  pool: Pool,
  actor: PersonActing,
  personId: string,
  change: Terms,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const before = await termsOf(client, actor.conferenceId, personId);
    await client.query(
      `UPDATE person SET home_place = $3, home_latitude = $4, home_longitude = $5 WHERE conference_id = $1 AND id = $2`,
      [actor.conferenceId, personId, change.homePlace || null, change.latitude, change.longitude],
    );
    await client.query(
      `INSERT INTO observer_profile (conference_id, person_id, watches_in_person, watches_film, weekly_limit,
              season_limit, travel_limit_miles)
       VALUES ($1, $2, $3, $4, $5, $6, $7)
       ON CONFLICT (conference_id, person_id) DO UPDATE
         SET watches_in_person = excluded.watches_in_person, watches_film = excluded.watches_film,
             weekly_limit = excluded.weekly_limit, season_limit = excluded.season_limit,
             travel_limit_miles = excluded.travel_limit_miles`,
      [
        actor.conferenceId,
        personId,
        change.watchesInPerson,
        change.watchesFilm,
        change.weeklyLimit,
        change.seasonLimit,
        change.travelLimitMiles,
      ],
    );
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'observer profile changed',
      subjectKind: 'person',
      subjectId: personId,
      before: { personId, ...before },
      after: change,
    });
  });
}

interface NewAbsence {
  readonly from: string;
  readonly to: string;
  readonly of: Absence['of'];
  readonly note: string;
}

export async function addAbsence(
  pool: Pool,
  actor: PersonActing,
  personId: string,
  absence: NewAbsence,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    await termsOf(client, actor.conferenceId, personId);
    await client.query(
      `INSERT INTO observer_absence (conference_id, person_id, first_day, last_day, away_from, note)
       VALUES ($1, $2, $3, $4, $5, $6)`,
      [actor.conferenceId, personId, absence.from, absence.to, absence.of, absence.note],
    );
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'absence added',
      subjectKind: 'person',
      subjectId: personId,
      after: absence,
    });
  });
}

interface NewConflict {
  readonly kind: ConflictKind;
  readonly party: { readonly kind: 'team' | 'official' | 'crew'; readonly id: string };
  readonly note: string;
}

/** @throws Problem 404 when the team, official or crew is not of this conference. */
export async function addConflict(
  pool: Pool,
  actor: PersonActing,
  personId: string,
  declared: NewConflict,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    await termsOf(client, actor.conferenceId, personId);
    const { kind, id } = declared.party;
    const table = { team: 'team', official: 'person', crew: 'crew' }[kind];
    const found = await client.query(`SELECT FROM ${table} WHERE conference_id = $1 AND id = $2`, [
      actor.conferenceId,
      id,
    ]);
    if (found.rowCount !== 1) throw notFound(kind);
    await client.query(
      `INSERT INTO observer_conflict (conference_id, person_id, kind, ${kind}_id, note) VALUES ($1, $2, $3, $4, $5)`,
      [actor.conferenceId, personId, declared.kind, id, declared.note],
    );
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'conflict declared',
      subjectKind: 'person',
      subjectId: personId,
      after: declared,
    });
  });
}

/** Removes an absence or a declared conflict; what it was stays in the audit trail. */
export async function removeDeclaration(
  pool: Pool,
  actor: PersonActing,
  personId: string,
  kind: 'absence' | 'conflict',
  id: string,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { rows } = await client.query(
      `DELETE FROM observer_${kind} WHERE conference_id = $1 AND person_id = $2 AND id = $3 RETURNING *`,
      [actor.conferenceId, personId, id],
    );
    if (!rows[0]) throw notFound(kind);
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: `${kind} removed`,
      subjectKind: 'person',
      subjectId: personId,
      before: JSON.parse(JSON.stringify(rows[0])),
    });
  });
}

/** The names a conflict can be declared with. */
export async function conflictParties(
  database: Pick<Database, 'prisma'>,
  conferenceId: string,
  seasonId: string,
) {
  const named = { orderBy: { name: 'asc' }, select: { id: true, name: true } } as const;
  return {
    teams: await database.prisma.team.findMany({ where: { conferenceId }, ...named }),
    crews: await database.prisma.crew.findMany({ where: { conferenceId, seasonId }, ...named }),
    officials: await readOfficials(database, conferenceId),
  };
}
