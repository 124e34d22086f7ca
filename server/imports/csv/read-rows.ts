import { Transform, type TransformCallback } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { CsvError, type Info, parse } from 'csv-parse';
import type { Column, FileFormat, RowOf } from './format.ts';
import type { ProblemList } from './problems.ts';

export interface ReadRow<Row> {
  /** The line on which the row begins, counted from 1. */
  line: number;
  row: Row;
  /** The columns that the file has; one that was left out is null in every row. The same object for each row. */
  present: ReadonlySet<string>;
}

/** The longest row we take. A row this long is an unclosed quote, not a row. */
const longestRow = 1_000_000;

class UnreadableFile extends Error {
  readonly line: number;
  readonly fix: string;
  constructor(line: number, message: string, fix: string) {
    super(message);
    this.line = line;
    this.fix = fix;
  }
}

const saveAsUtf8 = 'Save or export the file again as "CSV UTF-8".';

/**
 * Passes text on and refuses what is not UTF-8, with the line. A byte order mark is dropped, and every line end
 * (CRLF, LF, or the lone CR of old spreadsheets) becomes LF, also inside quotes, so that lines can be counted.
 */
class Utf8Text extends Transform {
  readonly #decoder = new TextDecoder('utf-8', { fatal: true });
  #line = 1;
  #started = false;
  #endedWithCarriageReturn = false;

  constructor() {
    super({ decodeStrings: true, readableObjectMode: false });
  }

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: TransformCallback): void {
    if (!this.#started && chunk.length > 0) {
      this.#started = true;
      const start = chunk.subarray(0, 4);
      if (start.subarray(0, 2).equals(Buffer.from('PK'))) {
        done(
          new UnreadableFile(
            0,
            'is a spreadsheet or archive, not a CSV file',
            'Export the sheet as "CSV UTF-8".',
          ),
        );
        return;
      }
      const utf16 = (start[0] === 0xff && start[1] === 0xfe) || (start[0] === 0xfe && start[1] === 0xff);
      if (utf16) {
        done(new UnreadableFile(0, 'is written in UTF-16', saveAsUtf8));
        return;
      }
    }
    this.#decode(chunk, done);
  }

  override _flush(done: TransformCallback): void {
    this.#decode(undefined, done);
  }

  #decode(chunk: Buffer | undefined, done: TransformCallback): void {
    try {
      let decoded = this.#decoder.decode(chunk, { stream: chunk !== undefined });
      if (this.#endedWithCarriageReturn && decoded.length > 0) {
        this.#endedWithCarriageReturn = false;
        decoded = decoded.startsWith('\n') ? decoded : `\n${decoded}`;
      } else if (this.#endedWithCarriageReturn && chunk === undefined) {
        decoded = '\n';
      }
      if (chunk !== undefined && decoded.endsWith('\r')) {
        this.#endedWithCarriageReturn = true;
        decoded = decoded.slice(0, -1);
      }
      decoded = decoded.replace(/\r\n?/g, '\n');
      for (let at = decoded.indexOf('\n'); at !== -1; at = decoded.indexOf('\n', at + 1)) this.#line += 1;
      done(null, decoded);
    } catch {
      const lenient = new TextDecoder().decode(chunk ?? Buffer.alloc(0));
      const before = lenient.slice(0, Math.max(lenient.indexOf('\uFFFD'), 0));
      const line = this.#line + before.split('\n').length - 1;
      done(new UnreadableFile(line, 'holds bytes that are not UTF-8 text', saveAsUtf8));
    }
  }
}

const folded = (heading: string) =>
  heading
    .trim()
    .toLowerCase()
    .replace(/[\s_]+/g, ' ');

/** Column names in the order of the file's cells, or undefined when the headings can't be used. */
function readHeadings(cells: readonly string[], line: number, format: FileFormat, problems: ProblemList) {
  const wanted = new Map(
    Object.entries(format.columns).map(([name, column]) => [folded(column.heading), name]),
  );
  const known = Object.values(format.columns)
    .map((column) => column.heading)
    .join(', ');
  const before = problems.count;
  const names: string[] = [];
  if (cells.length === 1 && Object.keys(format.columns).length > 1) {
    const separator = [';', '\t'].find((candidate) => cells[0]?.includes(candidate));
    if (separator !== undefined) {
      problems.add({
        line,
        column: '',
        value: cells[0] ?? '',
        problem: `The columns are separated by ${separator === ';' ? 'semicolons' : 'tabs'}, not commas.`,
        fix: 'Export the file again as comma-separated values (CSV).',
      });
      return undefined;
    }
  }
  for (const cell of cells) {
    const name = wanted.get(folded(cell));
    const twice = name !== undefined && names.includes(name);
    if (name === undefined || twice) {
      problems.add({
        line,
        column: cell,
        value: cell,
        problem: twice
          ? 'This column is in the file twice.'
          : cell.trim() === ''
            ? 'A column has no heading.'
            : `There is no column of this name in ${format.name}.csv.`,
        fix: twice ? 'Keep one of the two columns.' : `Remove the column or rename it to one of: ${known}.`,
      });
    }
    names.push(name ?? '');
  }
  for (const [name, column] of Object.entries(format.columns)) {
    if (column.mayBeAbsent || names.includes(name)) continue;
    problems.add({
      line,
      column: column.heading,
      value: '',
      problem: 'This column is missing.',
      fix: `Add a column with the heading "${column.heading}". ${column.fix}`,
    });
  }
  return problems.count === before ? names : undefined;
}

function lineBreaks(cells: readonly string[]): number {
  let count = 0;
  for (const cell of cells) {
    for (let at = cell.indexOf('\n'); at !== -1; at = cell.indexOf('\n', at + 1)) count += 1;
  }
  return count;
}

/** Cells repeat: "none", "1", "head linesman". A column remembers this many short texts and what they mean. */
const remembered = 500;
const longestRemembered = 40;

function readCell(
  column: Column,
  cell: string,
  line: number,
  problems: ProblemList,
  memory: Map<string, unknown>,
): unknown {
  const known = memory.get(cell);
  if (known !== undefined) return known;
  const trimmed = cell.trim();
  if (trimmed === '') {
    if (!column.mayBeEmpty) {
      problems.add({
        line,
        column: column.heading,
        value: '',
        problem: 'The cell is empty.',
        fix: column.fix,
      });
    }
    return null;
  }
  const parsed = column.schema.safeParse(trimmed);
  if (parsed.success) {
    if (memory.size < remembered && cell.length <= longestRemembered) memory.set(cell, parsed.data);
    return parsed.data;
  }
  const reason = parsed.error.issues[0]?.message ?? 'cannot be read';
  problems.add({
    line,
    column: column.heading,
    value: trimmed,
    problem: `This ${reason}.`,
    fix: column.fix,
  });
  return null;
}

function lineOf(error: CsvError): number {
  return typeof error.lines === 'number' ? error.lines : Number.POSITIVE_INFINITY;
}

function quoteProblem(error: CsvError): { problem: string; fix: string } {
  switch (error.code) {
    case 'CSV_QUOTE_NOT_CLOSED':
    case 'CSV_MAX_RECORD_SIZE':
      return {
        problem: 'A quoted value begins here and never ends; the lines after it were not read.',
        fix: 'Close the value with a double quote ("). A double quote inside a value is written twice ("").',
      };
    case 'CSV_INVALID_CLOSING_QUOTE':
    case 'INVALID_OPENING_QUOTE':
      return {
        problem: 'A double quote stands in the middle of a value; the lines after it were not read.',
        fix: 'Put the whole value in double quotes and write each double quote inside it twice ("").',
      };
    default:
      return {
        problem: 'This line is not in CSV form; the lines after it were not read.',
        fix: 'Export the file again as "CSV UTF-8".',
      };
  }
}

/**
 * Reads a CSV file (RFC 4180; UTF-8 with or without byte order mark; lines ended by CRLF or LF) row by row, never
 * the whole of it. Rows without a problem are yielded; every problem goes to `problems` and reading goes on, except
 * past a broken quotation, where what follows can't be told apart.
 *
 * Spaces around a value are dropped. An empty cell of an optional column is null. Empty lines are skipped.
 */
export async function* readRows<C extends FileFormat['columns']>(
  source: AsyncIterable<Uint8Array>,
  format: FileFormat<C>,
  problems: ProblemList,
): AsyncGenerator<ReadRow<RowOf<C>>> {
  const decoder = new Utf8Text();
  // A broken quotation is noted rather than thrown, so that the problems of the rows before it are still listed.
  let broken: CsvError | undefined;
  const parser = parse({
    skip_records_with_error: true,
    on_skip: (error) => {
      broken ??= error;
      if (error?.code === 'CSV_MAX_RECORD_SIZE') parser.destroy(error);
    },
    info: true,
    relax_column_count: true,
    skip_empty_lines: true,
    max_record_size: longestRow,
    record_delimiter: '\n',
  });
  const columns = format.columns as Readonly<Record<string, Column>>;
  // An error of the source or the decoder destroys the parser with it, and so reaches the loop below.
  const pumping = pipeline(source, decoder, parser).catch(() => undefined);
  let names: string[] | undefined;
  let present: ReadonlySet<string> = new Set();
  let memories: Map<string, unknown>[] = [];
  let headingsRead = false;
  let lastLine = 0;
  try {
    for await (const { info, record } of parser as AsyncIterable<{ info: Info; record: string[] }>) {
      if (broken !== undefined && info.lines >= lineOf(broken)) break;
      lastLine = info.lines;
      const line = info.lines - lineBreaks(record);
      if (!headingsRead) {
        headingsRead = true;
        names = readHeadings(record, line, format as unknown as FileFormat, problems);
        if (names === undefined) return;
        present = new Set(names);
        memories = names.map(() => new Map());
        continue;
      }
      if (names === undefined) continue;
      if (record.length !== names.length) {
        problems.add({
          line,
          column: '',
          value: record.join(',').slice(0, 40),
          problem: `The line has ${record.length} values where the headings have ${names.length}.`,
          fix: 'Give each line one value per column. A value with a comma in it must be in double quotes.',
        });
        continue;
      }
      const before = problems.count;
      const row: Record<string, unknown> = {};
      for (const name of Object.keys(columns)) row[name] = null;
      for (let at = 0; at < names.length; at += 1) {
        const name = names[at] as string;
        row[name] = readCell(
          columns[name] as Column,
          record[at] ?? '',
          line,
          problems,
          memories[at] as Map<string, unknown>,
        );
      }
      if (problems.count === before && format.check !== undefined) {
        for (const found of format.check(row as RowOf<C>)) {
          const at = names.indexOf(found.column);
          problems.add({
            line,
            column: columns[found.column]?.heading ?? found.column,
            value: at === -1 ? '' : (record[at] ?? '').trim(),
            problem: found.problem,
            fix: found.fix,
          });
        }
      }
      if (problems.count === before) yield { line, row: row as RowOf<C>, present };
    }
    if (broken !== undefined) throw broken;
    await pumping;
    if (!headingsRead) {
      problems.add({
        line: 0,
        column: '',
        value: '',
        problem: 'The file is empty.',
        fix: `The first line must hold the headings: ${Object.values(columns)
          .map((column) => column.heading)
          .join(', ')}.`,
      });
    }
  } catch (error) {
    if (error instanceof UnreadableFile) {
      problems.add({
        line: error.line,
        column: '',
        value: '',
        problem: `The file ${error.message}.`,
        fix: error.fix,
      });
    } else if (error instanceof CsvError) {
      const runsOn = error.code === 'CSV_QUOTE_NOT_CLOSED' || error.code === 'CSV_MAX_RECORD_SIZE';
      const line = runsOn ? lastLine + 1 : lineOf(error);
      problems.add({ line, column: '', value: '', ...quoteProblem(error) });
    } else {
      throw error;
    }
  } finally {
    parser.destroy();
    await pumping;
  }
}
