import type { PersonActing } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { EditionContent, EditionSource } from '../../programs/edition.ts';
import { notFound } from '../../web/problem.ts';
import { type Rule, type Standing, standingOf } from '../standing.ts';
import type { Stretch } from '../stretches.ts';
import { type EditionReel, readReelOf } from './reel-store.ts';

export interface KeptAnswer {
  readonly playNumber: number;
  readonly choice: number;
  readonly isRight: boolean;
  readonly how: 'online' | 'paper' | 'carried';
  readonly answeredAt: Date;
}

/** An edition as one of its audience has it before them. */
export interface Watching {
  readonly programId: string;
  readonly number: number;
  readonly note: string;
  readonly releasedAt: Date;
  readonly content: EditionContent;
  readonly sources: readonly EditionSource[];
  readonly namesShown: boolean;
  readonly rule: Rule;
  /** YYYY-MM-DD; null without a day. */
  readonly dueOn: string | null;
  readonly openedAt: Date | null;
  readonly place: number;
  readonly stretches: readonly Stretch[];
  readonly through: readonly number[];
  readonly doneAt: Date | null;
  /** The day of the session at which they were there. */
  readonly attendedOn: string | null;
  readonly answers: readonly KeptAnswer[];
  /** The newest edition of the program that they are to watch. */
  readonly newest: number;
  readonly hasConfirmed: boolean;
  readonly reel: EditionReel | null;
  readonly standing: Standing;
}

/** SQL: by when an edition `v` of a program `p` is to be watched: the day for who missed a session goes before. */
export const dueOf = `to_char(coalesce((SELECT max(s.make_up_by) FROM training_session s
   WHERE s.conference_id = $1 AND s.program_id = v.program_id AND s.edition_number = v.edition_number), p.due_on), 'YYYY-MM-DD')`;

/** SQL: the day of a session of the edition at which the person of `v` was there; text, or null. */
export const attendedOf = `(SELECT to_char(max(s.held_on), 'YYYY-MM-DD') FROM training_session s
    JOIN training_attended t ON t.conference_id = $1 AND t.session_id = s.id AND t.person_id = v.person_id
   WHERE s.conference_id = $1 AND s.program_id = v.program_id AND s.edition_number = v.edition_number)`;

/** Watched to its end, or been at a session: nothing of it is asked of them any more. */
export const isThrough = ({
  doneAt,
  attendedOn,
}: {
  readonly doneAt: Date | null;
  readonly attendedOn: string | null;
}): boolean => doneAt !== null || attendedOn !== null;

/** @throws Problem 404 when the person is not of the edition's audience. @param lock holds their row until the transaction ends */
export async function readWatching(
  db: Queryable,
  { conferenceId, personId }: PersonActing,
  programId: string,
  number: number,
  lock: 'lock' | null = null,
): Promise<Watching> {
  const { rows } = await db.query<Omit<Watching, 'rule' | 'answers' | 'reel' | 'standing'> & Rule>(
    `SELECT v.program_id AS "programId", v.edition_number AS number, e.note, e.released_at AS "releasedAt", e.content,
            e.sources, a.names_shown AS "namesShown", p.share_needed AS "shareNeeded",
            p.all_questions AS "allQuestions", ${dueOf} AS "dueOn", v.opened_at AS "openedAt", v.place, v.stretches,
            v.plays AS through, v.done_at AS "doneAt", ${attendedOf} AS "attendedOn",
            (SELECT max(n.edition_number) FROM training_viewer n
              WHERE n.conference_id = $1 AND n.program_id = $2 AND n.person_id = $4) AS newest,
            EXISTS (SELECT FROM training_notice n
                     WHERE n.conference_id = $1 AND n.program_id = $2 AND n.person_id = $4) AS "hasConfirmed"
       FROM training_viewer v
       JOIN training_audience a ON a.conference_id = $1 AND a.program_id = $2 AND a.edition_number = $3
       JOIN training_edition e ON e.conference_id = $1 AND e.program_id = $2 AND e.number = $3
       JOIN training_program p ON p.conference_id = $1 AND p.id = $2
      WHERE v.conference_id = $1 AND v.program_id = $2 AND v.edition_number = $3 AND v.person_id = $4
      ${lock ? 'FOR UPDATE OF v' : ''}`,
    [conferenceId, programId, number, personId],
  );
  const row = rows[0];
  if (!row) throw notFound('training program');
  const answers = await db.query<KeptAnswer>(
    `SELECT play_number AS "playNumber", choice, is_right AS "isRight", how, answered_at AS "answeredAt"
       FROM training_answer WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 AND person_id = $4
      ORDER BY play_number`,
    [conferenceId, programId, number, personId],
  );
  const { shareNeeded, allQuestions, ...rest } = row;
  const rule = { shareNeeded, allQuestions };
  const reel = await readReelOf(db, conferenceId, programId, number);
  return {
    ...rest,
    rule,
    answers: answers.rows,
    reel,
    standing: standingOf(rule, {
      seconds: reel?.facts.seconds ?? null,
      stretches: row.stretches,
      plays: row.content.plays.length,
      through: row.through,
      questions: row.content.plays.filter(isAsked).length,
      answered: answers.rows.length,
    }),
  };
}

export const isAsked = ({ choices }: { readonly choices: readonly unknown[] }): boolean => choices.length > 0;

/** A program that somebody is to watch, or has watched, in the newest edition that is for them. */
interface ToWatch {
  readonly programId: string;
  readonly number: number;
  readonly title: string;
  readonly goal: string;
  readonly note: string;
  readonly seasonId: string;
  readonly releasedAt: Date;
  readonly dueOn: string | null;
  readonly openedAt: Date | null;
  readonly doneAt: Date | null;
  readonly attendedOn: string | null;
  /** The newest earlier edition that they watched; null where there is none. */
  readonly earlierDone: number | null;
}

/** What somebody is to watch, what is due first in front; what is done last. */
export async function listToWatch(
  db: Queryable,
  { conferenceId, personId }: PersonActing,
): Promise<ToWatch[]> {
  const { rows } = await db.query<ToWatch>(
    `SELECT v.program_id AS "programId", v.edition_number AS number, e.content ->> 'title' AS title,
            e.content ->> 'goal' AS goal, e.note, p.season_id AS "seasonId", e.released_at AS "releasedAt",
            ${dueOf} AS "dueOn", v.opened_at AS "openedAt", v.done_at AS "doneAt", ${attendedOf} AS "attendedOn",
            (SELECT max(n.edition_number) FROM training_viewer n
              WHERE n.conference_id = $1 AND n.program_id = v.program_id AND n.person_id = $2
                AND n.edition_number < v.edition_number AND n.done_at IS NOT NULL) AS "earlierDone"
       FROM training_viewer v
       JOIN training_edition e ON e.conference_id = $1 AND e.program_id = v.program_id AND e.number = v.edition_number
       JOIN training_program p ON p.conference_id = $1 AND p.id = v.program_id
      WHERE v.conference_id = $1 AND v.person_id = $2
        AND NOT EXISTS (SELECT FROM training_viewer n
                         WHERE n.conference_id = $1 AND n.program_id = v.program_id AND n.person_id = $2
                           AND n.edition_number > v.edition_number)
      ORDER BY v.done_at IS NOT NULL, 8 NULLS LAST, e.released_at, v.program_id`,
    [conferenceId, personId],
  );
  return rows;
}
