import { type FoundWorkbook, sheetRecords } from '../xlsx/sheet-records.ts';
import type { FileFormat } from './format.ts';
import { foldedHeading, headingsOf } from './headings.ts';
import { csvRecords, type FoundCsv, type TableRecord } from './records.ts';
import { UnreadableFile } from './unreadable.ts';

/** How a file was read: as text with its encoding and separator, or as a sheet of a workbook. */
export type FoundFile = ({ form: 'text' } & FoundCsv) | ({ form: 'workbook' } & FoundWorkbook);

const zipStart = 0x504b0304;
/** Of workbooks before 2007 (Compound File Binary). */
const oldWorkbookStart = 0xd0cf11e0;

/** The rows of a file, whether it is text or a workbook, which its first bytes tell. */
export async function* tableRecords(
  source: AsyncIterable<Uint8Array>,
  format: FileFormat,
  tell: (found: FoundFile) => void,
): AsyncGenerator<TableRecord> {
  const pieces = source[Symbol.asyncIterator]();
  let start = Buffer.alloc(0);
  let ended = false;
  while (start.length < 4 && !ended) {
    const next = await pieces.next();
    if (next.done) ended = true;
    else start = Buffer.concat([start, next.value]);
  }
  async function* all() {
    try {
      if (start.length > 0) yield start;
      for (let next = await pieces.next(); !next.done; next = await pieces.next()) yield next.value;
    } finally {
      await pieces.return?.();
    }
  }
  const mark = start.length < 4 ? 0 : start.readUInt32BE(0);
  if (mark === oldWorkbookStart) {
    await pieces.return?.();
    throw new UnreadableFile(
      0,
      'The file is a workbook of an older form (.xls).',
      'Save it as a workbook (.xlsx) or as "CSV UTF-8".',
    );
  }
  if (mark === zipStart) {
    yield* sheetRecords(all(), format.name, (found) => tell({ form: 'workbook', ...found }));
    return;
  }
  const known = headingsOf(format);
  const found: FoundFile = { form: 'text', encoding: 'UTF-8', byteOrderMark: false, separator: 'comma' };
  tell(found);
  yield* csvRecords(all(), (cell) => known.has(foldedHeading(cell)), found);
}
