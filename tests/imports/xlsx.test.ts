// @module-tag rest
import { Readable } from 'node:stream';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import writeExcelFile from 'write-excel-file/node';
import yazl from 'yazl';
import { text } from '../../server/imports/csv/cells.ts';
import { type FileFormat, fileFormat, optional } from '../../server/imports/csv/format.ts';
import { ProblemList } from '../../server/imports/csv/problems.ts';
import { Reading, readRows } from '../../server/imports/csv/read-rows.ts';
import { scheduleFormat } from '../../server/imports/files/schedule.ts';
import { numberForm, numberText } from '../../server/imports/xlsx/cell-text.ts';
import { limits } from '../../server/imports/xlsx/zip-parts.ts';

const format = fileFormat({
  name: 'examples',
  purpose: 'For tests.',
  columns: {
    first: optional('first', text(100_000), 'Write it.'),
    second: optional('second', text(1000), 'Write it.'),
  },
  key: ['first'],
});

async function read(bytes: Buffer, as: FileFormat = format as unknown as FileFormat) {
  const problems = new ProblemList();
  const reading = new Reading({ dates: 'month-first' });
  const rows: { line: number; row: Record<string, unknown> }[] = [];
  async function* pieces() {
    for (let at = 0; at < bytes.length; at += 1000) yield bytes.subarray(at, at + 1000);
  }
  for await (const { line, row } of readRows(pieces(), as, problems, reading)) rows.push({ line, row });
  return { rows, problems: problems.listed, reading };
}

type Part = string | { spaces: number };

function* spaces(count: number) {
  const piece = Buffer.alloc(1024 * 1024, ' ');
  for (let at = 0; at < count; at += piece.length) yield piece;
}

/** A workbook of parts written by hand; a part may be made of spaces, as they pack best. */
async function zipOf(parts: Record<string, Part>): Promise<Buffer> {
  const zip = new yazl.ZipFile();
  for (const [name, part] of Object.entries(parts)) {
    if (typeof part === 'string') zip.addBuffer(Buffer.from(part), name);
    else zip.addReadStream(Readable.from(spaces(part.spaces), { objectMode: false }), name);
  }
  zip.end();
  const chunks: Buffer[] = [];
  for await (const chunk of zip.outputStream) chunks.push(chunk as Buffer);
  return Buffer.concat(chunks);
}

const main = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
const relations = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';

interface Made {
  sheets?: { name: string; state?: string; rows: string }[];
  strings?: string;
  styles?: string;
  properties?: string;
  more?: Record<string, Part>;
}

/** The parts of a workbook, as ECMA-376 part 1, 12.3 and 18 have them. */
const made = ({ sheets = [], strings = '', styles = '', properties = '', more = {} }: Made) =>
  zipOf({
    'xl/workbook.xml': `<workbook xmlns="${main}" xmlns:r="${relations}">${properties}<sheets>${sheets
      .map(
        ({ name, state = 'visible' }, at) =>
          `<sheet name="${name}" sheetId="${at + 1}" state="${state}" r:id="r${at}"/>`,
      )
      .join('')}</sheets></workbook>`,
    'xl/_rels/workbook.xml.rels': `<Relationships>${sheets
      .map(
        (_, at) => `<Relationship Id="r${at}" Type="${relations}/worksheet" Target="worksheets/s${at}.xml"/>`,
      )
      .join('')}</Relationships>`,
    'xl/sharedStrings.xml': `<sst xmlns="${main}">${strings}</sst>`,
    'xl/styles.xml': `<styleSheet xmlns="${main}">${styles}</styleSheet>`,
    ...Object.fromEntries(
      sheets.map(({ rows }, at) => [
        `xl/worksheets/s${at}.xml`,
        `<worksheet xmlns="${main}"><sheetData>${rows}</sheetData></worksheet>`,
      ]),
    ),
    ...more,
  });

const inline = (text: string) => `<c t="inlineStr"><is><t xml:space="preserve">${text}</t></is></c>`;
const headings = `<row r="1">${inline('first')}${inline('second')}</row>`;

describe('a workbook written by another library', () => {
  it('reads back whatever texts were written, with the rows’ own numbers', async () => {
    const word = fc
      .string({
        unit: fc.constantFrom('a', 'é', '語', '😀', ',', '"', '<', '&', ' ', "'", '=', '7'),
        maxLength: 8,
      })
      .map((value) => value.trim())
      .filter((value) => !/^'+=/.test(value));
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.tuple(
            word.filter((value) => value !== ''),
            word,
          ),
          { minLength: 1, maxLength: 6 },
        ),
        async (cells) => {
          const rows = [['first', 'second'], ...cells.map((pair) => pair.map((value) => value || null))];
          const { rows: back, problems, reading } = await read(await writeExcelFile(rows).toBuffer());
          expect(problems).toEqual([]);
          expect(back.map(({ row }) => [row.first, row.second ?? ''])).toEqual(cells);
          expect(back.map(({ line }) => line)).toEqual(cells.map((_, at) => at + 2));
          expect(reading.found.form).toBe('workbook');
        },
      ),
      { numRuns: 50 },
    );
  });

  it('reads numbers, dates and yes or no as a person would have written them', async () => {
    const kickoff = new Date('2026-09-05T14:30:00Z');
    const file = await writeExcelFile([
      ['season', 'week', 'game', 'kickoff', 'home', 'visitor', 'venue'],
      [
        2026,
        1,
        'G1',
        { value: kickoff, type: Date, format: 'm/d/yyyy h:mm AM/PM' },
        'Oaks',
        'Elms',
        'Oak Field',
      ],
      [2026, 2, 'G2', '9/12/2026 2:30 PM', 'Elms', 'Oaks', 'Oak Field'],
      // A date whose cell shows a plain number.
      [2026, 3, 'G3', 46270.604166666664, 'Elms', 'Oaks', 'Oak Field'],
    ] as never).toBuffer();
    const { rows, problems } = await read(file, scheduleFormat as unknown as FileFormat);
    expect(problems).toEqual([]);
    expect(rows.map(({ row }) => [row.season, row.week, row.kickoff])).toEqual([
      ['2026', 1, '2026-09-05 14:30'],
      ['2026', 2, '2026-09-12 14:30'],
      ['2026', 3, '2026-09-05 14:30'],
    ]);
  });
});

describe('a workbook as ECMA-376 has it', () => {
  it('reads shared, rich and phonetic texts, errors apart, empty rows and columns left out', async () => {
    const strings = `<si><t>first</t></si><si><t>second</t></si><si><r><t>Ł</t></r><r><t xml:space="preserve">uk_x0041_</t></r><rPh sb="0" eb="1"><t>no</t></rPh></si>`;
    const rows = `<row r="3"><c r="B3" t="s"><v>1</v></c><c r="A3" t="s"><v>0</v></c></row><row r="7"><c r="A7" t="s"><v>2</v></c><c r="B7" t="b"><v>1</v></c></row><row r="8"><c r="A8"/></row><row r="9"><c r="B9" t="str"><f>A7</f><v>x</v></c></row>`;
    const { rows: back, problems } = await read(await made({ strings, sheets: [{ name: 'Any', rows }] }));
    expect(problems).toEqual([]);
    expect(back).toMatchObject([
      { line: 7, row: { first: 'ŁukA', second: 'yes' } },
      { line: 9, row: { first: null, second: 'x' } },
    ]);
  });

  it('reads the sheet named like the kind of file, else the first that is not hidden', async () => {
    const row = (word: string) => `${headings}<row r="2">${inline(word)}</row>`;
    const sheets = [
      { name: 'Notes', state: 'hidden', rows: row('hidden') },
      { name: 'List', rows: row('list') },
      { name: 'EXAMPLES', rows: row('named') },
    ];
    const named = await read(await made({ sheets }));
    expect(named.rows[0]?.row.first).toBe('named');
    expect(named.reading.found).toEqual({
      form: 'workbook',
      sheet: 'EXAMPLES',
      otherSheets: ['Notes', 'List'],
    });
    expect((await read(await made({ sheets: sheets.slice(0, 2) }))).rows[0]?.row.first).toBe('list');
  });

  it('tells a cell with an error, by its row', async () => {
    const rows = `${headings}<row r="2">${inline('a')}</row><row r="3"><c r="A3" t="e"><v>#REF!</v></c></row>`;
    const { problems } = await read(await made({ sheets: [{ name: 'Any', rows }] }));
    expect(problems).toMatchObject([
      { line: 3, problem: 'A cell of this row holds the error #REF!; the rows after it were not read.' },
    ]);
  });

  it('knows which number forms show dates and times', () => {
    // Codes of ECMA-376 part 1, 18.8.30 and 18.8.31; the words beside them from memory.
    const shown = (id: number, value: number, code?: string) =>
      numberText(value, code === undefined ? numberForm(id) : numberForm(id, code), false);
    expect(shown(0, 41.62)).toBe('41.62');
    expect(shown(2, 0.1 + 0.2)).toBe('0.30000000000000004');
    expect(shown(14, 46270)).toBe('2026-09-05');
    expect(shown(22, 46270.604166666664)).toBe('2026-09-05 14:30');
    expect(shown(20, 0.503472222222222)).toBe('12:05');
    expect(shown(21, 0.0430902777777778)).toBe('1:02:03');
    expect(shown(21, 0.0430555555555556)).toBe('1:02:00');
    expect(shown(45, 0.0083912037037037)).toBe('12:05');
    expect(shown(47, 0.0430960648148148, 'mm:ss.0')).toBe('1:02:03.5');
    expect(shown(46, 1.5)).toBe('36:00:00');
    expect(shown(164, 46270.5, '[$-409]m/d/yy\\ h:mm\\ AM/PM;@')).toBe('2026-09-05 12:00');
    expect(shown(164, 12.5, '[Red]#,##0.00" days"')).toBe('12.5');
    expect(numberText(44808, numberForm(14), true)).toBe('2026-09-05');
  });
});

describe('what was made to do harm, or is no workbook', () => {
  const sheet = { name: 'Any', rows: `${headings}<row r="2">${inline('a')}</row>` };

  it('is refused with a reason', async () => {
    const problem = async (bytes: Buffer) => (await read(bytes)).problems[0]?.problem;
    expect(await problem(Buffer.from('PK\u0003\u0004and then nothing'))).toBe(
      'The file looks like a spreadsheet, but cannot be opened as one.',
    );
    expect(await problem(Buffer.from('d0cf11e0a1b11ae1', 'hex'))).toBe(
      'The file is a workbook of an older form (.xls).',
    );
    expect(await problem(await zipOf({ 'notes.txt': 'hello' }))).toBe(
      'The file is an archive, but no workbook with a sheet.',
    );
    expect(await problem(await made({ sheets: [{ name: 'Any', rows: '<row><c></row>' }] }))).toBe(
      'The workbook holds XML that cannot be read.',
    );
    const parts = Object.fromEntries(Array.from({ length: limits.parts + 1 }, (_, at) => [`p${at}`, '']));
    expect(await problem(await zipOf(parts))).toContain('more than 2000 parts');
    const wide = `<row r="1"><c r="XFD1" t="n"><v>1</v></c></row>`;
    expect(await problem(await made({ sheets: [{ name: 'Any', rows: wide }] }))).toBe(
      'The sheet has more than 1000 columns.',
    );
  });

  it('does not expand a document’s own entities', async () => {
    const bomb = `<!DOCTYPE lol [<!ENTITY a "${'x'.repeat(50)}"><!ENTITY b "&a;&a;&a;">]><worksheet><sheetData>${headings}<row r="2"><c t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>`;
    const { rows, problems } = await read(
      await made({ sheets: [sheet], more: { 'xl/worksheets/s0.xml': bomb } }),
    );
    expect(rows).toEqual([]);
    expect(problems[0]?.problem).toBe('The workbook holds XML that cannot be read.');
  });

  it('is not unpacked into memory', { tags: ['long'] }, async () => {
    setFlagsFromString('--expose_gc');
    const collectGarbage = runInNewContext('gc') as () => void;
    // 510 MB of spaces in half a megabyte.
    const size = limits.part + 10 * 1024 * 1024;
    const bytes = await made({ sheets: [sheet], more: { 'xl/worksheets/s0.xml': { spaces: size } } });
    expect(bytes.length).toBeLessThan(1024 * 1024);
    collectGarbage();
    const before = process.memoryUsage().rss;
    const { problems } = await read(bytes);
    expect(problems[0]?.problem).toMatch(/unpacks to more than 500 MB|cannot be read/);
    expect(process.memoryUsage().rss - before).toBeLessThan(300 * 1024 * 1024);
  });
});
