import { appendAudit } from '../accounts/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { keepRevision, recountReport } from '../reports/filing.ts';
import type { ImportedBy, ImportOutcome, RecountedReport } from './import-outcome.ts';

/**
 * What follows an import, in its transaction: filed reports whose play log changed are counted again under their own
 * rubric version (a released one becomes a new revision when its counts differ), and the audit trail remembers who
 * imported what.
 */
export async function afterImport(
  client: Queryable,
  by: ImportedBy,
  outcome: ImportOutcome,
  sha256: string,
): Promise<void> {
  if (outcome.added + outcome.changed === 0) return;
  outcome.recounted = await recountReports(client, by, outcome);
  await appendAudit(client, {
    conferenceId: by.conferenceId,
    actorId: by.personId,
    action: 'imported',
    subjectKind: 'import_file',
    subjectId: sha256,
    after: {
      kind: outcome.kind,
      fileName: outcome.fileName,
      added: outcome.added,
      changed: outcome.changed,
      unchanged: outcome.unchanged,
      recounted: outcome.recounted,
    },
  });
}

interface Filed {
  id: string;
  game: string;
  observer: string;
  state: string;
}

async function recountReports(
  client: Queryable,
  by: ImportedBy,
  { playLogsChanged, fileName }: ImportOutcome,
): Promise<RecountedReport[]> {
  if (playLogsChanged.length === 0) return [];
  const acting = { conferenceId: by.conferenceId, actorId: by.personId };
  const { rows } = await client.query<Filed>(
    `SELECT r.id, g.key AS game, p.given_name || ' ' || p.family_name AS observer, r.state
       FROM report r
       JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
       JOIN person p ON p.conference_id = r.conference_id AND p.id = r.observer_id
      WHERE r.conference_id = $1 AND r.game_id = ANY ($2::uuid[]) AND r.state IN ('filed', 'accepted', 'released')
      ORDER BY g.key, r.id`,
    [by.conferenceId, playLogsChanged],
  );
  const recounted: RecountedReport[] = [];
  for (const { id, game, observer, state } of rows) {
    const before = await countsOf(client, by.conferenceId, id);
    await recountReport(client, acting, id);
    const after = await countsOf(client, by.conferenceId, id);
    if (before.all === after.all) continue;
    if (state === 'released') {
      await client.query('UPDATE report SET revision = revision + 1 WHERE conference_id = $1 AND id = $2', [
        by.conferenceId,
        id,
      ]);
      await keepRevision(client, acting, id, `The play log was corrected by importing ${fileName}`);
    }
    recounted.push({ game, observer, before: before.opportunities, after: after.opportunities });
  }
  return recounted;
}

/** Every count of a report as one text to compare, and their sum. */
async function countsOf(client: Queryable, conferenceId: string, reportId: string) {
  const { rows } = await client.query<{ all: string; opportunities: number }>(
    `SELECT COALESCE(string_agg(concat_ws(' ', person_id, duty_key, opportunities, not_met, not_counted, model), ','
                                ORDER BY person_id, duty_key), '') AS all,
            COALESCE(sum(opportunities), 0)::int AS opportunities
       FROM opportunity_count WHERE conference_id = $1 AND report_id = $2`,
    [conferenceId, reportId],
  );
  return rows[0]!;
}
