import type { Queryable } from '../../server/database/transaction.ts';

export interface ManySittings {
  readonly conferenceId: string;
  readonly seasonId: string;
  readonly title: string;
  readonly closesAt: Date;
  /** By official, sitting by sitting, whether each of the same questions was right. */
  readonly taken: ReadonlyMap<string, readonly (readonly (0 | 1)[])[]>;
}

/** A quiz of two starts, the best of which counts, with sittings that have ended, put in by SQL. @returns its id */
export async function manySittings(
  db: Queryable,
  { conferenceId, seasonId, title, closesAt, taken }: ManySittings,
): Promise<string> {
  const one = async (sql: string, values: unknown[]) =>
    (await db.query<{ id: string }>(sql, [conferenceId, ...values])).rows[0]!.id;
  const opensAt = new Date(closesAt.getTime() - 48 * 3_600_000);
  const quizId = await one(
    `INSERT INTO quiz (conference_id, season_id, title, opens_at, closes_at, minutes, starts, announced_at)
     VALUES ($1, $2, $3, $4, $5, 30, 2, $4) RETURNING id`,
    [seasonId, title, opensAt, closesAt],
  );
  const questions: string[] = [];
  for (const place of [...taken.values()][0]![0]!.keys()) {
    const label = `${title} ${place + 1}`;
    const id = await one('INSERT INTO quiz_question (conference_id, label) VALUES ($1, $2) RETURNING id', [
      label,
    ]);
    await db.query(
      `INSERT INTO quiz_question_version (conference_id, question_id, version, text, choices, answer, code, rule, explanation)
       VALUES ($1, $2, 1, $3, '["True", "False"]', 0, 'college', '4-1-3', $4)`,
      [conferenceId, id, `Is ${label} dead?`, `Because of ${label}.`],
    );
    await db.query(
      'INSERT INTO quiz_pool (conference_id, quiz_id, question_id, place) VALUES ($1, $2, $3, $4)',
      [...[conferenceId, quizId, id, place + 1]],
    );
    questions.push(id);
  }
  for (const [officialId, sittings] of taken) {
    await db.query('INSERT INTO quiz_taker (conference_id, quiz_id, official_id) VALUES ($1, $2, $3)', [
      ...[conferenceId, quizId, officialId],
    ]);
    for (const [at, answers] of sittings.entries()) {
      const begun = new Date(opensAt.getTime() + (at + 1) * 3_600_000);
      const attempt = await one(
        'INSERT INTO quiz_attempt (conference_id, quiz_id, official_id, number, begun_at) VALUES ($1, $2, $3, $4, $5) RETURNING id',
        [quizId, officialId, at + 1, begun],
      );
      await db.query(
        `INSERT INTO quiz_answer (conference_id, attempt_id, place, question_id, version, choice)
         SELECT $1, $2, n.place, n.id, 1, n.choice
           FROM unnest($3::uuid[], $4::int[]) WITH ORDINALITY AS n (id, choice, place)`,
        [conferenceId, attempt, questions, answers.map((right) => 1 - right)],
      );
      await db.query(
        `UPDATE quiz_attempt SET ended_at = begun_at + interval '20 minutes', ended_by = 'official' WHERE conference_id = $1 AND id = $2`,
        [conferenceId, attempt],
      );
    }
  }
  return quizId;
}
