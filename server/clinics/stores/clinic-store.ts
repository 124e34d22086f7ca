import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { crewOfSeason, officialsMeant, settledAudience } from '../../knowledge/audience.ts';
import { tell } from '../../messages/tell.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import type { AttendanceNoted, Attendee, Clinic, ClinicFrame } from '../clinic.ts';

interface ClinicLine extends Omit<Clinic, 'people'> {
  readonly asked: number;
  readonly attended: number;
  readonly madeUp: number;
  readonly excused: number;
  readonly open: number;
}

/** A season's clinics, the newest first. */
export async function listClinics(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ClinicLine[]> {
  const { rows } = await db.query<ClinicLine>(
    `SELECT c.id, c.season_id AS "seasonId", c.title, to_char(c.held_on, 'YYYY-MM-DD') AS "heldOn", c.place, c.minutes,
            c.make_up AS "makeUp", c.audience, c.positions, c.crew_id AS "crewId",
            count(a.official_id)::int AS asked,
            count(*) FILTER (WHERE a.state = 'attended')::int AS attended,
            count(*) FILTER (WHERE a.state = 'made up')::int AS "madeUp",
            count(*) FILTER (WHERE a.state = 'excused')::int AS excused,
            count(*) FILTER (WHERE a.state = 'open')::int AS open
       FROM clinic c LEFT JOIN clinic_attendance a ON a.conference_id = c.conference_id AND a.clinic_id = c.id
      WHERE c.conference_id = $1 AND c.season_id = $2 GROUP BY c.conference_id, c.id ORDER BY c.held_on DESC, c.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** @throws Problem 404 */
export async function readClinic(db: Queryable, conferenceId: string, clinicId: string): Promise<Clinic> {
  const { rows } = await db.query<Omit<Clinic, 'people'>>(
    `SELECT id, season_id AS "seasonId", title, to_char(held_on, 'YYYY-MM-DD') AS "heldOn", place, minutes,
            make_up AS "makeUp", audience, positions, crew_id AS "crewId"
       FROM clinic WHERE conference_id = $1 AND id = $2`,
    [conferenceId, clinicId],
  );
  if (!rows[0]) throw notFound('clinic');
  const people = await db.query<Attendee>(
    `SELECT a.official_id AS "officialId", p.given_name || ' ' || p.family_name AS name, a.state, a.note
       FROM clinic_attendance a JOIN person p ON p.conference_id = a.conference_id AND p.id = a.official_id
      WHERE a.conference_id = $1 AND a.clinic_id = $2 ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, clinicId],
  );
  return { ...rows[0], people: people.rows };
}

/** Makes a clinic and tells whom it is for. @throws Problem 400, 409 where nobody is meant */
export function createClinic(
  pool: pg.Pool,
  acting: PersonActing,
  seasonId: string,
  frame: ClinicFrame,
): Promise<string> {
  const { conferenceId, personId } = acting;
  return inTransaction(pool, async (client) => {
    const { audience, positions, crewId } = settledAudience(frame);
    if (crewId !== null && !(await crewOfSeason(client, conferenceId, seasonId, crewId)))
      throw invalid([{ field: 'crewId', message: 'is no crew of this season' }]);
    const meant = await officialsMeant(client, conferenceId, seasonId, { audience, positions, crewId });
    if (meant.length === 0) throw invalid([{ field: 'audience', message: 'means no active official' }]);
    await mustBeNew(client, conferenceId, seasonId, frame);
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO clinic (conference_id, season_id, title, held_on, place, minutes, make_up, audience, positions, crew_id, made_by)
       VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11) RETURNING id`,
      [
        ...[conferenceId, seasonId, frame.title, frame.heldOn, frame.place, frame.minutes, frame.makeUp],
        ...[audience, JSON.stringify(positions), crewId, personId],
      ],
    );
    const { id } = rows[0]!;
    await ask(client, acting, await readClinic(client, conferenceId, id), meant);
    await noted(client, acting, id, 'clinic made', { ...frame, officials: meant });
    return id;
  });
}

/** One clinic of a season after the other: a form sent twice must not ask everybody twice. */
async function mustBeNew(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  { title, heldOn }: ClinicFrame,
): Promise<void> {
  await client.query("SELECT pg_advisory_xact_lock(hashtextextended('clinics ' || $1 || $2, 0))", [
    ...[conferenceId, seasonId],
  ]);
  const { rowCount } = await client.query(
    'SELECT FROM clinic WHERE conference_id = $1 AND season_id = $2 AND title = $3 AND held_on = $4',
    [conferenceId, seasonId, title, heldOn],
  );
  if (rowCount !== 0)
    throw invalid([
      {
        field: 'title',
        message:
          'There is a clinic of this title on this day already: it was made, and its officials were told.',
      },
    ]);
}

async function ask(
  client: Queryable,
  { conferenceId }: PersonActing,
  clinic: Clinic,
  officials: readonly string[],
) {
  await client.query(
    `INSERT INTO clinic_attendance (conference_id, clinic_id, season_id, official_id) SELECT $1, $2, $3, unnest($4::uuid[])`,
    [conferenceId, clinic.id, clinic.seasonId, officials],
  );
  await tellOfClinic(client, conferenceId, clinic, officials, 'asked');
}

/** Tells officials of a clinic that is still to come: of one that is noted afterwards nobody needs to know. */
async function tellOfClinic(
  client: Queryable,
  conferenceId: string,
  { id, title, heldOn, place, minutes, makeUp }: Clinic,
  officials: readonly string[],
  what: 'asked' | 'called off',
) {
  const { rows } = await client.query<{ today: string }>(
    `SELECT to_char(now() AT TIME ZONE time_zone, 'YYYY-MM-DD') AS today FROM conference WHERE id = $1`,
    [conferenceId],
  );
  if (heldOn < rows[0]!.today) return;
  await tell(client, {
    conferenceId,
    personIds: officials,
    kind: 'clinic',
    aboutId: id,
    facts: { what, title, heldOn, place, minutes, makeUp },
  });
}

/** Asks officials who belong to it by now and were not asked. @returns how many */
export function askNewcomers(pool: pg.Pool, acting: PersonActing, clinicId: string): Promise<number> {
  return inTransaction(pool, async (client) => {
    const clinic = await readClinic(client, acting.conferenceId, clinicId);
    const there = new Set(clinic.people.map(({ officialId }) => officialId));
    const meant = await officialsMeant(client, acting.conferenceId, clinic.seasonId, clinic);
    const fresh = meant.filter((id) => !there.has(id));
    if (fresh.length > 0) {
      await ask(client, acting, clinic, fresh);
      await noted(client, acting, clinicId, 'clinic: officials added', { officials: fresh });
    }
    return fresh.length;
  });
}

/** What is noted of an official, over what the page showed of them: changed by somebody else meanwhile, theirs stays. */
interface NotedOver extends AttendanceNoted {
  readonly was?: Pick<AttendanceNoted, 'state' | 'note'>;
}

/**
 * Notes who was there; those left out stay as they are.
 *
 * @throws Problem 404, 400 for somebody who was not asked
 * @returns how many changed, and of how many somebody else noted something meanwhile
 */
export function noteAttendance(
  pool: pg.Pool,
  acting: PersonActing,
  clinicId: string,
  people: readonly NotedOver[],
): Promise<{ changed: number; overtaken: number }> {
  const { conferenceId, personId } = acting;
  return inTransaction(pool, async (client) => {
    await client.query('SELECT FROM clinic WHERE conference_id = $1 AND id = $2 FOR NO KEY UPDATE', [
      ...[conferenceId, clinicId],
    ]);
    const clinic = await readClinic(client, conferenceId, clinicId);
    const before = new Map(clinic.people.map((one) => [one.officialId, one]));
    if (people.some(({ officialId }) => !before.has(officialId)))
      throw invalid([{ field: 'officialId', message: 'names somebody who was not asked to this clinic' }]);
    const differing = people.filter((one) => !alike(one, before.get(one.officialId)!));
    const changed = differing.filter(({ officialId, was }) => !was || alike(was, before.get(officialId)!));
    for (const { officialId, state, note } of changed)
      await client.query(
        `UPDATE clinic_attendance SET state = $4, note = $5, noted_by = $6, noted_at = now()
          WHERE conference_id = $1 AND clinic_id = $2 AND official_id = $3`,
        [conferenceId, clinicId, officialId, state, note, personId],
      );
    if (changed.length > 0)
      await noted(client, acting, clinicId, 'clinic attendance noted', {
        people: changed.map(({ was: _, ...one }) => one),
      });
    return { changed: changed.length, overtaken: differing.length - changed.length };
  });
}

const alike = (
  one: Pick<AttendanceNoted, 'state' | 'note'>,
  other: Pick<AttendanceNoted, 'state' | 'note'>,
) => one.state === other.state && one.note === other.note;

/** Removes a clinic of which nothing was noted; who was asked to come is told. @throws Problem 404, 409 */
export async function removeClinic(pool: pg.Pool, acting: PersonActing, clinicId: string): Promise<string> {
  return inTransaction(pool, async (client) => {
    const clinic = await readClinic(client, acting.conferenceId, clinicId);
    if (clinic.people.some(({ state }) => state !== 'open'))
      throw conflict('Attendance was noted: this clinic stays.');
    await client.query('DELETE FROM clinic WHERE conference_id = $1 AND id = $2', [
      acting.conferenceId,
      clinicId,
    ]);
    const asked = clinic.people.map(({ officialId }) => officialId);
    await tellOfClinic(client, acting.conferenceId, clinic, asked, 'called off');
    await noted(client, acting, clinicId, 'clinic removed', { title: clinic.title });
    return clinic.seasonId;
  });
}

const noted = (
  client: pg.PoolClient,
  { conferenceId, personId }: PersonActing,
  subjectId: string,
  action: string,
  after: object,
) =>
  appendAudit(client, { conferenceId, actorId: personId, action, subjectKind: 'clinic', subjectId, after });
