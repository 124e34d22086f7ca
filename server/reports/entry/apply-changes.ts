import type { Acting, PersonActing } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { lockReport } from '../filing/held-report.ts';
import { ReportNotFound } from '../refusals.ts';
import { isOpen, StepRefused } from '../states.ts';
import type { Change, ChangeResult, ConfirmCrew, EntryChange, PutWatched, Resolve } from './changes.ts';
import { putCrew, putGeneralComment } from './crew-and-comment-changes.ts';
import { type Entry, type Kept, keep, Refused } from './keep-change.ts';
import { putMark, removeMark } from './mark-changes.ts';
import { putPlay, removePlay, restorePlay } from './play-changes.ts';
import { putWatched } from './watched-changes.ts';

/** How one change is applied: what is given here may be put around it. */
type Each = (apply: () => Promise<Kept>) => Promise<Kept>;

/**
 * Applies a device's changes in their order, each exactly once however often it is sent, inside the caller's
 * transaction. A change that cannot apply is refused on its own; those after it are still tried.
 * @throws ReportNotFound; StepRefused when the report is no longer open.
 */
export async function applyChanges(
  client: Queryable,
  acting: PersonActing,
  reportId: string,
  changes: readonly Change[],
  each: Each = (apply) => apply(),
): Promise<ChangeResult[]> {
  const report = await lockReport(client, acting.conferenceId, reportId);
  if (!report) throw new ReportNotFound();
  // A mark looks for itself among what is known, in the query it makes anyway.
  const onlyMarks = isOpen(report.state) && changes.every((change) => change.kind === 'put mark');
  const known = onlyMarks
    ? new Map<string, Kept['outcome']>()
    : await outcomesKnown(client, acting, reportId, changes);
  if (!isOpen(report.state) && changes.some((change) => !known.has(change.id))) {
    throw new StepRefused(`This report is ${report.state}; its marks can no longer be changed.`);
  }
  const entry: Entry = { ...acting, client, report };
  const results: ChangeResult[] = [];
  for (const change of changes) {
    const before = known.get(change.id);
    if (before) {
      results.push({ id: change.id, outcome: before });
      continue;
    }
    try {
      const { outcome } = await each(() => applyOne(entry, change));
      known.set(change.id, outcome);
      results.push({ id: change.id, outcome });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      results.push({ id: change.id, outcome: 'refused', message: error.message });
    }
  }
  return results;
}

async function outcomesKnown(
  client: Queryable,
  acting: Acting,
  reportId: string,
  changes: readonly Change[],
): Promise<Map<string, Kept['outcome']>> {
  const { rows } = await client.query<{ id: string; outcome: Kept['outcome'] }>(
    `SELECT id, outcome FROM report_change WHERE conference_id = $1 AND report_id = $2 AND id = ANY ($3::uuid[])`,
    [acting.conferenceId, reportId, changes.map((change) => change.id)],
  );
  return new Map(rows.map((row) => [row.id, row.outcome]));
}

async function applyOne(entry: Entry, change: Change): Promise<Kept> {
  if (change.kind === 'resolve') return resolve(entry, change);
  return applyEntry(entry, change, null);
}

async function applyEntry(entry: Entry, change: EntryChange, resolves: string | null): Promise<Kept> {
  switch (change.kind) {
    case 'put mark':
      return putMark(entry, change, resolves);
    case 'remove mark':
      return removeMark(entry, change, resolves);
    case 'put play':
      return putPlay(entry, change, resolves);
    case 'remove play':
      return removePlay(entry, change, resolves);
    case 'confirm crew':
      return putCrew(entry, change, resolves);
    case 'general comment':
      return putGeneralComment(entry, change, resolves);
    case 'watched':
      return putWatched(entry, change, resolves);
  }
}

async function resolve(entry: Entry, change: Resolve): Promise<Kept> {
  const { client, conferenceId, report } = entry;
  const { rows } = await client.query<{ kind: string; content: object; theirs: Theirs; resolved: boolean }>(
    `SELECT c.kind, c.content, c.theirs,
            EXISTS (SELECT FROM report_change r WHERE r.conference_id = $1 AND r.report_id = $2 AND r.resolves = c.id)
              AS resolved
       FROM report_change c
      WHERE c.conference_id = $1 AND c.report_id = $2 AND c.id = $3 AND c.outcome = 'conflict'`,
    [conferenceId, report.id, change.conflictId],
  );
  const met = rows[0];
  if (!met) throw new Refused('There is no such conflict.');
  if (met.resolved) return keep(entry, change, { outcome: 'same' }, null);
  if (change.keep === 'theirs') return keep(entry, change, { outcome: 'applied' }, change.conflictId);
  const mine = { ...met.content, kind: met.kind, id: change.id } as EntryChange;
  const { theirs } = met;
  if ('basedOn' in mine) mine.basedOn = change.basedOn;
  if ('was' in mine) {
    if (mine.kind === 'confirm crew') mine.was = theirs.crew ?? mine.was;
    else if (mine.kind === 'watched') mine.was = theirs.watched ?? null;
    else mine.was = theirs.generalComment ?? mine.was;
  }
  if (mine.kind === 'remove play') mine.marksToo = true;
  if (mine.kind === 'put mark' && theirs.playRemoved) await restorePlay(entry, theirs.playRemoved, change.id);
  return applyEntry(entry, mine, change.conflictId);
}

interface Theirs {
  crew?: ConfirmCrew['was'];
  generalComment?: string;
  watched?: PutWatched['was'];
  playRemoved?: string;
}
