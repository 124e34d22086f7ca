import type pg from 'pg';
import type { FileFormat, RowOf } from '../csv/format.ts';
import type { Alike } from '../csv/problems.ts';

/** What `copyable` knows how to write to the staging table. */
export type StagedValue = string | number | boolean | null | readonly string[] | object;

interface StagingColumn {
  name: string;
  /** A PostgreSQL type. */
  type: string;
}

/** Reports a problem in the row at hand. `column` is the format's name of the column, not its heading. */
type Tell<C> = (column: keyof C & string, value: string, problem: string, fix: string) => void;

/** A problem that shows only once all rows are in the staging table. */
export interface StagedProblem {
  line: number;
  /** Heading of the column. */
  column: string;
  value: string;
  problem: string;
  fix: string;
  /** What is said of all problems of this sort together, where the words name a line. */
  alike?: Alike;
}

/** Columns of the staging table that no two rows may agree in. */
interface StagedUnique {
  columns: readonly string[];
  /** Heading of the column shown beside the problem, and the staging column whose value is shown. */
  heading: string;
  shows: string;
  /** Completes "Line 12 ... ": what the other line has in common. */
  says: string;
}

interface MergeCounts {
  added: number;
  changed: number;
  /** Games whose play log is another now, where the file is about plays. */
  playLogsChanged?: string[];
}

/**
 * One kind of file that can be imported: its format, and how its rows enter the database. Rows go into a temporary
 * table `staged` (with `line`) and from there, if nothing is wrong, into their tables in one transaction.
 */
export interface FileKind<C extends FileFormat['columns'] = FileFormat['columns']> {
  format: FileFormat<C>;
  staging: readonly StagingColumn[];
  /** The first says which thing a row is about. */
  unique: readonly [StagedUnique, ...StagedUnique[]];
  /**
   * Reads what rows refer to and returns the function that turns a row into staged values, or undefined when the
   * row refers to something that is not there (it then called `tell`).
   */
  open(
    client: pg.ClientBase,
    conferenceId: string,
  ): Promise<(row: RowOf<C>, tell: Tell<C>) => readonly StagedValue[] | undefined>;
  check?(client: pg.ClientBase, conferenceId: string): Promise<StagedProblem[]>;
  /**
   * `present` are the format's columns that the file has; values of the others stay as they are. `importedBy` is null
   * where a command imports.
   */
  merge(
    client: pg.ClientBase,
    conferenceId: string,
    present: ReadonlySet<string>,
    importedBy: string | null,
  ): Promise<MergeCounts>;
}

/** Keeps the exact column types while checking the shape. */
export function fileKind<const C extends FileFormat['columns']>(kind: FileKind<C>): FileKind {
  return kind as unknown as FileKind;
}

/** Runs a statement that returns one row per merged row with a boolean `added`, and counts them. */
export async function countMerged(
  client: pg.ClientBase,
  sql: string,
  values: readonly unknown[],
): Promise<MergeCounts> {
  const { rows } = await client.query<{ added: number; changed: number }>(
    `WITH merged AS (${sql})
     SELECT count(*) FILTER (WHERE added)::int AS added, count(*) FILTER (WHERE NOT added)::int AS changed
       FROM merged`,
    [...values],
  );
  return rows[0] ?? { added: 0, changed: 0 };
}
