import type pg from 'pg';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { countOpportunities, type OpportunityCount } from '../../duties/opportunity-counts.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import { situationCuts, situationCutsVersion } from '../../patterns/situation-cuts.ts';
import { countedMaterial, lockReport } from '../../reports/filing/report-material.ts';

/**
 * Brings the cut counts of a season's released reports up to date: those of reports counted again since, or never
 * cut, are derived from play log and marks. What is there already costs one query. Each report is its own
 * transaction and holds its row, so a correction made meanwhile is either seen or cuts the report anew.
 *
 * @returns how many reports were cut.
 */
export async function refreshCutCounts(
  pool: pg.Pool,
  conferenceId: string,
  seasonId: string,
): Promise<number> {
  const { rows } = await pool.query<{ id: string }>(
    `SELECT r.id FROM report r
       LEFT JOIN cut_count_state s ON s.conference_id = r.conference_id AND s.report_id = r.id AND s.cuts_version = $3
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND s.report_id IS NULL
      ORDER BY r.id`,
    [conferenceId, seasonId, situationCutsVersion],
  );
  if (rows.length === 0) return 0;
  for (const { id } of rows) {
    await inTransaction(pool, (client) => cutReport(client, conferenceId, id));
  }
  return rows.length;
}

async function cutReport(client: Queryable, conferenceId: string, reportId: string): Promise<void> {
  const report = await lockReport(client, conferenceId, reportId);
  if (!report?.rubricVersionId) return;
  const { rubric, plays, marks, crew } = await countedMaterial(
    client,
    conferenceId,
    report,
    report.rubricVersionId,
  );
  const atWork = crewAtWork(crew);
  const personAt = new Map(crew.map((member) => [member.position, member.personId]));

  const rows: (OpportunityCount & { cut: string; personId: string })[] = [];
  for (const cut of situationCuts) {
    const within = plays.filter(({ play }) => cut.decide(play) === true);
    const ids = new Set(within.map((play) => play.id));
    const counted = countOpportunities(
      within,
      atWork,
      rubric,
      marks.filter((mark) => ids.has(mark.playId)),
    );
    for (const count of counted.counts) {
      const personId = personAt.get(count.position);
      if (personId) rows.push({ ...count, cut: cut.key, personId });
    }
  }
  await client.query('DELETE FROM cut_count_state WHERE conference_id = $1 AND report_id = $2', [
    conferenceId,
    reportId,
  ]);
  await client.query(
    'INSERT INTO cut_count_state (conference_id, report_id, cuts_version) VALUES ($1, $2, $3)',
    [conferenceId, reportId, situationCutsVersion],
  );
  await client.query(
    `INSERT INTO cut_count (conference_id, report_id, person_id, position, duty_key, situation_cut, opportunities,
                            not_met, not_counted, model)
     SELECT $1, $2, person_id, position, duty_key, situation_cut, opportunities, not_met, not_counted, model
       FROM unnest($3::uuid[], $4::text[], $5::text[], $6::text[], $7::int[], $8::int[], $9::int[], $10::int[])
         AS n (person_id, position, duty_key, situation_cut, opportunities, not_met, not_counted, model)`,
    [
      conferenceId,
      reportId,
      rows.map((row) => row.personId),
      rows.map((row) => row.position),
      rows.map((row) => row.dutyKey),
      rows.map((row) => row.cut),
      rows.map((row) => row.opportunities),
      rows.map((row) => row.notMet),
      rows.map((row) => row.notCounted),
      rows.map((row) => row.model),
    ],
  );
}
