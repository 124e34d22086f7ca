import { foldedHeading } from '../csv/headings.ts';
import { folded } from './mapping.ts';

/** A line of a foreign file: `line` as a text editor or a spreadsheet counts it. */
export interface ForeignRow {
  readonly line: number;
  readonly cells: readonly string[];
}

/** A table of plays in whatever form: its columns by their headings, each heading once. */
export interface ForeignFile {
  readonly columns: readonly string[];
  readonly rows: readonly ForeignRow[];
}

/** More rows than any game, or a season of a large conference, has plays. */
export const mostRows = 30_000;
const mostColumns = 300;

/**
 * The table that filled lines make when the one of number `headings` (from 1; 0: none) holds the headings. A heading that
 * stands twice gets a number, a column without one is called by its place.
 */
export function foreignFile(records: readonly ForeignRow[], headings: number): ForeignFile {
  const filled = records.filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
  const head = headings === 0 ? undefined : filled[headings - 1];
  const rows = headings === 0 ? filled : filled.slice(headings);
  const width = Math.min(
    mostColumns,
    rows.reduce((most, { cells }) => Math.max(most, cells.length), head?.cells.length ?? 0),
  );
  const taken = new Set<string>();
  const columns: string[] = [];
  for (let at = 0; at < width; at += 1) {
    const written = (head?.cells[at] ?? '').trim().replace(/\s+/g, ' ').slice(0, 150);
    const name = written === '' ? `column ${at + 1}` : written;
    let unique = name;
    for (let number = 2; taken.has(unique); number += 1) unique = `${name} (${number})`;
    taken.add(unique);
    columns.push(unique);
  }
  // Spreadsheets leave empty columns at the end.
  const isEmpty = (at: number) =>
    (head?.cells[at] ?? '').trim() === '' && rows.every(({ cells }) => (cells[at] ?? '').trim() === '');
  while (columns.length > 0 && isEmpty(columns.length - 1)) columns.pop();
  return { columns, rows };
}

/** A text of a column, as first written, and how often it stands there. */
interface TextInColumn {
  readonly text: string;
  readonly count: number;
}

/** The different texts of a column, most frequent first; empty cells are the text "". */
export function textsIn(file: ForeignFile, column: string, rows = file.rows): TextInColumn[] {
  const at = file.columns.indexOf(column);
  if (at === -1) return [];
  const found = new Map<string, { text: string; count: number }>();
  for (const { cells } of rows) {
    const text = (cells[at] ?? '').trim();
    const key = folded(text);
    const one = found.get(key);
    if (one) one.count += 1;
    else found.set(key, { text, count: 1 });
  }
  return [...found.values()].sort((a, b) => b.count - a.count);
}

/** A few texts of a column, in the order of the file. */
export function samplesOf(file: ForeignFile, column: string, most = 4): string[] {
  const at = file.columns.indexOf(column);
  const samples = new Map<string, string>();
  for (const { cells } of file.rows) {
    const text = (cells[at] ?? '').trim();
    if (text !== '' && !samples.has(folded(text))) samples.set(folded(text), text);
    if (samples.size >= most) break;
  }
  return [...samples.values()];
}

/** The same columns, in whatever order. */
export function sameColumns(one: readonly string[], other: readonly string[]): boolean {
  const key = (columns: readonly string[]) => columns.map(foldedHeading).sort().join('\n');
  return one.length === other.length && key(one) === key(other);
}
