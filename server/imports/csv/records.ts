import { pipeline } from 'node:stream/promises';
import { CsvError, type Info, parse } from 'csv-parse';
import { decodeText, type FoundText } from './decode-text.ts';
import { findSeparator, type Separator, separators } from './separator.ts';
import { UnreadableFile } from './unreadable.ts';

/** A line of a table: its cells as text. */
export interface TableRecord {
  /** The line on which it begins, counted from 1. */
  line: number;
  cells: string[];
}

/** What was found out about a file of separated values. */
export interface FoundCsv extends FoundText {
  separator: Separator;
}

/** The longest row we take. A row this long is an unclosed quote, not a row. */
const longestRow = 1_000_000;

/** The separator is looked for in about this many characters. */
const startLength = 16_384;

function lineBreaks(cells: readonly string[]): number {
  let count = 0;
  for (const cell of cells) {
    for (let at = cell.indexOf('\n'); at !== -1; at = cell.indexOf('\n', at + 1)) count += 1;
  }
  return count;
}

const lineOf = (error: CsvError): number =>
  typeof error.lines === 'number' ? error.lines : Number.POSITIVE_INFINITY;

function brokenQuotation(error: CsvError, lastLine: number): UnreadableFile {
  switch (error.code) {
    case 'CSV_QUOTE_NOT_CLOSED':
    case 'CSV_MAX_RECORD_SIZE':
      return new UnreadableFile(
        lastLine + 1,
        'A quoted value begins here and never ends; the lines after it were not read.',
        'Close the value with a double quote ("). A double quote inside a value is written twice ("").',
      );
    case 'CSV_INVALID_CLOSING_QUOTE':
    case 'INVALID_OPENING_QUOTE':
      return new UnreadableFile(
        lineOf(error),
        'A double quote stands in the middle of a value; the lines after it were not read.',
        'Put the whole value in double quotes and write each double quote inside it twice ("").',
      );
    default:
      return new UnreadableFile(
        lineOf(error),
        'This line is not in CSV form; the lines after it were not read.',
        'Export the file again as "CSV UTF-8".',
      );
  }
}

/**
 * The records of a file of separated values (RFC 4180, but for the separator, which is found out by the headings, and
 * the line end), one by one, never the whole of it. Empty lines are skipped.
 *
 * @throws UnreadableFile where it cannot be read on, after the records before
 */
export async function* csvRecords(
  source: AsyncIterable<Uint8Array>,
  isHeading: (cell: string) => boolean,
  found: FoundCsv,
): AsyncGenerator<TableRecord> {
  const text = decodeText(source, found)[Symbol.asyncIterator]();
  let start = '';
  let next = await text.next();
  while (!next.done && start.length < startLength) {
    start += next.value;
    if (start.length < startLength) next = await text.next();
  }
  const { separator, skip } = findSeparator(start, isHeading);
  found.separator = separator;
  const skippedLines = skip > 0 ? 1 : 0;

  async function* all() {
    yield start.slice(skip);
    for (let rest = await text.next(); !rest.done; rest = await text.next()) yield rest.value;
  }

  // A broken quotation is noted rather than thrown, so that the records before it are still handed on.
  let broken: CsvError | undefined;
  const parser = parse({
    delimiter: separators[separator],
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
  // An error of the source or the decoder destroys the parser with it, and so reaches the loop below.
  const pumping = pipeline(all(), parser).catch(() => undefined);
  let lastLine = skippedLines;
  try {
    for await (const { info, record } of parser as AsyncIterable<{ info: Info; record: string[] }>) {
      if (broken !== undefined && info.lines >= lineOf(broken)) break;
      lastLine = info.lines + skippedLines;
      yield { line: lastLine - lineBreaks(record), cells: record };
    }
    if (broken !== undefined) throw broken;
    await pumping;
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    if (typeof error.lines === 'number') error.lines += skippedLines;
    throw brokenQuotation(error, lastLine);
  } finally {
    parser.destroy();
    await pumping;
  }
}
