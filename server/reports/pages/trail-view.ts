import { type Mentioned, mentionedIn, type TrailEntry } from '../../accounts/audit/audit-reading.ts';
import type { Queryable } from '../../database/transaction.ts';
import { trailChanges } from '../review/trail-changes.ts';

/** Entries of the audit trail ready for the page: who, when, what, before and after, in words. */
export async function trailView(db: Queryable, conferenceId: string, entries: readonly TrailEntry[]) {
  const mentioned = await mentionedIn(db, conferenceId, entries);
  return entries.map((entry) => entryView(entry, mentioned));
}

function entryView(entry: TrailEntry, { names, places }: Mentioned) {
  const { number, at, actor, action, reason, subjectKind, subjectId } = entry;
  return {
    number,
    at,
    actor,
    action,
    reason,
    kind: subjectKind.replaceAll('_', ' '),
    subject: names.get(subjectId),
    place: places.get(subjectId),
    changes: trailChanges(entry, names),
    /** All of it was taken away: one word says so. */
    gone: entry.before !== null && entry.after === null,
  };
}
