import { closest, distance } from 'fastest-levenshtein';
import type { Column, FileFormat } from './format.ts';
import type { ProblemList } from './problems.ts';

/** A column of the file that is not read, and why that may be a mistake. */
interface SkippedColumn {
  /** Its place in the file, from 0. */
  at: number;
  heading: string;
  /** A heading of the format that is nearly the same. */
  near?: string;
}

export interface Headings {
  /** The format's column name for each cell of a line; undefined for a column that is skipped. */
  names: (string | undefined)[];
  skipped: SkippedColumn[];
}

/** Capitals, spaces, hyphens, underscores and full stops make no difference: `E-Mail` is `email`. */
export const foldedHeading = (heading: string): string => heading.toLowerCase().replace(/[\s_.-]+/g, '');

/** Every spelling of the format's headings, folded, with the column's name. */
export function headingsOf(format: FileFormat): Map<string, string> {
  const known = new Map<string, string>();
  for (const [name, column] of Object.entries<Column>(format.columns)) {
    for (const also of column.alsoHeaded) known.set(foldedHeading(also), name);
  }
  for (const [name, column] of Object.entries<Column>(format.columns))
    known.set(foldedHeading(column.heading), name);
  return known;
}

/** The heading that was probably meant: two letters in five may differ, at most. */
function nearest(cell: string, headings: readonly string[]): string | undefined {
  const written = foldedHeading(cell);
  if (written.length < 3 || headings.length === 0) return undefined;
  const byFolded = new Map(headings.map((heading) => [foldedHeading(heading), heading]));
  const best = closest(written, [...byFolded.keys()]);
  const near = distance(written, best) <= Math.floor(Math.max(written.length, best.length) * 0.4);
  return near ? byFolded.get(best) : undefined;
}

/**
 * Which column of the format each cell of a line belongs to, by the line of headings; undefined when a needed column
 * is missing or one is there twice, which goes to `problems`. A heading that the format does not know is skipped.
 */
export function readHeadings(
  cells: readonly string[],
  line: number,
  format: FileFormat,
  problems: ProblemList,
): Headings | undefined {
  const known = headingsOf(format);
  const columns = Object.entries<Column>(format.columns);
  const before = problems.count;
  const names: (string | undefined)[] = [];
  for (const cell of cells) {
    const name = known.get(foldedHeading(cell));
    if (name !== undefined && names.includes(name)) {
      problems.add({
        line,
        column: cell,
        value: cell,
        problem: 'This column is in the file twice.',
        fix: 'Keep one of the two columns.',
      });
    }
    names.push(name);
  }
  const absent = columns.filter(([name]) => !names.includes(name)).map(([, column]) => column.heading);
  const skipped = names.flatMap((name, at) => {
    const heading = (cells[at] ?? '').trim();
    return name === undefined ? [{ at, heading, near: nearest(heading, absent) }] : [];
  });
  for (const [name, column] of columns) {
    if (column.mayBeAbsent || names.includes(name)) continue;
    const meant = skipped.find((one) => one.near === column.heading);
    problems.add({
      line,
      column: column.heading,
      value: '',
      problem:
        meant === undefined
          ? 'This column is missing.'
          : `This column is missing; there is one headed "${meant.heading}".`,
      fix:
        meant === undefined
          ? `Add a column with the heading "${column.heading}". ${column.fix}`
          : `If "${meant.heading}" is meant, rename it to "${column.heading}".`,
    });
  }
  return problems.count === before ? { names, skipped } : undefined;
}
