import type pg from 'pg';
import { putMarks } from '../../server/reports/filing/open-report.ts';
import type { Measurement } from './measurement.ts';
import { atWork, timed, together } from './observers-at-work.ts';
import { beside } from './save-mark.ts';

const rounds = 20;

/** Filings of each observer before the clock starts, either way: a server at work has its code compiled. */
const roundsBefore = 8;

/**
 * Filing a report of 165 plays and 60 marks by 20 observers at once (opportunities derived, counts kept, audit entry
 * chained), beside the bare transaction that writes the same rows with everything already worked out.
 */
export async function fileReportBench(): Promise<Measurement[]> {
  const { filed, bare } = await atWork(async ({ game, marks, observers, bare: clients }) => {
    const { conferenceId } = game;
    const owner = clients[0]!;
    for (const { reportId, observerId, playIds, crew } of observers) {
      await putMarks(
        owner,
        { conferenceId, personId: observerId },
        reportId,
        marks.map((mark) => ({ ...mark, playId: playIds[mark.play - 1]!, personId: crew[mark.position]! })),
      );
    }
    /** As they were before they were filed for the first time. */
    const reopen = async () => {
      await owner.query('DELETE FROM opportunity_count WHERE conference_id = $1', [conferenceId]);
      await owner.query(
        `UPDATE report SET state = 'draft', filed_at = NULL, rubric_version_id = NULL WHERE conference_id = $1`,
        [conferenceId],
      );
    };
    const file = (at: number) => observers[at]!.post(`/api/reports/${observers[at]!.reportId}/file`, {});

    for (let round = 0; round < roundsBefore; round++) {
      await reopen();
      await together(1, file);
    }
    const counts: unknown[][][] = [];
    for (const observer of observers) counts.push(await countsOf(owner, conferenceId, observer.reportId));
    // The bare audit rows are another conference's, so that the numbers of the two chains stay apart.
    const other = await owner.query(
      `INSERT INTO conference (slug, name) VALUES ('bare', 'Bare') RETURNING id`,
    );
    const otherConferenceId: string = other.rows[0].id;
    let audits = 0;
    const write = (at: number) => {
      const observer = observers[at]!;
      const client = clients[at]!;
      const number = ++audits;
      return timed(async () => {
        await client.query('BEGIN');
        await client.query('SELECT FROM report WHERE conference_id = $1 AND id = $2 FOR UPDATE', [
          conferenceId,
          observer.reportId,
        ]);
        await client.query(
          `INSERT INTO opportunity_count (conference_id, report_id, person_id, position, duty_key, opportunities,
                                          not_met, not_counted, model)
           SELECT $1, $2, * FROM unnest($3::uuid[], $4::text[], $5::text[], $6::int[], $7::int[], $8::int[], $9::int[])`,
          [conferenceId, observer.reportId, ...counts[at]!],
        );
        await client.query(
          `UPDATE report SET state = 'filed', filed_at = now(), rubric_version_id = $3
            WHERE conference_id = $1 AND id = $2`,
          [conferenceId, observer.reportId, game.rubricVersionId],
        );
        await client.query("SELECT pg_advisory_xact_lock(hashtextextended('audit ' || $1, 0))", [
          otherConferenceId,
        ]);
        await client.query(
          `INSERT INTO audit_entry (conference_id, number, at, actor_id, action, subject_kind, subject_id, before, after,
                                    previous_hash, hash)
           VALUES ($1, $2, now(), $3, 'filed', 'report', $4, '{"state":"draft"}', '{"state":"filed"}', $5, $5)`,
          [otherConferenceId, number, observer.observerId, observer.reportId, 'f'.repeat(64)],
        );
        await client.query('COMMIT');
      });
    };
    for (let round = 0; round < roundsBefore; round++) {
      await reopen();
      await together(1, write);
    }
    const all = { filed: [] as number[], bare: [] as number[] };
    for (let round = 0; round < rounds; round++) {
      await reopen();
      all.bare.push(...(await together(1, write)));
      await reopen();
      all.filed.push(...(await together(1, file)));
    }
    all.filed.sort((a, b) => a - b);
    all.bare.sort((a, b) => a - b);
    return all;
  });
  return [0.5, 0.99].map((share) => beside('file-report: filing a report of 165 plays', share, filed, bare));
}

async function countsOf(client: pg.Client, conferenceId: string, reportId: string): Promise<unknown[][]> {
  const { rows } = await client.query({
    text: `SELECT person_id, position, duty_key, opportunities, not_met, not_counted, model FROM opportunity_count
            WHERE conference_id = $1 AND report_id = $2`,
    values: [conferenceId, reportId],
    rowMode: 'array',
  });
  return Array.from({ length: 7 }, (_, column) => rows.map((row: unknown[]) => row[column]));
}
