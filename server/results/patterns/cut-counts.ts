import type pg from 'pg';
import type { Queryable } from '../../database/transaction.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import { situationCutsVersion } from '../../patterns/situation-cuts.ts';
import { countedMaterial, lockReport } from '../../reports/filing/report-material.ts';
import type { Calculator } from '../calculator.ts';
import type { ResultKind, SeasonKey } from '../kept-result.ts';

/**
 * Says that the cut counts of a season's released reports are up to date. The counts themselves are rows, kept per
 * report until it is counted again; those of reports never cut, or cut by an earlier program, are derived from play
 * log and marks.
 */
export function cutCountsKind(
  calculator: Pick<Calculator, 'cutReport'>,
): ResultKind<Record<string, never>, object, object> {
  return {
    name: 'cuts',
    method: situationCutsVersion,
    basis: `'{}'::jsonb`,
    prepare: (client, season) => cutReports(client, calculator, season),
    read: async (client, season) => ((await uncutReports(client, season)).length > 0 ? null : {}),
    compute: async () => ({}),
  };
}

/** Released reports whose cut counts are not there, or of an earlier program. */
export async function uncutReports(db: Queryable, { conferenceId, seasonId }: SeasonKey): Promise<string[]> {
  const { rows } = await db.query<{ id: string }>(
    `SELECT r.id FROM report r
       LEFT JOIN cut_count_state s ON s.conference_id = r.conference_id AND s.report_id = r.id AND s.cuts_version = $3
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND s.report_id IS NULL
      ORDER BY r.id`,
    [conferenceId, seasonId, situationCutsVersion],
  );
  return rows.map(({ id }) => id);
}

/**
 * Cuts the reports that are not cut. Each is its own transaction and holds its row, so a correction made meanwhile is
 * either seen or cuts the report anew.
 */
export async function cutReports(
  client: pg.PoolClient,
  calculator: Pick<Calculator, 'cutReport'>,
  season: SeasonKey,
): Promise<void> {
  for (const reportId of await uncutReports(client, season)) {
    await client.query('BEGIN');
    await cut(client, calculator, season.conferenceId, reportId);
    await client.query('COMMIT');
  }
}

async function cut(
  client: Queryable,
  calculator: Pick<Calculator, 'cutReport'>,
  conferenceId: string,
  reportId: string,
): Promise<void> {
  const report = await lockReport(client, conferenceId, reportId);
  if (!report?.rubricVersionId) return;
  // Another process may have cut it while this one waited for the row.
  const state = await client.query(
    'SELECT FROM cut_count_state WHERE conference_id = $1 AND report_id = $2 AND cuts_version = $3',
    [conferenceId, reportId, situationCutsVersion],
  );
  if (state.rowCount) return;
  const { rubric, plays, marks, crew } = await countedMaterial(
    client,
    conferenceId,
    report,
    report.rubricVersionId,
  );
  const personAt = new Map(crew.map((member) => [member.position, member.personId]));
  const counts = await calculator.cutReport({
    duties: rubric.duties.map(({ duty }) => duty),
    plays,
    marks,
    crew: crewAtWork(crew),
  });
  const rows = counts.flatMap((count) => {
    const personId = personAt.get(count.position);
    return personId ? [{ ...count, personId }] : [];
  });
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
