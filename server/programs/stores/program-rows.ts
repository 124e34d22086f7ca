import type { Queryable } from '../../database/transaction.ts';
import { notFound } from '../../web/problem.ts';
import type { Card, Frame, Program, ProgramPlay } from '../program.ts';

const frameColumns = `p.title, p.goal, p.audience, p.audience_position AS "audiencePosition",
  p.audience_crew_id AS "audienceCrewId", p.minutes, to_char(p.due_on, 'YYYY-MM-DD') AS "dueOn", p.code,
  p.most_bad AS "mostBad"`;

const cardColumns = `t.topic, t.aspect, t.showing, t.position, t.duty_key AS "dutyKey", t.answer,
  to_char(t.answered_on, 'YYYY-MM-DD') AS "answeredOn", t.rule_cited AS "ruleCited",
  t.mechanic_cited AS "mechanicCited", t.two_mechanics AS "twoMechanics", t.first_key AS "firstKey",
  t.second_key AS "secondKey", t.question, t.choices, t.narration, t.seconds_before AS "secondsBefore",
  t.seconds_after AS "secondsAfter"`;

/** @throws Problem 404 when the conference has no such program. @param lock holds it until the transaction ends */
export async function readProgram(
  db: Queryable,
  conferenceId: string,
  programId: string,
  lock: 'lock' | null = null,
): Promise<Program> {
  const { rows } = await db.query<Omit<Program, 'plays' | 'changedAt'> & { changedAt: Date }>(
    `SELECT p.id, p.season_id AS "seasonId", ${frameColumns}, p.version, p.frame_version AS "frameVersion",
            p.order_version AS "orderVersion", p.last_change AS "lastChange", p.changed_by AS "changedBy",
            p.changed_at AS "changedAt", p.before_last IS NOT NULL AS "canUndo"
       FROM training_program p WHERE p.conference_id = $1 AND p.id = $2 ${lock ? 'FOR UPDATE' : ''}`,
    [conferenceId, programId],
  );
  const program = rows[0];
  if (!program) throw notFound('training program');
  return {
    ...program,
    changedAt: program.changedAt.toISOString(),
    plays: await readPlays(db, conferenceId, programId),
  };
}

async function readPlays(db: Queryable, conferenceId: string, programId: string): Promise<ProgramPlay[]> {
  const { rows } = await db.query<ProgramPlay>(
    `SELECT t.play_id AS "playId", t.version, ${cardColumns} FROM training_play t
      WHERE t.conference_id = $1 AND t.program_id = $2 ORDER BY t.place, t.play_id`,
    [conferenceId, programId],
  );
  return rows;
}

export async function writeFrame(
  client: Queryable,
  conferenceId: string,
  programId: string,
  frame: Frame,
): Promise<void> {
  await client.query(
    `UPDATE training_program SET title = $3, goal = $4, audience = $5, audience_position = $6, audience_crew_id = $7,
            minutes = $8, due_on = $9, code = $10, most_bad = $11 WHERE conference_id = $1 AND id = $2`,
    [
      conferenceId,
      programId,
      frame.title,
      frame.goal,
      frame.audience,
      frame.audiencePosition,
      frame.audienceCrewId,
      frame.minutes,
      frame.dueOn,
      frame.code,
      frame.mostBad,
    ],
  );
}

/** Makes the program's plays these, in this order. */
export async function writePlays(
  client: Queryable,
  conferenceId: string,
  programId: string,
  plays: readonly ProgramPlay[],
): Promise<void> {
  await client.query('DELETE FROM training_play WHERE conference_id = $1 AND program_id = $2', [
    conferenceId,
    programId,
  ]);
  await client.query(
    `INSERT INTO training_play (conference_id, program_id, play_id, place, topic, aspect, showing, position, duty_key,
            answer, answered_on, rule_cited, mechanic_cited, two_mechanics, first_key, second_key, question, choices,
            narration, seconds_before, seconds_after, version)
     SELECT $1, $2, t."playId", t.place, t.topic, t.aspect, t.showing, t.position, t."dutyKey", t.answer,
            t."answeredOn", t."ruleCited", t."mechanicCited", t."twoMechanics", t."firstKey", t."secondKey", t.question,
            t.choices, t.narration, t."secondsBefore", t."secondsAfter", t.version
       FROM jsonb_to_recordset($3::jsonb) AS t ("playId" uuid, place int, topic text, aspect text, showing text,
            position text, "dutyKey" text, answer text, "answeredOn" date, "ruleCited" text, "mechanicCited" text,
            "twoMechanics" boolean, "firstKey" text, "secondKey" text, question text, choices jsonb, narration text,
            "secondsBefore" int, "secondsAfter" int, version int)`,
    [conferenceId, programId, JSON.stringify(plays.map((play, at) => ({ ...play, place: at + 1 })))],
  );
}

export const frameOf = (program: Frame): Frame => ({
  title: program.title,
  goal: program.goal,
  audience: program.audience,
  audiencePosition: program.audiencePosition,
  audienceCrewId: program.audienceCrewId,
  minutes: program.minutes,
  dueOn: program.dueOn,
  code: program.code,
  mostBad: program.mostBad,
});

export const cardOf = ({ playId: _, version: __, ...card }: ProgramPlay): Card => card;
