import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { lockSeasonToChange } from './season-to-change.ts';

/** Steps of setting up a season that no other row shows to be done. */
export const seasonStepNames = ['rubric', 'crews', 'invitations', 'settings'] as const;
export type SeasonStepName = (typeof seasonStepNames)[number];

/** Confirmed: somebody looked at it and keeps it as it is. Left out: the season does without. */
export type StepAnswer = 'confirmed' | 'left out';
export type StepAnswers = ReadonlyMap<SeasonStepName, StepAnswer>;

export async function readSteps(db: Queryable, conferenceId: string, seasonId: string): Promise<StepAnswers> {
  const { rows } = await db.query<{ step: SeasonStepName; answer: StepAnswer }>(
    'SELECT step, answer FROM season_step WHERE conference_id = $1 AND season_id = $2',
    [conferenceId, seasonId],
  );
  return new Map(rows.map(({ step, answer }) => [step, answer]));
}

/**
 * Answers a step of a season's setting up, or with null takes the answer back. The same answer again changes nothing.
 * @throws Problem 404 when the conference has no such season, 409 when it is closed.
 */
export async function answerStep(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  step: SeasonStepName,
  answer: StepAnswer | null,
): Promise<void> {
  await lockSeasonToChange(client, conferenceId, seasonId, step);
  const before = (await readSteps(client, conferenceId, seasonId)).get(step) ?? null;
  if (before === answer) return;
  if (answer === null) {
    await client.query('DELETE FROM season_step WHERE conference_id = $1 AND season_id = $2 AND step = $3', [
      conferenceId,
      seasonId,
      step,
    ]);
  } else {
    await client.query(
      `INSERT INTO season_step (conference_id, season_id, step, answer, answered_by) VALUES ($1, $2, $3, $4, $5)
       ON CONFLICT (conference_id, season_id, step) DO UPDATE
         SET answer = excluded.answer, answered_at = now(), answered_by = excluded.answered_by`,
      [conferenceId, seasonId, step, answer, personId],
    );
  }
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: `answered a step of setting up: ${step}`,
    subjectKind: 'season',
    subjectId: seasonId,
    before: { [step]: before },
    after: { [step]: answer },
  });
}
