import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';

interface TrainingSetting {
  /** What is said about film and audience before the first play of each program. */
  readonly notice: string;
  /** How long an official who is shown may object, in days. */
  readonly objectionDays: number;
}

const usualSetting: TrainingSetting = {
  notice:
    'These plays and their film belong to the conference and those who lent it to us. They are shown to you, as one of the audience named above, so that all of us learn from them, and for nothing else. Do not pass them on, copy them, film the screen, or show them to others; speak about them only within this audience. Nobody in them is to be named or blamed.',
  objectionDays: 3,
};

export async function readTrainingSetting(db: Queryable, conferenceId: string): Promise<TrainingSetting> {
  const { rows } = await db.query<TrainingSetting>(
    'SELECT notice, objection_days AS "objectionDays" FROM training_setting WHERE conference_id = $1',
    [conferenceId],
  );
  return rows[0] ?? usualSetting;
}

export async function keepTrainingSetting(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  setting: TrainingSetting,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    await client.query('SELECT FROM conference WHERE id = $1 FOR NO KEY UPDATE', [conferenceId]);
    const before = await readTrainingSetting(client, conferenceId);
    if (before.notice === setting.notice && before.objectionDays === setting.objectionDays) return;
    await client.query(
      `INSERT INTO training_setting (conference_id, notice, objection_days) VALUES ($1, $2, $3)
       ON CONFLICT (conference_id) DO UPDATE SET notice = excluded.notice, objection_days = excluded.objection_days`,
      [conferenceId, setting.notice, setting.objectionDays],
    );
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'settings of training changed' },
      ...{ subjectKind: 'conference', subjectId: conferenceId, before, after: setting },
    });
  });
}

/** Notes once, with the words that were there, that somebody read what is said about film and audience. */
export async function confirmNotice(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { notice } = await readTrainingSetting(client, conferenceId);
    const { rowCount } = await client.query(
      `INSERT INTO training_notice (conference_id, program_id, person_id, notice) VALUES ($1, $2, $3, $4)
       ON CONFLICT DO NOTHING`,
      [conferenceId, programId, personId, notice],
    );
    if (rowCount === 0) return;
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'confirmed what is said about film' },
      ...{ subjectKind: 'training_program', subjectId: programId },
    });
  });
}
