import { foldedHeading } from '../csv/headings.ts';
import type { TableRecord } from '../csv/records.ts';
import { UnreadableFile } from '../csv/unreadable.ts';
import { numberText, stringText } from './cell-text.ts';
import { readWorkbook, type Sheet, type Workbook } from './workbook.ts';
import { xmlEvents } from './xml-events.ts';
import { collected, ZipParts } from './zip-parts.ts';

/** What was found out about a workbook. */
export interface FoundWorkbook {
  sheet: string;
  /** Sheets that were not read. */
  otherSheets: string[];
}

const mostColumns = 1000;
const longestCell = 100_000;

/** `AB12` is in column 27, counted from 0. */
function columnOf(reference: string): number {
  let column = 0;
  for (const letter of reference) {
    const value = letter.charCodeAt(0) - 64;
    if (value < 1 || value > 26) break;
    column = column * 26 + value;
  }
  return column - 1;
}

function textOfCell(type: string, style: string | undefined, value: string, book: Workbook): string {
  switch (type) {
    case 's':
      return book.strings[Number(value)] ?? '';
    case 'str':
    case 'inlineStr':
      return stringText(value);
    case 'b':
      return value === '1' ? 'yes' : 'no';
    case 'd':
      return value.replace(/\.0+$/, '').replace(/Z$/, '');
    default: {
      if (value === '') return '';
      const number = Number(value);
      if (Number.isNaN(number)) return value;
      return numberText(number, book.forms[Number(style ?? 0)], book.dateSystem1904);
    }
  }
}

/** The rows of a sheet, one by one; `line` is the number that the spreadsheet shows beside the row. */
async function* rowsOf(source: AsyncIterable<Uint8Array>, book: Workbook): AsyncGenerator<TableRecord> {
  let rows: TableRecord[] = [];
  let row: TableRecord = { line: 0, cells: [] };
  let column = -1;
  let cell: { type: string; style: string | undefined; value: string } | undefined;
  let inValue = false;
  const events = xmlEvents(source, {
    open(name, attributes) {
      if (name === 'row') {
        row = { line: attributes.r === undefined ? row.line + 1 : Number(attributes.r), cells: [] };
        column = -1;
      } else if (name === 'c') {
        column = attributes.r === undefined ? column + 1 : columnOf(attributes.r);
        cell = { type: attributes.t ?? 'n', style: attributes.s, value: '' };
      } else if (name === 'v' || name === 't') inValue = true;
      else if (name === 'rPh') cell = undefined;
    },
    text(found) {
      if (!inValue || cell === undefined) return;
      cell.value += found;
      if (cell.value.length > longestCell)
        throw new UnreadableFile(row.line, 'A cell of this row is too long.', 'Shorten it.');
    },
    close(name) {
      if (name === 'v' || name === 't') inValue = false;
      else if (name === 'row') rows.push(row);
      else if (name === 'c' && cell !== undefined) {
        if (cell.type === 'e') {
          throw new UnreadableFile(
            row.line,
            `A cell of this row holds the error ${cell.value}; the rows after it were not read.`,
            'Correct its formula, or write the value itself.',
          );
        }
        const text = textOfCell(cell.type, cell.style, cell.value, book);
        cell = undefined;
        if (text === '') return;
        if (column >= mostColumns || column < 0)
          throw new UnreadableFile(
            row.line,
            `The sheet has more than ${mostColumns} columns.`,
            'Take columns out.',
          );
        while (row.cells.length < column) row.cells.push('');
        row.cells[column] = text;
      }
    },
  });
  for await (const _ of events) {
    yield* rows;
    rows = [];
  }
}

/** The sheet named like the kind of file, else the first that is not hidden. */
function chosen(sheets: readonly Sheet[], name: string): Sheet {
  const named = sheets.find((sheet) => foldedHeading(sheet.name) === foldedHeading(name));
  return named ?? sheets.find((sheet) => !sheet.hidden) ?? sheets[0]!;
}

/**
 * The rows of the sheet of a workbook (ECMA-376, Office Open XML) that is named like the kind of file, or of its first
 * one. Every row has as many cells as the first that holds something, or more.
 *
 * @throws UnreadableFile
 */
export async function* sheetRecords(
  source: AsyncIterable<Uint8Array>,
  name: string,
  tell: (found: FoundWorkbook) => void,
): AsyncGenerator<TableRecord> {
  const parts = await ZipParts.open(await collected(source));
  const book = await readWorkbook(parts);
  const sheet = chosen(book.sheets, name);
  tell({
    sheet: sheet.name,
    otherSheets: book.sheets.filter((each) => each !== sheet).map((each) => each.name),
  });
  let width = 0;
  for await (const { line, cells } of rowsOf(parts.read(sheet.part), book)) {
    if (cells.length === 0) continue;
    if (width === 0) width = cells.length;
    while (cells.length < width) cells.push('');
    yield { line, cells };
  }
}
