import type { Queryable } from '../../database/transaction.ts';

/** What stands with a season's training, for its coordinator: objections to decide on, and who has not near the due date. */
interface TrainingStands {
  readonly objections: readonly {
    readonly programId: string;
    readonly title: string;
    readonly count: number;
  }[];
  readonly unwatched: readonly {
    readonly programId: string;
    readonly number: number;
    readonly title: string;
    readonly count: number;
    readonly dueOn: string;
  }[];
}

/** Near is within the days in which people are reminded, or three; past it stays for two weeks. */
export async function readTrainingStands(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  today: string,
): Promise<TrainingStands> {
  const objections = await db.query<TrainingStands['objections'][number]>(
    `SELECT p.id AS "programId", p.title, count(*)::int AS count FROM training_program p
       JOIN training_shown s ON s.conference_id = $1 AND s.program_id = p.id AND s.objected_at IS NOT NULL
        AND s.decision IS NULL
      WHERE p.conference_id = $1 AND p.season_id = $2 GROUP BY p.id, p.title ORDER BY min(s.objected_at)`,
    [conferenceId, seasonId],
  );
  const unwatched = await db.query<TrainingStands['unwatched'][number]>(
    `SELECT w."programId", w.number, w.title, w.count, to_char(w.due, 'YYYY-MM-DD') AS "dueOn" FROM (
       SELECT p.id AS "programId", v.edition_number AS number, p.title, count(*)::int AS count, p.remind_days,
              coalesce((SELECT max(s.make_up_by) FROM training_session s
                         WHERE s.conference_id = $1 AND s.program_id = p.id AND s.edition_number = v.edition_number),
                       p.due_on) AS due
         FROM training_program p
         JOIN training_viewer v ON v.conference_id = $1 AND v.program_id = p.id
          AND v.edition_number = (SELECT max(e.number) FROM training_edition e
                                   WHERE e.conference_id = $1 AND e.program_id = p.id)
        WHERE p.conference_id = $1 AND p.season_id = $2
          AND NOT EXISTS (SELECT FROM training_viewer n WHERE n.conference_id = $1 AND n.program_id = p.id
                             AND n.person_id = v.person_id AND n.done_at IS NOT NULL)
          AND NOT EXISTS (SELECT FROM training_session s
                            JOIN training_attended t ON t.conference_id = $1 AND t.session_id = s.id
                             AND t.person_id = v.person_id
                           WHERE s.conference_id = $1 AND s.program_id = p.id AND s.edition_number = v.edition_number)
        GROUP BY p.id, v.edition_number, p.title, p.remind_days, p.due_on) w
      WHERE w.due BETWEEN $3::date - 14 AND $3::date + greatest(w.remind_days, 3) ORDER BY w.due`,
    [conferenceId, seasonId, today],
  );
  return { objections: objections.rows, unwatched: unwatched.rows };
}
