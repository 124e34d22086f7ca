import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { tell, tellCoordinators } from '../../messages/tell.ts';
import { moment } from '../../web/format.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import { readProgram } from './program-rows.ts';

/** An official who is shown in a play of a program: who stood at the card's position when the play was worked. */
interface Shown {
  readonly programId: string;
  readonly playId: string;
  /** Place in the program, from 1. */
  readonly place: number;
  readonly personId: string;
  readonly name: string;
  readonly position: string;
  readonly showing: string;
  readonly toldAt: Date | null;
  readonly objectUntil: Date | null;
  readonly objectedAt: Date | null;
  readonly reason: string;
  readonly decision: 'shown' | 'left out' | null;
  readonly decisionReason: string;
  readonly state: 'not told' | 'may object' | 'objects' | 'decided' | 'no objection';
}

/** Who is shown in a program as it is now, in the order of its plays. Names: for the coordinator alone. */
export async function readShown(
  db: Queryable,
  conferenceId: string,
  programId: string,
  now = new Date(),
): Promise<Shown[]> {
  const { rows } = await db.query<Omit<Shown, 'state'>>(
    `SELECT t.program_id AS "programId", t.play_id AS "playId", t.place, w.person_id AS "personId",
            p.given_name || ' ' || p.family_name AS name, t.position, t.showing, s.told_at AS "toldAt",
            s.object_until AS "objectUntil", s.objected_at AS "objectedAt", coalesce(s.reason, '') AS reason, s.decision,
            coalesce(s.decision_reason, '') AS "decisionReason"
       FROM training_play t
       JOIN play l ON l.conference_id = $1 AND l.id = t.play_id
       JOIN working_crew_member w ON w.conference_id = $1 AND w.game_id = l.game_id AND w.position = t.position
       JOIN person p ON p.conference_id = $1 AND p.id = w.person_id AND p.active
       LEFT JOIN training_shown s ON s.conference_id = $1 AND s.program_id = t.program_id AND s.play_id = t.play_id
        AND s.person_id = w.person_id
      WHERE t.conference_id = $1 AND t.program_id = $2 ORDER BY t.place`,
    [conferenceId, programId],
  );
  return rows.map((row) => ({ ...row, state: stateOf(row, now) }));
}

const stateOf = (
  one: Pick<Shown, 'toldAt' | 'objectUntil' | 'objectedAt' | 'decision'>,
  now: Date,
): Shown['state'] => {
  if (one.toldAt === null) return 'not told';
  if (one.objectedAt !== null) return one.decision === null ? 'objects' : 'decided';
  return one.objectUntil! > now ? 'may object' : 'no objection';
};

/**
 * Tells those who are shown and were not told yet, privately, and until when they may object.
 *
 * @returns how many people were told
 */
export async function tellShown(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  days: number,
): Promise<number> {
  return inTransaction(pool, async (client) => {
    const program = await readProgram(client, conferenceId, programId, 'lock');
    const untold = (await readShown(client, conferenceId, programId)).filter(
      ({ state }) => state === 'not told',
    );
    const until = new Date(Date.now() + days * 86_400_000);
    await client.query(
      `INSERT INTO training_shown (conference_id, program_id, play_id, person_id, position, told_by, object_until)
       SELECT $1, $2, u."playId", u."personId", u.position, $4, $5
         FROM jsonb_to_recordset($3::jsonb) AS u ("playId" uuid, "personId" uuid, position text)`,
      [conferenceId, programId, JSON.stringify(untold), personId, until],
    );
    const { rows } = await client.query<{ zone: string }>(
      'SELECT time_zone AS zone FROM conference WHERE id = $1',
      [conferenceId],
    );
    const people = [...new Set(untold.map((one) => one.personId))];
    for (const each of people)
      await tell(client, {
        conferenceId,
        personIds: [each],
        kind: 'shown in training',
        aboutId: programId,
        facts: {
          title: program.title,
          plays: untold.filter((one) => one.personId === each).length,
          until: until.toISOString(),
          timeZone: rows[0]!.zone,
        },
      });
    if (people.length > 0)
      await appendAudit(client, {
        ...{ conferenceId, actorId: personId, action: 'training program: told who is shown' },
        ...{
          subjectKind: 'training_program',
          subjectId: programId,
          after: { people, until: until.toISOString() },
        },
      });
    return people.length;
  });
}

/** A play that shows the signed-in official, before and after they were asked. */
interface OwnShown {
  readonly programId: string;
  readonly playId: string;
  readonly title: string;
  readonly game: string;
  readonly week: number;
  readonly playNumber: number;
  readonly gameId: string;
  readonly position: string;
  readonly objectUntil: Date;
  readonly objectedAt: Date | null;
  readonly reason: string;
  readonly decision: 'shown' | 'left out' | null;
  readonly decisionReason: string;
}

/** What somebody was told that shows them, the newest first. */
export async function listOwnShown(
  db: Queryable,
  { conferenceId, personId }: PersonActing,
): Promise<OwnShown[]> {
  const { rows } = await db.query<OwnShown>(
    `SELECT s.program_id AS "programId", s.play_id AS "playId", p.title, g.title AS game, m.week, l.number AS "playNumber",
            l.game_id AS "gameId", s.position, s.object_until AS "objectUntil", s.objected_at AS "objectedAt", s.reason,
            s.decision, s.decision_reason AS "decisionReason"
       FROM training_shown s
       JOIN training_program p ON p.conference_id = $1 AND p.id = s.program_id
       JOIN play l ON l.conference_id = $1 AND l.id = s.play_id
       JOIN game m ON m.conference_id = $1 AND m.id = l.game_id
       JOIN game_teams g ON g.conference_id = $1 AND g.game_id = l.game_id
      WHERE s.conference_id = $1 AND s.person_id = $2 ORDER BY s.told_at DESC, l.number`,
    [conferenceId, personId],
  );
  return rows;
}

/**
 * Keeps an official's objection to being shown.
 *
 * @throws Problem 404 when they were not told of the play; 409 after the time; 400 naming `reason`
 */
export async function objectToPlay(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  { programId, playId }: { readonly programId: string; readonly playId: string },
  reason: string,
): Promise<void> {
  if (reason === '') throw invalid([{ field: 'reason', message: 'say why it should not be shown' }]);
  await inTransaction(pool, async (client) => {
    const { title } = await readProgram(client, conferenceId, programId, 'lock').catch(() => {
      throw notFound('play that shows you');
    });
    const { rows } = await client.query<{ isOver: boolean; objectedAt: Date | null; name: string }>(
      `SELECT s.object_until < now() AS "isOver", s.objected_at AS "objectedAt", p.given_name || ' ' || p.family_name AS name
         FROM training_shown s JOIN person p ON p.conference_id = $1 AND p.id = s.person_id
        WHERE s.conference_id = $1 AND s.program_id = $2 AND s.play_id = $3 AND s.person_id = $4`,
      [conferenceId, programId, playId, personId],
    );
    const mine = rows[0];
    if (!mine) throw notFound('play that shows you');
    // Sent again, it is there already.
    if (mine.objectedAt) return;
    if (mine.isOver) throw conflict('The time to object is over. Talk with your coordinator.');
    await client.query(
      `UPDATE training_shown SET objected_at = now(), reason = $5
        WHERE conference_id = $1 AND program_id = $2 AND play_id = $3 AND person_id = $4`,
      [conferenceId, programId, playId, personId, reason],
    );
    await tellCoordinators(client, {
      ...{ conferenceId, actorId: personId, kind: 'objection' as const, aboutId: programId },
      facts: { title, official: mine.name },
    });
    // The reason stands with the objection alone, so that it can be taken away.
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'objected to being shown in training' },
      ...{ subjectKind: 'training_program', subjectId: programId, after: { playId } },
    });
  });
}

/**
 * Decides on an objection, with a reason that its official reads. Left out: the coordinator takes the play out.
 *
 * @throws Problem 404 when there is no open objection; 400 naming `reason`
 */
export async function decideObjection(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  {
    programId,
    playId,
    officialId,
  }: { readonly programId: string; readonly playId: string; readonly officialId: string },
  { decision, reason }: { readonly decision: 'shown' | 'left out'; readonly reason: string },
): Promise<void> {
  if (reason === '') throw invalid([{ field: 'reason', message: 'give the official a reason' }]);
  await inTransaction(pool, async (client) => {
    const { title } = await readProgram(client, conferenceId, programId, 'lock');
    const { rowCount } = await client.query(
      `UPDATE training_shown SET decision = $5, decision_reason = $6, decided_by = $7, decided_at = now()
        WHERE conference_id = $1 AND program_id = $2 AND play_id = $3 AND person_id = $4
          AND objected_at IS NOT NULL AND decision IS NULL`,
      [conferenceId, programId, playId, officialId, decision, reason, personId],
    );
    if (rowCount === 0) throw notFound('open objection');
    await tell(client, {
      ...{ conferenceId, personIds: [officialId], kind: 'objection decided' as const, aboutId: programId },
      facts: { title, decision, reason },
    });
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'training program: decided on an objection' },
      ...{ subjectKind: 'training_program', subjectId: programId, after: { playId, officialId, decision } },
    });
  });
}

/**
 * Refuses a release while somebody who is shown may still object, or objects, or was not told.
 *
 * @param untoldBecause why those who were not told are not: without it they have to be told first
 * @throws Problem 409
 */
export async function nobodyObjects(
  client: Queryable,
  conferenceId: string,
  programId: string,
  untoldBecause: string,
): Promise<void> {
  const shown = await readShown(client, conferenceId, programId);
  const places = (ones: readonly Shown[]) =>
    new Intl.ListFormat('en-US').format([...new Set(ones.map(({ place }) => `play ${place}`))]);
  const of = (...states: Shown['state'][]) => shown.filter(({ state }) => states.includes(state));
  const objecting = of('objects');
  if (objecting.length > 0)
    throw conflict(
      `Not released: an official objects to being shown in ${places(objecting)}. Decide on it first, on the page of who is shown.`,
    );
  const leftOut = shown.filter(({ decision }) => decision === 'left out');
  if (leftOut.length > 0)
    throw conflict(
      `Not released: you decided to leave out ${places(leftOut)}. Take it out of the program first.`,
    );
  const running = of('may object');
  if (running.length > 0) {
    const last = Math.max(...running.map(({ objectUntil }) => objectUntil!.getTime()));
    const { rows } = await client.query<{ zone: string }>(
      'SELECT time_zone AS zone FROM conference WHERE id = $1',
      [conferenceId],
    );
    throw conflict(
      `Not released: who is shown in ${places(running)} may object until ${moment(new Date(last), rows[0]!.zone)}. Wait until then, or take it out.`,
    );
  }
  const untold = of('not told');
  if (untold.length > 0 && untoldBecause === '')
    throw conflict(
      `Not released: who is shown in ${places(untold)} was not told. Tell them first, on the page of who is shown, or say why not.`,
    );
}
