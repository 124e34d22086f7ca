import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { type Consequence, findingInWords } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';
import { day } from '../../web/format.ts';
import { answerUntil } from '../answer-time.ts';
import { reviseReport } from '../filing/revisions.ts';
import { StepRefused } from '../states.ts';
import { tellWebhooks } from '../webhook-events.ts';
import { tellOfReply, tellOfRuling } from './reply-messages.ts';

export type Ruling =
  | { readonly ruling: 'stands' | 'withdrawn'; readonly note: string }
  | {
      readonly ruling: 'changed';
      readonly changedTo: Finding;
      /** What the call as ruled cost; left out or null: not judged. */
      readonly consequence?: Consequence | null;
      readonly note: string;
    };

interface MarkOfReport {
  report_id: string;
  person_id: string;
  state: string;
  closed_on: string | null;
  finding: Finding;
  comment: string;
  replied: boolean;
}

/**
 * An official's answer to a mark about them in a released report, once, while the conference's window is open.
 * Returns the reply's id.
 * @throws StepRefused saying why it cannot be answered (any more).
 */
export async function writeReply(
  client: Queryable,
  acting: PersonActing,
  observationId: string,
  text: string,
): Promise<string> {
  const at = acting.at ?? new Date();
  const { rows } = await client.query<MarkOfReport>(
    `SELECT r.id AS report_id, o.person_id, r.state, o.finding, o.comment,
            (SELECT to_char(${answerUntil('o.person_id')} AT TIME ZONE c.time_zone, 'YYYY-MM-DD') FROM conference c
              WHERE c.id = $1 AND ${answerUntil('o.person_id')} < $3) AS closed_on,
            EXISTS (SELECT FROM reply p WHERE p.conference_id = $1 AND p.observation_id = o.id) AS replied
       FROM observation o JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
      WHERE o.conference_id = $1 AND o.id = $2 AND o.removed_at IS NULL
        FOR UPDATE OF o`,
    [acting.conferenceId, observationId, at],
  );
  const mark = rows[0];
  if (mark?.state !== 'released' || mark.person_id !== acting.personId) {
    throw new StepRefused('This mark is not in a released report about you.');
  }
  if (mark.replied) throw new StepRefused('You have answered this mark already.');
  if (mark.closed_on !== null) {
    throw new StepRefused(
      `The time to answer this evaluation ended on ${day(`${mark.closed_on}T00:00:00Z`)}. Write to the coordinator.`,
    );
  }
  const reply = await client.query<{ id: string }>(
    `INSERT INTO reply (conference_id, observation_id, official_id, text, created_at) VALUES ($1, $2, $3, $4, $5)
     RETURNING id`,
    [acting.conferenceId, observationId, acting.personId, text.trim(), at],
  );
  const replyId = reply.rows[0]!.id;
  await tellOfReply(client, acting, replyId);
  await tellWebhooks(client, acting, 'reply.written', { reportId: mark.report_id, replyId });
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action: 'replied',
    subjectKind: 'observation',
    subjectId: observationId,
    before: { finding: mark.finding, comment: mark.comment },
    after: { reply: text.trim() },
  });
  return replyId;
}

/**
 * The coordinator's ruling on a reply, once. *Changed* and *withdrawn* make a new revision of the report, so that the
 * grades follow.
 * @throws StepRefused when it was ruled on before, or the finding does not fit.
 */
export async function ruleOnReply(
  client: Queryable,
  acting: PersonActing,
  replyId: string,
  decided: Ruling,
): Promise<void> {
  const { rows } = await client.query<{
    observation_id: string;
    report_id: string;
    finding: Finding;
    consequence: Consequence | null;
    comment: string;
    ruled: boolean;
    removed: boolean;
  }>(
    `SELECT p.observation_id, o.report_id, o.finding, o.consequence, o.comment, o.removed_at IS NOT NULL AS removed,
            EXISTS (SELECT FROM ruling u WHERE u.conference_id = $1 AND u.reply_id = p.id) AS ruled
       FROM reply p JOIN observation o ON o.conference_id = p.conference_id AND o.id = p.observation_id
      WHERE p.conference_id = $1 AND p.id = $2
        FOR UPDATE OF p`,
    [acting.conferenceId, replyId],
  );
  const reply = rows[0];
  if (!reply) throw new StepRefused('There is no such reply.');
  if (reply.ruled)
    throw new StepRefused('This reply has its ruling; correct the report itself to change more.');
  if (reply.removed && decided.ruling !== 'stands') {
    throw new StepRefused(
      'The mark was removed from the report in the meantime; rule that it stands as it is.',
    );
  }
  const changedTo = decided.ruling === 'changed' ? decided.changedTo : null;
  const consequence = decided.ruling === 'changed' ? (decided.consequence ?? null) : null;
  const said = findingInWords(reply.finding, reply.consequence);
  if (changedTo === reply.finding && consequence === reply.consequence) {
    throw new StepRefused(`The mark is "${said}" already; choose another finding, or rule that it stands.`);
  }
  await client.query(
    `INSERT INTO ruling (conference_id, reply_id, ruling, changed_to, note, ruled_by_id, ruled_at)
     VALUES ($1, $2, $3, $4, $5, $6, $7)`,
    [
      acting.conferenceId,
      replyId,
      decided.ruling,
      changedTo,
      decided.note.trim(),
      acting.personId,
      acting.at ?? new Date(),
    ],
  );
  await tellOfRuling(client, acting, replyId, decided.ruling);
  await tellWebhooks(client, acting, 'reply.ruled', { reportId: reply.report_id, replyId });
  if (decided.ruling !== 'stands') {
    const markId = reply.observation_id;
    const reason = `Ruling on a reply: ${decided.ruling}${changedTo ? ` to ${findingInWords(changedTo, consequence)}` : ''}`;
    await reviseReport(client, acting, reply.report_id, reason, [
      changedTo === null
        ? { markId, remove: true }
        : { markId, finding: changedTo, comment: reply.comment, consequence },
    ]);
  }
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action: 'ruled',
    subjectKind: 'reply',
    subjectId: replyId,
    reason: decided.note.trim() || null,
    before: { finding: said },
    after: {
      ruling: decided.ruling,
      finding: changedTo ? findingInWords(changedTo, consequence) : decided.ruling === 'stands' ? said : null,
    },
  });
}
