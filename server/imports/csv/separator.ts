import { parse } from 'csv-parse/sync';

export const separators = { comma: ',', semicolon: ';', tab: '\t' } as const;
export type Separator = keyof typeof separators;

/** `sep=;` in the first line, by which some spreadsheets tell the separator. */
const told = /^"?sep=([,;\t])"?,*\n/i;

/** The cells of the first line that holds something, were this the separator. */
function firstCells(start: string, separator: Separator): string[] {
  try {
    const records = parse(start, {
      delimiter: separators[separator],
      record_delimiter: '\n',
      relax_quotes: true,
      relax_column_count: true,
      skip_empty_lines: true,
      to: 1,
    }) as string[][];
    return records[0] ?? [];
  } catch {
    return [];
  }
}

/**
 * What separates the columns of a file that begins with `start`: the one by which most headings are known, and among
 * equals the one that gives most columns. `skip` is the length of a line that only tells the separator.
 */
export function findSeparator(
  start: string,
  isHeading: (cell: string) => boolean,
): { separator: Separator; skip: number } {
  const names = Object.keys(separators) as Separator[];
  const line = told.exec(start);
  if (line !== null) {
    return { separator: names.find((name) => separators[name] === line[1]) ?? 'comma', skip: line[0].length };
  }
  let best: { separator: Separator; known: number; cells: number } | undefined;
  for (const separator of names) {
    const cells = firstCells(start, separator);
    const known = cells.filter(isHeading).length;
    if (best === undefined || known > best.known || (known === best.known && cells.length > best.cells)) {
      best = { separator, known, cells: cells.length };
    }
  }
  return { separator: best?.separator ?? 'comma', skip: 0 };
}
