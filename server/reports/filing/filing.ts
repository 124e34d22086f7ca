import { v7 as uuidv7 } from 'uuid';
import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { lackingFor } from '../../duties/crew-without-duty.ts';
import { type CountResult, countOpportunities } from '../../duties/opportunity-counts.ts';
import { type CrewMember, crewAtWork } from '../../games/working-crew.ts';
import { endOfDay } from '../answer-time.ts';
import { isOpen, StepRefused, stateAfter } from '../states.ts';
import { type Missing, missingIn } from './completeness.ts';
import {
  countedMaterial,
  lockReport,
  lockReportAndRubric,
  type Mark,
  type ReportRow,
} from './report-material.ts';

/** The report cannot be filed yet; `missing` says what to put right. */
export class ReportIncomplete extends Error {
  override name = 'ReportIncomplete';
  constructor(readonly missing: readonly Missing[]) {
    super(`The report is not complete: ${missing.map((item) => item.message).join(' ')}`);
  }
}

export class ReportNotFound extends Error {
  override name = 'ReportNotFound';
  constructor() {
    super('There is no such report.');
  }
}

/** Opens the observer's report on a game, or finds the one that is there. Returns its id. */
export async function openReport(
  client: Queryable,
  acting: Acting,
  of: { gameId: string; observerId: string; id?: string },
): Promise<string> {
  const { rows } = await client.query<{ id: string }>(
    `WITH opened AS (
       INSERT INTO report (conference_id, id, season_id, game_id, observer_id, created_at)
       SELECT conference_id, $4, season_id, id, $3, $5 FROM game WHERE conference_id = $1 AND id = $2
       ON CONFLICT (conference_id, game_id, observer_id) DO NOTHING RETURNING id)
     SELECT id FROM opened
      UNION ALL SELECT id FROM report WHERE conference_id = $1 AND game_id = $2 AND observer_id = $3
      LIMIT 1`,
    [acting.conferenceId, of.gameId, of.observerId, of.id ?? uuidv7(), acting.at ?? new Date()],
  );
  if (!rows[0]) throw new ReportNotFound();
  return rows[0].id;
}

/** Writes many marks of one open report at once (a loader's way; devices send changes, see `changes.ts`). */
export async function putMarks(
  client: Queryable,
  acting: Acting,
  reportId: string,
  marks: readonly (Omit<Mark, 'id'> & { id?: string })[],
): Promise<void> {
  await requireOpen(client, acting, reportId);
  await client.query(
    `INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding, comment,
                              created_at, updated_at)
     SELECT $1, id, $2, play_id, person_id, position, duty_key, finding, comment, $10, $10
       FROM unnest($3::uuid[], $4::uuid[], $5::uuid[], $6::text[], $7::text[], $8::text[], $9::text[])
         AS m (id, play_id, person_id, position, duty_key, finding, comment)
     ON CONFLICT (conference_id, id) DO UPDATE
       SET play_id = EXCLUDED.play_id, person_id = EXCLUDED.person_id, position = EXCLUDED.position,
           duty_key = EXCLUDED.duty_key, finding = EXCLUDED.finding, comment = EXCLUDED.comment,
           updated_at = EXCLUDED.updated_at, removed_at = NULL, version = observation.version + 1
       WHERE observation.report_id = EXCLUDED.report_id`,
    [
      acting.conferenceId,
      reportId,
      marks.map((mark) => mark.id ?? uuidv7()),
      marks.map((mark) => mark.playId),
      marks.map((mark) => mark.personId),
      marks.map((mark) => mark.position),
      marks.map((mark) => mark.dutyKey),
      marks.map((mark) => mark.finding),
      marks.map((mark) => mark.comment),
      acting.at ?? new Date(),
    ],
  );
}

/**
 * Confirms who really worked the game, or takes that back. With `crew` the working crew is replaced by it, and marks
 * in open reports go with the position they were made on.
 */
export async function confirmCrew(
  client: Queryable,
  acting: Acting,
  gameId: string,
  crew?: readonly CrewMember[],
  confirmed = true,
): Promise<void> {
  if (crew) {
    await client.query('DELETE FROM working_crew_member WHERE conference_id = $1 AND game_id = $2', [
      acting.conferenceId,
      gameId,
    ]);
    await client.query(
      `INSERT INTO working_crew_member (conference_id, game_id, position, person_id)
       SELECT $1, $2, position, person_id FROM unnest($3::text[], $4::uuid[]) AS m (position, person_id)`,
      [
        acting.conferenceId,
        gameId,
        crew.map((member) => member.position),
        crew.map((member) => member.personId),
      ],
    );
    await client.query(
      `UPDATE observation o SET person_id = w.person_id
         FROM report r, working_crew_member w
        WHERE r.conference_id = $1 AND r.game_id = $2 AND r.state IN ('draft', 'returned')
          AND o.conference_id = $1 AND o.report_id = r.id
          AND w.conference_id = $1 AND w.game_id = $2 AND w.position = o.position AND o.person_id <> w.person_id`,
      [acting.conferenceId, gameId],
    );
  }
  await client.query('UPDATE game SET crew_confirmed_at = $3 WHERE conference_id = $1 AND id = $2', [
    acting.conferenceId,
    gameId,
    confirmed ? (acting.at ?? new Date()) : null,
  ]);
}

/**
 * Files a report: computes what every official owed under the season's current rubric, lays the marks over it and
 * keeps the counts.
 * @throws ReportIncomplete with what is missing; StepRefused when it is not a draft or returned.
 */
export async function fileReport(client: Queryable, acting: Acting, reportId: string): Promise<CountResult> {
  const report = await requireReportAndRubric(client, acting, reportId);
  const state = stateAfter(report.state, 'file');
  const versionId = report.currentVersionId;
  const entered = await countReport(client, acting, report, versionId);
  if (entered.missing.length > 0) throw new ReportIncomplete(entered.missing);
  await keepCounts(client, acting, report, entered);
  await client.query({
    name: 'file-report',
    text: `UPDATE report SET state = $3, filed_at = $4, rubric_version_id = $5, returned_reason = NULL
      WHERE conference_id = $1 AND id = $2`,
    values: [acting.conferenceId, reportId, state, acting.at ?? new Date(), versionId],
  });
  await noteStep(client, acting, report, 'filed', state);
  return entered.counted;
}

/** What filing would say is missing now; changes nothing. */
export async function whatIsMissing(client: Queryable, acting: Acting, reportId: string): Promise<Missing[]> {
  const report = await requireReportAndRubric(client, acting, reportId);
  return (await countReport(client, acting, report, report.currentVersionId)).missing;
}

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
  await noteStep(client, acting, report, 'returned', state, reason.trim());
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
  await keepRevision(client, acting, reportId, 'first release');
  await noteStep(client, acting, report, 'released', state);
}

async function noteStep(
  client: Queryable,
  acting: Acting,
  report: ReportRow,
  action: string,
  state: string,
  reason?: string,
): Promise<void> {
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action,
    subjectKind: 'report',
    subjectId: report.id,
    reason,
    before: { state: report.state, revision: report.revision },
    after: { state, revision: report.revision },
  });
}

/** Keeps what a released report says now, whole, under its revision number. */
export async function keepRevision(
  client: Queryable,
  acting: Acting,
  reportId: string,
  reason: string,
): Promise<void> {
  await client.query(
    `INSERT INTO report_revision (conference_id, report_id, revision, reason, made_by, made_at, content)
     SELECT r.conference_id, r.id, r.revision, $3, $4, $5, jsonb_build_object(
              'rubricVersionId', r.rubric_version_id,
              'generalComment', r.general_comment,
              'observations', COALESCE((
                SELECT jsonb_agg(jsonb_build_object('id', o.id, 'playId', o.play_id, 'personId', o.person_id,
                         'position', o.position, 'dutyKey', o.duty_key, 'finding', o.finding, 'comment', o.comment)
                         ORDER BY o.id)
                  FROM observation o WHERE o.conference_id = r.conference_id AND o.report_id = r.id
                   AND o.removed_at IS NULL), '[]'),
              'counts', COALESCE((
                SELECT jsonb_agg(jsonb_build_array(n.person_id, n.position, n.duty_key, n.opportunities, n.not_met,
                         n.not_counted, n.model) ORDER BY n.person_id, n.duty_key)
                  FROM opportunity_count n WHERE n.conference_id = r.conference_id AND n.report_id = r.id), '[]'))
       FROM report r WHERE r.conference_id = $1 AND r.id = $2`,
    [acting.conferenceId, reportId, reason, acting.personId, acting.at ?? new Date()],
  );
}

/** Counts a report again under the rubric version it was filed with, as after a correction or a ruling. */
export async function recountReport(
  client: Queryable,
  acting: Acting,
  reportId: string,
): Promise<CountResult> {
  const report = await requireReport(client, acting, reportId);
  if (!report.rubricVersionId) throw new StepRefused('A report that was never filed has no counts.');
  const entered = await countReport(client, acting, report, report.rubricVersionId);
  await keepCounts(client, acting, report, entered);
  return entered.counted;
}

type Counted = { counted: CountResult; crew: CrewMember[]; marks: Mark[]; missing: Missing[] };

async function countReport(
  client: Queryable,
  acting: Acting,
  report: ReportRow,
  rubricVersionId: string,
): Promise<Counted> {
  const { rubric, plays, marks, crew, openConflicts } = await countedMaterial(
    client,
    acting.conferenceId,
    report,
    rubricVersionId,
  );
  const atWork = crewAtWork(crew);
  const counted = countOpportunities(plays, atWork, rubric, marks);
  const missing = missingIn({
    crewConfirmed: report.crewConfirmed,
    crew: atWork.present,
    plays,
    observations: marks,
    counts: counted.counts,
    stray: counted.stray,
    openConflicts,
    lacking: lackingFor(rubric, atWork),
  });
  return { counted, crew, marks, missing };
}

async function keepCounts(
  client: Queryable,
  acting: Acting,
  report: ReportRow,
  { counted, crew, marks }: Counted,
): Promise<void> {
  const personAt = new Map(crew.map((member) => [member.position, member.personId]));
  const counts = counted.counts;
  if (report.rubricVersionId !== null) {
    // It was filed before.
    await client.query('DELETE FROM opportunity_count WHERE conference_id = $1 AND report_id = $2', [
      acting.conferenceId,
      report.id,
    ]);
  }
  await client.query({
    name: 'keep-counts',
    text: `INSERT INTO opportunity_count (conference_id, report_id, person_id, position, duty_key, opportunities, not_met,
                                    not_counted, model)
     SELECT $1, $2, person_id, position, duty_key, opportunities, not_met, not_counted, model
       FROM unnest($3::uuid[], $4::text[], $5::text[], $6::int[], $7::int[], $8::int[], $9::int[])
         AS n (person_id, position, duty_key, opportunities, not_met, not_counted, model)`,
    values: [
      acting.conferenceId,
      report.id,
      counts.map((count) => personAt.get(count.position)),
      counts.map((count) => count.position),
      counts.map((count) => count.dutyKey),
      counts.map((count) => count.opportunities),
      counts.map((count) => count.notMet),
      counts.map((count) => count.notCounted),
      counts.map((count) => count.model),
    ],
  });
  const cell = (of: { playId: string; position: string; dutyKey: string }) =>
    `${of.playId}\n${of.position}\n${of.dutyKey}`;
  const created = new Set(counted.created.map(cell));
  const adding = marks.filter((mark) => created.has(cell(mark))).map((mark) => mark.id);
  if (adding.length === 0 && report.rubricVersionId === null) return;
  await client.query(
    `UPDATE observation SET adds_opportunity = id = ANY ($3::uuid[])
      WHERE conference_id = $1 AND report_id = $2 AND adds_opportunity <> (id = ANY ($3::uuid[]))`,
    [acting.conferenceId, report.id, adding],
  );
}

async function requireReport(client: Queryable, acting: Acting, reportId: string): Promise<ReportRow> {
  const report = await lockReport(client, acting.conferenceId, reportId);
  if (!report) throw new ReportNotFound();
  return report;
}

async function requireReportAndRubric(client: Queryable, acting: Acting, reportId: string) {
  const report = await lockReportAndRubric(client, acting.conferenceId, reportId);
  if (!report) throw new ReportNotFound();
  const { currentVersionId } = report;
  if (!currentVersionId)
    throw new StepRefused('The season has no rubric yet; the coordinator has to set one up first.');
  return { ...report, currentVersionId };
}

async function requireOpen(client: Queryable, acting: Acting, reportId: string): Promise<ReportRow> {
  const report = await requireReport(client, acting, reportId);
  if (!isOpen(report.state)) {
    throw new StepRefused(`This report is ${report.state}; its marks can no longer be changed.`);
  }
  return report;
}
