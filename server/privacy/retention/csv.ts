import { stringify } from 'csv-stringify/sync';
import { disarmed } from '../../imports/csv/formula.ts';
import type { Due } from './due.ts';
import { kindWords } from './kinds.ts';

/** What is due, a line for each count and each person, as CSV (RFC 4180). */
export function dueAsCsv(due: readonly Due[]): string {
  const rows = due.flatMap(({ kind, season, person, counts }) =>
    Object.entries(counts).map(([what, count]) => [
      kindWords[kind].title,
      season?.name ?? person?.lastSeason ?? '',
      person ? 'erased' : what,
      String(count),
      person?.name ?? '',
      person?.email ?? '',
    ]),
  );
  return stringify(
    rows.map((row) => row.map(disarmed)),
    {
      header: true,
      columns: ['kept', 'season', 'what goes', 'count', 'person', 'e-mail'],
      record_delimiter: '\r\n',
      quoted_match: /[\r\n]/,
    },
  );
}
