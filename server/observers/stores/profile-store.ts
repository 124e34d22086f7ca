import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import type { Absence, ConflictKind } from '../../planning/planning-problem.ts';
import { notFound } from '../../web/problem.ts';

type Pool = Database['pool'];

/** What an observer declares about themself; a coordinator may edit it too. */
export interface Profile {
  readonly personId: string;
  readonly name: string;
  readonly homePlace: string;
  readonly latitude: number | null;
  readonly longitude: number | null;
  readonly watchesInPerson: boolean;
  readonly watchesFilm: boolean;
  readonly weeklyLimit: number | null;
  readonly seasonLimit: number | null;
  readonly travelLimitMiles: number | null;
  readonly hasCalendar: boolean;
  readonly absences: readonly { id: string; from: string; to: string; of: Absence['of']; note: string }[];
  readonly conflicts: readonly { id: string; kind: ConflictKind; party: string; note: string }[];
}

export type ProfileChange = Pick<
  Profile,
  | 'homePlace'
  | 'latitude'
  | 'longitude'
  | 'watchesInPerson'
  | 'watchesFilm'
  | 'weeklyLimit'
  | 'seasonLimit'
  | 'travelLimitMiles'
>;

/** @throws Problem 404 when the person is not an observer of the conference. */
export async function loadProfile(db: Queryable, conferenceId: string, personId: string): Promise<Profile> {
  const { rows } = await db.query(
    `SELECT p.given_name || ' ' || p.family_name AS name, p.home_place, p.home_latitude, p.home_longitude,
            COALESCE(o.watches_in_person, true) AS watches_in_person, COALESCE(o.watches_film, true) AS watches_film,
            o.weekly_limit, o.season_limit, o.travel_limit_miles, o.calendar_token_hash IS NOT NULL AS has_calendar
       FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'observer'
       LEFT JOIN observer_profile o ON o.conference_id = p.conference_id AND o.person_id = p.id
      WHERE p.conference_id = $1 AND p.id = $2`,
    [conferenceId, personId],
  );
  const row = rows[0];
  if (!row) throw notFound('observer');
  const absences = await db.query(
    `SELECT id, first_day::text AS "from", last_day::text AS "to", away_from AS of, note FROM observer_absence
      WHERE conference_id = $1 AND person_id = $2 ORDER BY first_day, id`,
    [conferenceId, personId],
  );
  const conflicts = await db.query(
    `SELECT c.id, c.kind, c.note,
            COALESCE(t.name, 'Crew ' || w.name, f.given_name || ' ' || f.family_name) AS party
       FROM observer_conflict c
       LEFT JOIN team t ON t.conference_id = c.conference_id AND t.id = c.team_id
       LEFT JOIN crew w ON w.conference_id = c.conference_id AND w.id = c.crew_id
       LEFT JOIN person f ON f.conference_id = c.conference_id AND f.id = c.official_id
      WHERE c.conference_id = $1 AND c.person_id = $2 ORDER BY c.declared_at, c.id`,
    [conferenceId, personId],
  );
  return {
    personId,
    name: row.name,
    homePlace: row.home_place ?? '',
    latitude: row.home_latitude,
    longitude: row.home_longitude,
    watchesInPerson: row.watches_in_person,
    watchesFilm: row.watches_film,
    weeklyLimit: row.weekly_limit,
    seasonLimit: row.season_limit,
    travelLimitMiles: row.travel_limit_miles,
    hasCalendar: row.has_calendar,
    absences: absences.rows,
    conflicts: conflicts.rows,
  };
}

export async function saveProfile(
  pool: Pool,
  actor: PersonActing,
  personId: string,
  change: ProfileChange,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const before = await loadProfile(client, actor.conferenceId, personId);
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
    const { absences: _a, conflicts: _c, name: _n, hasCalendar: _h, ...had } = before;
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'observer profile changed',
      subjectKind: 'person',
      subjectId: personId,
      before: had,
      after: change,
    });
  });
}

export interface NewAbsence {
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
    await loadProfile(client, actor.conferenceId, personId);
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

export interface NewConflict {
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
    await loadProfile(client, actor.conferenceId, personId);
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
export async function conflictParties(db: Queryable, conferenceId: string, seasonId: string) {
  const teams = await db.query<{ id: string; name: string }>(
    'SELECT id, name FROM team WHERE conference_id = $1 ORDER BY name',
    [conferenceId],
  );
  const crews = await db.query<{ id: string; name: string }>(
    'SELECT id, name FROM crew WHERE conference_id = $1 AND season_id = $2 ORDER BY name',
    [conferenceId, seasonId],
  );
  const officials = await db.query<{ id: string; name: string }>(
    `SELECT p.id, p.family_name || ', ' || p.given_name AS name FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'official'
      WHERE p.conference_id = $1 AND p.active ORDER BY p.family_name, p.given_name`,
    [conferenceId],
  );
  return { teams: teams.rows, crews: crews.rows, officials: officials.rows };
}
