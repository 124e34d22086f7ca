import { stringify } from 'csv-stringify/sync';
import type { Column, FileFormat } from './format.ts';

/** The text of a cell; null or undefined is an empty one. */
export type Cell = string | number | null | undefined;

/**
 * A file in this format, as RFC 4180 has it: CRLF after each line, quotes where needed, headings first.
 * Columns that no row uses and that may be absent are left out.
 */
export function writeCsv<C extends FileFormat['columns']>(
  format: FileFormat<C>,
  rows: readonly Partial<Record<keyof C & string, Cell>>[],
): string {
  const columns = Object.entries<Column>(format.columns).filter(
    ([name, column]) =>
      !column.mayBeAbsent || rows.some((row) => row[name] !== undefined && row[name] !== null),
  );
  return stringify(
    rows.map((row) => columns.map(([name]) => row[name] ?? '')),
    {
      header: true,
      columns: columns.map(([, column]) => column.heading),
      record_delimiter: '\r\n',
      // The library quotes its record delimiter only; a lone line feed in a value must be quoted as well (RFC 4180, 2.6).
      quoted_match: /[\r\n]/,
    },
  );
}
