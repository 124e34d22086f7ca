import { v7 as uuidv7 } from 'uuid';
import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { type Consequence, unfitConsequence } from '../../duties/consequence.ts';
import { type Finding, findingsOf } from '../../duties/finding.ts';
import { ReportNotFound } from '../refusals.ts';
import { longestComment, StepRefused, stateAfter } from '../states.ts';
import type { Mark } from './counted-material.ts';
import { keepGameCount } from './game-count.ts';
import { lockReport } from './held-report.ts';
import { recountReport } from './kept-counts.ts';
import { keepRevision } from './kept-revision.ts';
import { sealAfter } from './report-seal.ts';

/** A correction of one mark of a released report: another finding, comment or consequence, or its removal. */
type MarkCorrection =
  | { readonly markId: string; readonly remove: true }
  | {
      readonly markId: string;
      readonly finding: Finding;
      readonly comment: string;
      /** Left out or null: not judged. */
      readonly consequence?: Consequence | null;
    };

/**
 * Corrects a released report. What it said before stays in its earlier revision; the counts follow; the audit trail
 * has both versions of each mark. Returns the new revision's number.
 * @throws ReportNotFound; StepRefused when it is not released, the reason is missing or a mark is not in it.
 */
export async function reviseReport(
  client: Queryable,
  acting: Acting,
  reportId: string,
  reason: string,
  corrections: readonly MarkCorrection[],
): Promise<number> {
  const report = await lockReport(client, acting.conferenceId, reportId);
  if (!report) throw new ReportNotFound();
  stateAfter(report.state, 'revise', reason);
  if (
    corrections.some((correction) => 'comment' in correction && correction.comment.length > longestComment)
  ) {
    throw new StepRefused(`The comment must have at most ${longestComment} characters.`);
  }
  const before: Mark[] = [];
  for (const correction of corrections) {
    before.push(await correctMark(client, acting, reportId, report.rubricVersionId!, correction));
  }
  const revision = report.revision + 1;
  await recountReport(client, acting, reportId);
  await keepGameCount(client, acting.conferenceId, report.gameId);
  await client.query('UPDATE report SET revision = $3 WHERE conference_id = $1 AND id = $2', [
    acting.conferenceId,
    reportId,
    revision,
  ]);
  await keepRevision(client, acting, reportId, reason.trim());
  const sealed = await sealAfter(client, acting.conferenceId, reportId, {
    marks: corrections.map(({ markId }) => markId),
  });
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action: 'revised',
    subjectKind: 'report',
    subjectId: reportId,
    reason: reason.trim(),
    before: { revision: report.revision, marks: before },
    after: { revision, marks: corrections, sealed },
  });
  return revision;
}

async function correctMark(
  client: Queryable,
  acting: Acting,
  reportId: string,
  rubricVersionId: string,
  correction: MarkCorrection,
): Promise<Mark> {
  const { rows } = await client.query<Mark & { gradedAs: 'mechanics' | 'call' | null }>(
    `SELECT o.id, o.play_id AS "playId", o.person_id AS "personId", o.position, o.duty_key AS "dutyKey", o.finding,
            o.comment, o.consequence, d.graded_as AS "gradedAs"
       FROM observation o
       LEFT JOIN duty d ON d.conference_id = o.conference_id AND d.rubric_version_id = $4 AND d.key = o.duty_key
      WHERE o.conference_id = $1 AND o.report_id = $2 AND o.id = $3 AND o.removed_at IS NULL
        FOR UPDATE OF o`,
    [acting.conferenceId, reportId, correction.markId, rubricVersionId],
  );
  const mark = rows[0];
  if (!mark) throw new StepRefused('The mark is not (or no longer) in this report.');
  const { gradedAs, ...before } = mark;
  if ('remove' in correction) {
    await client.query(
      `UPDATE observation SET removed_at = now(), change_id = $3, updated_at = now(), version = version + 1
        WHERE conference_id = $1 AND id = $2`,
      [acting.conferenceId, mark.id, uuidv7()],
    );
    return before;
  }
  const fitting = findingsOf(gradedAs);
  if (!fitting.includes(correction.finding)) {
    throw new StepRefused(`"${correction.finding}" does not fit this duty; use ${fitting.join(', ')}.`);
  }
  const unfit = unfitConsequence(correction.finding, correction.consequence);
  if (unfit) throw new StepRefused(unfit);
  await client.query(
    `UPDATE observation SET finding = $3, comment = $4, consequence = $6, change_id = $5, updated_at = now(),
            version = version + 1
      WHERE conference_id = $1 AND id = $2`,
    [
      acting.conferenceId,
      mark.id,
      correction.finding,
      correction.comment,
      uuidv7(),
      correction.consequence ?? null,
    ],
  );
  return before;
}
