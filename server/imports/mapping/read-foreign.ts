import { createHash } from 'node:crypto';
import { Problem } from '../../web/problem.ts';
import { rearmed } from '../csv/formula.ts';
import { type FoundFile, tableRecords } from '../csv/table-records.ts';
import { UnreadableFile } from '../csv/unreadable.ts';
import { playsFormat } from '../files/plays.ts';
import { type ForeignFile, type ForeignRow, foreignFile, mostRows } from './foreign-file.ts';

/** A file of plays as it came, before anybody said where its headings are. */
export interface ForeignTable {
  readonly records: readonly ForeignRow[];
  readonly readAs: FoundFile;
  readonly sha256: string;
  /** The table when headings stand in that filled line. */
  with(headings: number): ForeignFile;
}

/**
 * Reads a CSV file or a workbook whole: a season's plays at most.
 * @throws Problem 422 when it cannot be read as a table, or has too many rows.
 */
export async function readForeign(open: () => AsyncIterable<Uint8Array>): Promise<ForeignTable> {
  const hash = createHash('sha256');
  const records: ForeignRow[] = [];
  let readAs: FoundFile = { form: 'text', encoding: 'UTF-8', byteOrderMark: false, separator: 'comma' };
  async function* hashed() {
    for await (const chunk of open()) {
      hash.update(chunk);
      yield chunk;
    }
  }
  try {
    const found = (how: FoundFile) => {
      readAs = how;
    };
    for await (const { line, cells } of tableRecords(hashed(), playsFormat as never, found)) {
      if (cells.every((cell) => cell.trim() === '')) continue;
      records.push({ line, cells: cells.map((cell) => rearmed(cell.trim())) });
      if (records.length > mostRows + 30) {
        throw unreadable(
          `The file has more than ${mostRows} rows.`,
          'Send the plays of one game, or of fewer games.',
        );
      }
    }
  } catch (error) {
    if (!(error instanceof UnreadableFile)) throw error;
    throw unreadable(`${error.line > 0 ? `Line ${error.line}: ` : ''}${error.message}`, error.fix);
  }
  if (records.length === 0) {
    throw unreadable('The file is empty.', 'Choose a file with a line for each play.');
  }
  const tables = new Map<number, ForeignFile>();
  return {
    records,
    readAs,
    sha256: hash.digest('hex'),
    with(headings) {
      const known = tables.get(headings);
      if (known) return known;
      const table = foreignFile(records, headings);
      tables.set(headings, table);
      return table;
    },
  };
}

const unreadable = (problem: string, fix: string) =>
  new Problem(422, 'The file cannot be read', `${problem} ${fix}`, [
    { field: 'file', message: `${problem} ${fix}` },
  ]);
