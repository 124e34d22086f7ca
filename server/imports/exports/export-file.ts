import { stringify } from 'csv-stringify/sync';
import type pg from 'pg';
import type { Column } from '../csv/format.ts';
import { disarmed } from '../csv/formula.ts';
import { type Separator, separators } from '../csv/separator.ts';
import type { Cell } from '../csv/write-csv.ts';
import type { FileKind } from '../files/file-kind.ts';
import { exportQueries } from './export-queries.ts';

/** How the file is to be written, so that the spreadsheet at hand opens it right. */
export interface WrittenAs {
  separator: Separator;
  byteOrderMark: boolean;
}

const rowsAtOnce = 1000;

/** A number without exponent; where semicolons separate the columns, people's decimals have a comma. */
function numberText(value: number, separator: Separator): string {
  const text = String(value).includes('e') ? value.toFixed(17).replace(/\.?0+$/, '') : String(value);
  return separator === 'semicolon' ? text.replace('.', ',') : text;
}

function cellText(value: Cell, separator: Separator): string {
  if (value === null || value === undefined) return '';
  return typeof value === 'number' ? numberText(value, separator) : disarmed(value);
}

/**
 * A kind of file with all that the conference has of it, in the form in which it is imported, piece by piece. Every
 * column is written, so that an empty cell says what it says. To be read within a transaction of `client`.
 */
export async function* exportFile(
  client: pg.ClientBase,
  { format }: FileKind,
  { conferenceId, seasonId }: { conferenceId: string; seasonId: string | null },
  { separator, byteOrderMark }: WrittenAs,
): AsyncGenerator<string> {
  const query = exportQueries[format.name];
  if (query === undefined) throw new Error(`There is no export of ${format.name}.`);
  const columns = Object.entries<Column>(format.columns);
  const write = (rows: string[][]) =>
    stringify(rows, {
      delimiter: separators[separator],
      record_delimiter: '\r\n',
      quoted_match: /[\r\n,;\t]/,
    });
  yield (byteOrderMark ? '\uFEFF' : '') + write([columns.map(([, column]) => column.heading)]);
  await client.query(
    `DECLARE exported NO SCROLL CURSOR FOR ${query.sql}`,
    query.bySeason ? [conferenceId, seasonId] : [conferenceId],
  );
  for (;;) {
    const { rows } = await client.query<Record<string, unknown>>(`FETCH ${rowsAtOnce} FROM exported`);
    if (rows.length === 0) break;
    yield write(
      rows.map((row) => {
        const cells = query.cells?.(row) ?? (row as Record<string, Cell>);
        return columns.map(([name]) => cellText(cells[name], separator));
      }),
    );
  }
  await client.query('CLOSE exported');
}
