import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { recountGames } from '../reports/review/corrections.ts';
import type { ImportOutcome } from './import-outcome.ts';

/**
 * What follows an import, in its transaction: filed reports whose play log changed are counted again under their own
 * rubric version (a released one becomes a new revision when its counts differ), and the audit trail remembers who
 * imported what.
 */
export async function afterImport(
  client: Queryable,
  by: Acting,
  outcome: ImportOutcome,
  sha256: string,
): Promise<void> {
  if (outcome.added + outcome.changed === 0) return;
  const recounted = await recountGames(
    client,
    by,
    outcome.playLogsChanged,
    `The play log was corrected by importing ${outcome.fileName}`,
  );
  outcome.recounted = recounted.map(({ game, observer, before, after }) => ({
    game,
    observer,
    before,
    after,
  }));
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
