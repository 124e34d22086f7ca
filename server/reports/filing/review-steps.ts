import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { endOfDay } from '../answer-time.ts';
import { stateAfter } from '../states.ts';
import { tellWebhooks } from '../webhook-events.ts';
import { keepGameCount } from './game-count.ts';
import { requireReport } from './held-report.ts';
import { keepRevision } from './kept-revision.ts';
import { noteStep } from './note-step.ts';
import { tellOfRelease, tellOfReturn } from './report-messages.ts';

/** Hands a filed or accepted report back to its observer, with the reason. */
export async function returnReport(
  client: Queryable,
  acting: Acting,
  reportId: string,
  reason: string,
): Promise<void> {
  const report = await requireReport(client, acting, reportId);
  const state = stateAfter(report.state, 'return', reason);
  await client.query(
    `UPDATE report SET state = $3, returned_reason = $4, accepted_at = NULL WHERE conference_id = $1 AND id = $2`,
    [acting.conferenceId, reportId, state, reason.trim()],
  );
  await tellOfReturn(client, acting, report, reason.trim());
  await noteStep(client, acting, report, 'returned', state, { reason: reason.trim() });
}

export async function acceptReport(client: Queryable, acting: Acting, reportId: string): Promise<void> {
  const report = await requireReport(client, acting, reportId);
  const state = stateAfter(report.state, 'accept');
  await client.query('UPDATE report SET state = $3, accepted_at = $4 WHERE conference_id = $1 AND id = $2', [
    acting.conferenceId,
    reportId,
    state,
    acting.at ?? new Date(),
  ]);
  await noteStep(client, acting, report, 'accepted', state);
}

/**
 * Releases an accepted report to its officials and keeps what it said as revision 1. The officials may answer for
 * the conference's number of days.
 */
export async function releaseReport(client: Queryable, acting: Acting, reportId: string): Promise<void> {
  const report = await requireReport(client, acting, reportId);
  const state = stateAfter(report.state, 'release');
  await client.query(
    `UPDATE report r SET state = $3, released_at = $4,
            reply_until = CASE WHEN c.reply_days = 0 THEN $4::timestamptz ELSE
              ${endOfDay('($4::timestamptz AT TIME ZONE c.time_zone)::date + c.reply_days', 'c.time_zone')} END
       FROM conference c WHERE c.id = $1 AND r.conference_id = $1 AND r.id = $2`,
    [acting.conferenceId, reportId, state, acting.at ?? new Date()],
  );
  await keepGameCount(client, acting.conferenceId, report.gameId);
  await keepRevision(client, acting, reportId, 'first release');
  await tellOfRelease(client, acting, report);
  await tellWebhooks(client, acting, 'report.released', { reportId });
  await noteStep(client, acting, report, 'released', state);
}
