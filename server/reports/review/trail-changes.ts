import { type AuditChange, type AuditNames, changesBetween } from '../../accounts/audit/audit-changes.ts';
import { type Consequence, findingInWords } from '../../duties/consequence.ts';
import type { MarkOnPlay } from './corrections.ts';

type Marked = { finding?: string; comment?: string; consequence?: Consequence | null; remove?: boolean };
type MarkBefore = Marked & { id: string; playId: string; position: string; dutyKey: string };
type MarkAfter = Marked & { markId: string };

/** What an entry of the audit trail changed, before and after; a report's marks and a play's facts in their own words. */
export function trailChanges(
  entry: { action: string; subjectKind: string; before: unknown; after: unknown },
  names: AuditNames,
): AuditChange[] {
  const { action, subjectKind, before, after } = entry;
  if (subjectKind === 'report' && action === 'revised') {
    const old = before as { revision: number; marks: MarkBefore[] };
    const now = after as { revision: number; marks: MarkAfter[] };
    return [
      { what: 'revision', before: String(old.revision), after: String(now.revision) },
      ...old.marks.map((mark) => ({
        what: [names.get(mark.playId), mark.position, names.get(mark.dutyKey) ?? mark.dutyKey]
          .filter(Boolean)
          .join(', '),
        before: markText(mark),
        after: markText(now.marks.find((other) => other.markId === mark.id)),
      })),
    ];
  }
  if (action === 'play removed') {
    const { marks = [], ...play } = before as { marks?: MarkOnPlay[] };
    return [
      ...changesBetween(play, after, names),
      ...marks.map((mark) => ({
        what: 'mark',
        before: `${mark.official} (${mark.position}), ${names.get(mark.dutyKey) ?? mark.dutyKey}, ${markText(mark)}`,
        after: '',
      })),
    ];
  }
  return changesBetween(before, after, names, { whole: subjectKind === 'play' });
}

function markText(mark: Marked | undefined): string {
  if (!mark || mark.remove) return 'removed';
  const said = findingInWords(`${mark.finding}`, mark.consequence);
  return mark.comment ? `${said}: “${mark.comment}”` : said;
}
