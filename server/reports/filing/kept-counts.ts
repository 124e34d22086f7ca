import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { consequences } from '../../duties/consequence.ts';
import { lackingFor } from '../../duties/crew-without-duty.ts';
import { type CountResult, countOpportunities, countsMethod } from '../../duties/opportunity-counts.ts';
import { watchedOn } from '../../duties/watched.ts';
import { type CrewMember, crewAtWork } from '../../games/working-crew.ts';
import { StepRefused } from '../states.ts';
import { type Missing, missingIn } from './completeness.ts';
import { countedMaterial, type Mark } from './counted-material.ts';
import { type ReportRow, requireReport } from './held-report.ts';

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
  await client.query(
    'UPDATE report SET counts_method = $3, counted_share_least = $4 WHERE conference_id = $1 AND id = $2',
    [acting.conferenceId, reportId, countsMethod, entered.decidedShareLeast],
  );
  return entered.counted;
}

type Counted = {
  counted: CountResult;
  crew: CrewMember[];
  marks: Mark[];
  missing: Missing[];
  decidedShareLeast: number;
};

export async function countReport(
  client: Queryable,
  acting: Acting,
  report: ReportRow,
  rubricVersionId: string,
): Promise<Counted> {
  const { rubric, plays, marks, crew, openConflicts, decidedShareLeast } = await countedMaterial(
    client,
    acting.conferenceId,
    report,
    rubricVersionId,
  );
  const atWork = crewAtWork(crew);
  const counted = countOpportunities(plays, atWork, rubric, marks, {
    watchedOn:
      report.watched === null
        ? undefined
        : watchedOn(
            report.watched,
            plays.map((play) => play.id),
          ),
    decidedShareLeast,
  });
  const missing = missingIn({
    crewConfirmed: report.crewConfirmed,
    crew: atWork.present,
    watched: report.watched,
    plays,
    observations: marks,
    counts: counted.counts,
    stray: counted.stray,
    openConflicts,
    lacking: lackingFor(rubric, atWork),
  });
  return { counted, crew, marks, missing, decidedShareLeast };
}

export async function keepCounts(
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
                                    not_counted, model, cost_none, cost_yards, cost_possession, cost_score,
                                    undecided, likely, unwatched, set_aside, set_aside_not_met)
     SELECT $1, $2, n.*
       FROM unnest($3::uuid[], $4::text[], $5::text[], $6::int[], $7::int[], $8::int[], $9::int[], $10::int[],
                   $11::int[], $12::int[], $13::int[], $14::int[], $15::float8[], $16::int[], $17::int[], $18::int[]) n`,
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
      ...consequences.map((consequence) => counts.map((count) => count.costs[consequence])),
      counts.map((count) => count.undecided),
      counts.map((count) => count.likely),
      counts.map((count) => count.unwatched),
      counts.map((count) => count.setAside),
      counts.map((count) => count.setAsideNotMet),
    ],
  });
  if (marks.length === 0 && report.rubricVersionId === null) return;
  await client.query(
    `UPDATE observation o SET standing = n.standing
       FROM unnest($3::uuid[], $4::text[]) n (id, standing)
      WHERE o.conference_id = $1 AND o.report_id = $2 AND o.id = n.id AND o.standing IS DISTINCT FROM n.standing`,
    [
      acting.conferenceId,
      report.id,
      marks.map((mark) => mark.id),
      marks.map((_, at) => counted.standings[at] ?? null),
    ],
  );
}
