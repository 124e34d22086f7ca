import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { ReportRow } from '../filing/held-report.ts';
import type { Change } from './changes.ts';

/** Where the changes of one device go: the report, held until the transaction ends. */
export interface Entry extends Acting {
  readonly client: Queryable;
  readonly personId: string;
  readonly report: ReportRow;
}

export type Outcome = { outcome: 'applied' | 'same' } | { outcome: 'conflict'; theirs: object };

export type Kept = Pick<Outcome, 'outcome'>;

/** A change that can never apply as it stands; the message says why. */
export class Refused extends Error {}

export const keepChange = `INSERT INTO report_change (conference_id, report_id, id, made_by, kind, content, outcome, theirs, resolves)
  VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`;

export function changeValues(
  entry: Entry,
  change: Change,
  outcome: Outcome,
  resolves: string | null,
): unknown[] {
  const { id, kind, ...content } = change;
  return [
    entry.conferenceId,
    entry.report.id,
    id,
    entry.personId,
    kind,
    JSON.stringify(content),
    outcome.outcome,
    outcome.outcome === 'conflict' ? JSON.stringify(outcome.theirs) : null,
    resolves,
  ];
}

export async function keep(
  entry: Entry,
  change: Change,
  outcome: Outcome,
  resolves: string | null,
): Promise<Outcome> {
  const closes = resolves ?? (outcome.outcome === 'applied' ? null : await supersededConflict(entry, change));
  await entry.client.query(keepChange, changeValues(entry, change, outcome, closes));
  return outcome;
}

/** A device's later version of what met a conflict takes its earlier version's place: one question, not two. */
async function supersededConflict(entry: Entry, change: Change): Promise<string | null> {
  if (!('basedOn' in change) || change.basedOn === null || change.kind === 'resolve') return null;
  const { rowCount } = await entry.client.query(
    `SELECT FROM report_change c
      WHERE c.conference_id = $1 AND c.report_id = $2 AND c.id = $3 AND c.outcome = 'conflict'
        AND NOT EXISTS (SELECT FROM report_change r WHERE r.conference_id = $1 AND r.report_id = $2 AND r.resolves = c.id)`,
    [entry.conferenceId, entry.report.id, change.basedOn],
  );
  return rowCount === 1 ? change.basedOn : null;
}
