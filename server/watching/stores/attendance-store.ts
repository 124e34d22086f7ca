import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { tell } from '../../messages/tell.ts';
import type { EditionContent } from '../../programs/edition.ts';
import { type Audience, audienceNow, tellViewers } from '../../programs/stores/audience-store.ts';
import { readProgram } from '../../programs/stores/program-rows.ts';
import { invalid, notFound } from '../../web/problem.ts';
import { dayIn } from '../../web/today.ts';
import { type Standing, standingOf } from '../standing.ts';
import type { Stretch } from '../stretches.ts';
import { readReelOf } from './reel-store.ts';
import { attendedOf, dueOf, isAsked } from './viewer-store.ts';

/** One of an edition's audience, and how far they are. For the coordinator. */
interface Attendance {
  readonly personId: string;
  readonly name: string;
  readonly because: string;
  readonly standing: Standing;
  readonly doneAt: Date | null;
  readonly attendedOn: string | null;
  /** An earlier edition that they watched to its end. */
  readonly earlierDone: number | null;
  readonly remindedAt: Date | null;
  readonly state: 'watched' | 'there' | 'earlier' | 'begun' | 'not begun';
}

interface EditionAttendance {
  readonly audience: Audience & { readonly namesShown: boolean };
  readonly dueOn: string | null;
  readonly people: readonly Attendance[];
  /** Who belongs to the audience by now and was not there at the release: they are added by hand. */
  readonly came: readonly { readonly personId: string; readonly name: string }[];
}

const earlierOf = `(SELECT max(n.edition_number) FROM training_viewer n
  WHERE n.conference_id = $1 AND n.program_id = v.program_id AND n.person_id = v.person_id
    AND n.edition_number < v.edition_number AND n.done_at IS NOT NULL)`;

/** @throws Problem 404 when the conference has no such edition, or it was released before audiences were kept. */
export async function readAttendance(
  db: Queryable,
  conferenceId: string,
  programId: string,
  number: number,
): Promise<EditionAttendance> {
  const program = await readProgram(db, conferenceId, programId);
  const { rows: found } = await db.query<{
    audience: Audience['audience'];
    position: string | null;
    crewId: string | null;
    namesShown: boolean;
    content: EditionContent;
    shareNeeded: number;
    allQuestions: boolean;
    dueOn: string | null;
  }>(
    `SELECT v.audience, v.position, v.crew_id AS "crewId", v.names_shown AS "namesShown", e.content,
            p.share_needed AS "shareNeeded", p.all_questions AS "allQuestions", ${dueOf} AS "dueOn"
       FROM training_audience v
       JOIN training_edition e ON e.conference_id = $1 AND e.program_id = $2 AND e.number = $3
       JOIN training_program p ON p.conference_id = $1 AND p.id = $2
      WHERE v.conference_id = $1 AND v.program_id = $2 AND v.edition_number = $3`,
    [conferenceId, programId, number],
  );
  const edition = found[0];
  if (!edition) throw notFound('edition of a training program');
  const { content, shareNeeded, allQuestions, dueOn, ...audience } = edition;
  const reel = await readReelOf(db, conferenceId, programId, number);
  const { rows } = await db.query<
    Omit<Attendance, 'standing' | 'state'> & {
      stretches: Stretch[];
      through: number[];
      answered: number;
      opened: boolean;
    }
  >(
    `SELECT v.person_id AS "personId", p.given_name || ' ' || p.family_name AS name, v.because, v.done_at AS "doneAt",
            v.stretches, v.plays AS through, v.opened_at IS NOT NULL AS opened, ${attendedOf} AS "attendedOn",
            ${earlierOf} AS "earlierDone",
            (SELECT count(*)::int FROM training_answer a WHERE a.conference_id = $1 AND a.program_id = $2
                AND a.edition_number = $3 AND a.person_id = v.person_id) AS answered,
            (SELECT max(m.happened_at) FROM message m WHERE m.conference_id = $1 AND m.person_id = v.person_id
                AND m.kind = 'training reminder' AND m.about_id = $2) AS "remindedAt"
       FROM training_viewer v JOIN person p ON p.conference_id = $1 AND p.id = v.person_id
      WHERE v.conference_id = $1 AND v.program_id = $2 AND v.edition_number = $3
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, programId, number],
  );
  const questions = content.plays.filter(isAsked).length;
  const people = rows.map(({ stretches, through, answered, opened, ...one }): Attendance => {
    const standing = standingOf(
      { shareNeeded, allQuestions },
      {
        seconds: reel?.facts.seconds ?? null,
        stretches,
        plays: content.plays.length,
        through,
        questions,
        answered,
      },
    );
    const state = one.doneAt
      ? 'watched'
      : one.attendedOn
        ? 'there'
        : one.earlierDone
          ? 'earlier'
          : opened || answered > 0
            ? 'begun'
            : 'not begun';
    return { ...one, standing, state };
  });
  const meant = await audienceNow(db, conferenceId, program.seasonId, audience);
  const came = meant
    .map(({ personId }) => personId)
    .filter((id) => !people.some(({ personId }) => personId === id));
  const { rows: names } = await db.query<{ personId: string; name: string }>(
    `SELECT id AS "personId", given_name || ' ' || family_name AS name FROM person
      WHERE conference_id = $1 AND id = ANY ($2::uuid[]) ORDER BY family_name, given_name`,
    [conferenceId, came],
  );
  return { audience, dueOn, people, came: names };
}

export const isOpen = ({ state }: Attendance): boolean => state === 'begun' || state === 'not begun';

/**
 * Adds people by hand, and tells them.
 *
 * @throws Problem 400 naming `personIds` where somebody is no active official, observer or coordinator of the conference
 */
export async function addViewers(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  number: number,
  personIds: readonly string[],
): Promise<number> {
  return inTransaction(pool, async (client) => {
    const program = await readProgram(client, conferenceId, programId, 'lock');
    await readAttendance(client, conferenceId, programId, number);
    const { rows } = await client.query<{ id: string }>(
      `SELECT p.id FROM person p WHERE p.conference_id = $1 AND p.id = ANY ($2::uuid[]) AND p.active
          AND EXISTS (SELECT FROM person_role r WHERE r.conference_id = $1 AND r.person_id = p.id
                         AND r.role IN ('official', 'observer', 'coordinator'))`,
      [conferenceId, personIds],
    );
    if (rows.length < new Set(personIds).size)
      throw invalid([
        {
          field: 'personIds',
          message: 'name active officials, observers or coordinators of this conference',
        },
      ]);
    const added = await client.query<{ id: string }>(
      `INSERT INTO training_viewer (conference_id, program_id, edition_number, person_id, because, added_by)
       SELECT $1, $2, $3, id, 'by hand', $5 FROM unnest($4::uuid[]) AS a (id) ON CONFLICT DO NOTHING RETURNING person_id AS id`,
      [conferenceId, programId, number, rows.map(({ id }) => id), personId],
    );
    const ids = added.rows.map(({ id }) => id);
    if (ids.length === 0) return 0;
    await tellViewers(client, conferenceId, program, { number, note: '' }, ids);
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'training program: added to the audience' },
      ...{ subjectKind: 'training_program', subjectId: programId, after: { edition: number, people: ids } },
    });
    return ids.length;
  });
}

/**
 * Reminds those of these people who have not watched, each once a day of the conference.
 *
 * @returns how many were reminded
 */
export async function remindViewers(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  number: number,
  personIds: readonly string[] | 'all',
): Promise<number> {
  return inTransaction(pool, async (client) => {
    const { people, dueOn } = await readAttendance(client, conferenceId, programId, number);
    const { title } = await readProgram(client, conferenceId, programId);
    const { rows } = await client.query<{ zone: string }>(
      'SELECT time_zone AS zone FROM conference WHERE id = $1',
      [conferenceId],
    );
    const open = people.filter(
      (one) => isOpen(one) && (personIds === 'all' || personIds.includes(one.personId)),
    );
    const told = await tell(client, {
      conferenceId,
      personIds: open.map((one) => one.personId),
      kind: 'training reminder',
      aboutId: programId,
      once: `${programId} ${dayIn(rows[0]!.zone)}`,
      facts: { title, edition: number, dueOn },
    });
    if (told > 0)
      await appendAudit(client, {
        ...{ conferenceId, actorId: personId, action: 'training program: reminded who has not watched' },
        ...{
          subjectKind: 'training_program',
          subjectId: programId,
          after: { edition: number, reminded: told },
        },
      });
    return told;
  });
}

/** Writes the reminders that are due in all conferences: some days before the due date, each once. */
export async function remindBeforeDue(pool: pg.Pool): Promise<number> {
  const { rowCount } = await pool.query(
    `INSERT INTO message (conference_id, person_id, kind, about_id, facts, once)
     SELECT w.conference_id, w.person_id, 'training reminder', w.program_id,
            jsonb_build_object('title', w.title, 'edition', w.edition_number, 'dueOn', w.due::text),
            concat_ws(' ', 'before', w.program_id, w.edition_number, w.due)
       FROM (SELECT v.conference_id, v.person_id, v.program_id, v.edition_number, p.title, p.remind_days, c.time_zone,
                    coalesce((SELECT max(s.make_up_by) FROM training_session s
                               WHERE s.conference_id = v.conference_id AND s.program_id = v.program_id
                                 AND s.edition_number = v.edition_number), p.due_on) AS due
               FROM training_viewer v
               JOIN training_program p ON p.conference_id = v.conference_id AND p.id = v.program_id AND p.remind_days > 0
               JOIN conference c ON c.id = v.conference_id
               JOIN person o ON o.conference_id = v.conference_id AND o.id = v.person_id AND o.active
              WHERE NOT EXISTS (SELECT FROM training_viewer n
                                 WHERE n.conference_id = v.conference_id AND n.program_id = v.program_id
                                   AND n.person_id = v.person_id
                                   AND (n.done_at IS NOT NULL OR n.edition_number > v.edition_number))
                AND NOT EXISTS (SELECT FROM training_session s
                                  JOIN training_attended t ON t.conference_id = s.conference_id AND t.session_id = s.id
                                   AND t.person_id = v.person_id
                                 WHERE s.conference_id = v.conference_id AND s.program_id = v.program_id
                                   AND s.edition_number = v.edition_number)) w
      WHERE w.due BETWEEN (now() AT TIME ZONE w.time_zone)::date AND (now() AT TIME ZONE w.time_zone)::date + w.remind_days
     ON CONFLICT (conference_id, person_id, kind, once) WHERE once IS NOT NULL DO NOTHING`,
  );
  return rowCount ?? 0;
}
