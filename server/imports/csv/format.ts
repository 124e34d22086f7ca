import type { z } from 'zod';
import type { Asking } from './questions.ts';

/** One column of a file format. */
export interface Column<Value = unknown> {
  /** The heading in the file. Read without regard to case, spaces, hyphens, underscores and full stops. */
  heading: string;
  /** Other headings that people write for the same thing; read, never written. */
  alsoHeaded: readonly string[];
  /** From the cell's trimmed, non-empty text. */
  schema: z.ZodType<Value, string>;
  /** For texts that mean one thing or another, as only the person who made the file can say. */
  asking?: Asking;
  /** What to write instead, as an instruction with an example. Shown beside every problem in this column. */
  fix: string;
  /** An empty cell is allowed and means null. */
  mayBeEmpty: boolean;
  /** The column may be left out of the file altogether; only where an empty cell is allowed. */
  mayBeAbsent: boolean;
}

type Columns = Readonly<Record<string, Column>>;

/** A row as read from a file: each column's value, null where the cell was empty. */
export type RowOf<C extends Columns> = {
  [Name in keyof C]: C[Name] extends Column<infer Value> ? Value : never;
};

/** A problem that only several cells together show. */
interface RowFinding<C extends Columns> {
  column: keyof C & string;
  problem: string;
  fix: string;
}

/** A file format: what a file of this kind must hold. */
export interface FileFormat<C extends Columns = Columns> {
  /** The name the file has in a folder import, without `.csv`. */
  name: string;
  /** One sentence for the import page and docs/files.md. */
  purpose: string;
  columns: C;
  /** The columns that together say which thing a row is about; two rows may not agree in all of them. */
  key: readonly (keyof C & string)[];
  check?: (row: RowOf<C>) => RowFinding<C>[];
}

export function required<Value>(
  heading: string,
  schema: z.ZodType<Value, string>,
  fix: string,
  alsoHeaded: readonly string[] = [],
): Column<Value> {
  return { heading, alsoHeaded, schema, fix, mayBeEmpty: false, mayBeAbsent: false };
}

export function optional<Value>(
  heading: string,
  schema: z.ZodType<Value, string>,
  fix: string,
  alsoHeaded: readonly string[] = [],
): Column<Value | null> {
  return {
    heading,
    alsoHeaded,
    schema: schema as z.ZodType<Value | null, string>,
    fix,
    mayBeEmpty: true,
    mayBeAbsent: true,
  };
}

/** Keeps the exact column types while checking the shape. */
export function fileFormat<const C extends Columns>(format: FileFormat<C>): FileFormat<C> {
  return format;
}
