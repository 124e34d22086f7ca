import { z } from 'zod';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { typedText } from '../../text/typed-text.ts';
import { wholeNumber } from '../../web/whole-number.ts';
import { usualLimits } from '../rules/limits.ts';

/** What a conference takes of teams' inquiries, and what stands on every letter. */
export const inquirySettingSchema = z.strictObject({
  aWeek: wholeNumber('aWeek', 0, 50).describe(
    'Inquiries of a team about the games of one week; 0 takes none.',
  ),
  windowHours: wholeNumber('windowHours', 1, 2000).describe('Hours from kickoff in which a team may ask.'),
  answerDays: wholeNumber('answerDays', 1, 90).describe('Days to answer, from the day on which it came.'),
  notice: typedText({ most: 4000, tooLong: 'The notice must have at most 4000 characters.' }).describe(
    'What teams read before they ask, and at the end of each letter.',
  ),
});
type InquirySetting = z.infer<typeof inquirySettingSchema>;

/** Common practice, no source. */
const usualNotice =
  'An inquiry does not change the result of a game. It is answered by the current rules book and the conference’s policy. What is asked and answered stays between the team and the conference’s coordinator.';

const usualSetting: InquirySetting = { ...usualLimits, notice: usualNotice };

export async function readInquirySetting(db: Queryable, conferenceId: string): Promise<InquirySetting> {
  const { rows } = await db.query<InquirySetting>(
    `SELECT a_week AS "aWeek", window_hours AS "windowHours", answer_days AS "answerDays", notice
       FROM inquiry_setting WHERE conference_id = $1`,
    [conferenceId],
  );
  return rows[0] ?? usualSetting;
}

/** Keeps it for inquiries from now on; those received keep the day on which they are due. */
export async function keepInquirySetting(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  setting: InquirySetting,
): Promise<void> {
  await client.query('SELECT FROM conference WHERE id = $1 FOR NO KEY UPDATE', [conferenceId]);
  const before = await readInquirySetting(client, conferenceId);
  if (JSON.stringify(before) === JSON.stringify(setting)) return;
  await client.query(
    `INSERT INTO inquiry_setting (conference_id, a_week, window_hours, answer_days, notice) VALUES ($1, $2, $3, $4, $5)
     ON CONFLICT (conference_id) DO UPDATE SET a_week = excluded.a_week, window_hours = excluded.window_hours,
       answer_days = excluded.answer_days, notice = excluded.notice`,
    [conferenceId, setting.aWeek, setting.windowHours, setting.answerDays, setting.notice],
  );
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action: 'settings of inquiries changed' },
    ...{ subjectKind: 'conference', subjectId: conferenceId, before, after: setting },
  });
}
