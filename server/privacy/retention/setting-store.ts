import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { keptForGood, type Retention } from './kinds.ts';

/** For how long a conference keeps what; for good until it says otherwise. */
export async function readRetention(db: Queryable, conferenceId: string): Promise<Retention> {
  const { rows } = await db.query<Retention>(
    `SELECT remarks_years AS remarks, letters_years AS letters, absences_years AS absences,
            messages_years AS messages, tokens_years AS tokens, people_years AS people, nightly
       FROM retention_setting WHERE conference_id = $1`,
    [conferenceId],
  );
  return rows[0] ?? keptForGood;
}

/** The conference's day, YYYY-MM-DD, on which it was last looked by itself for what to take away; null: never. */
export async function lastLooked(db: Queryable, conferenceId: string): Promise<string | null> {
  const { rows } = await db.query<{ day: string | null }>(
    'SELECT looked_on::text AS day FROM retention_setting WHERE conference_id = $1',
    [conferenceId],
  );
  return rows[0]?.day ?? null;
}

/** What the trail's entry of a change says. */
export const settingChanged = 'time to keep data changed';

/** Keeps the setting. Nothing is taken away by it before the next night. */
export async function keepRetention(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  setting: Retention,
): Promise<void> {
  await client.query('SELECT FROM conference WHERE id = $1 FOR UPDATE', [conferenceId]);
  const before = await readRetention(client, conferenceId);
  if (Object.entries(setting).every(([kind, years]) => before[kind as keyof Retention] === years)) return;
  const { remarks, letters, absences, messages, tokens, people, nightly } = setting;
  await client.query(
    `INSERT INTO retention_setting (conference_id, remarks_years, letters_years, absences_years, messages_years,
                                    tokens_years, people_years, nightly)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
     ON CONFLICT (conference_id) DO UPDATE SET
       remarks_years = excluded.remarks_years, letters_years = excluded.letters_years,
       absences_years = excluded.absences_years, messages_years = excluded.messages_years,
       tokens_years = excluded.tokens_years, people_years = excluded.people_years, nightly = excluded.nightly`,
    [conferenceId, remarks, letters, absences, messages, tokens, people, nightly],
  );
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: settingChanged,
    subjectKind: 'conference',
    subjectId: conferenceId,
    before,
    after: setting,
  });
}
