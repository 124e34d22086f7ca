import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { invalid, notFound } from '../../web/problem.ts';
import type { WatchingRule } from '../attendance-input.ts';

/** @throws Problem 404 when the conference has no such program. */
export async function readRule(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<WatchingRule> {
  const { rows } = await db.query<WatchingRule>(
    `SELECT share_needed AS "shareNeeded", all_questions AS "allQuestions", remind_days AS "remindDays"
       FROM training_program WHERE conference_id = $1 AND id = $2`,
    [conferenceId, programId],
  );
  if (!rows[0]) throw notFound('training program');
  return rows[0];
}

/** What counts from now on; what is done stays done. */
export async function keepRule(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  rule: WatchingRule,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const before = await readRule(client, conferenceId, programId);
    await client.query(
      'UPDATE training_program SET share_needed = $3, all_questions = $4, remind_days = $5 WHERE conference_id = $1 AND id = $2',
      [conferenceId, programId, rule.shareNeeded, rule.allQuestions, rule.remindDays],
    );
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'training program: what counts as watched' },
      ...{ subjectKind: 'training_program', subjectId: programId, before, after: rule },
    });
  });
}

/**
 * Shows an edition's audience who is in its plays, or no longer. A correction begins without names again.
 *
 * @param confirmed said twice: without it, names are never shown to everybody
 * @throws Problem 400 naming `sure`
 */
export async function showNames(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  number: number,
  { shown, confirmed }: { readonly shown: boolean; readonly confirmed: boolean },
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ audience: string; namesShown: boolean }>(
      `SELECT audience, names_shown AS "namesShown" FROM training_audience
        WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 FOR UPDATE`,
      [conferenceId, programId, number],
    );
    const now = rows[0];
    if (!now) throw notFound('edition of a training program');
    if (shown && now.audience === 'everybody' && !confirmed)
      throw invalid([
        {
          field: 'sure',
          message: 'names shown to everybody cannot be taken back: confirm it twice, or leave it',
        },
      ]);
    if (now.namesShown === shown) return;
    await client.query(
      `UPDATE training_audience SET names_shown = $4 WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3`,
      [conferenceId, programId, number, shown],
    );
    await appendAudit(client, {
      ...{
        conferenceId,
        actorId: personId,
        action: `training program: names ${shown ? 'shown' : 'no longer shown'}`,
      },
      ...{ subjectKind: 'training_program', subjectId: programId },
      before: { edition: number, namesShown: now.namesShown },
      after: { edition: number, namesShown: shown, audience: now.audience },
    });
  });
}
