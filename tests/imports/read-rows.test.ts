import { stringify } from 'csv-stringify/sync';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  decimal,
  filmTimecode,
  gameClock,
  instant,
  line,
  localDateTime,
  oneOf,
  someOf,
  text,
  timeZone,
  yesOrNo,
} from '../../server/imports/csv/cells.ts';
import { fileFormat, optional, required } from '../../server/imports/csv/format.ts';
import { listedProblems, ProblemList } from '../../server/imports/csv/problems.ts';
import { readRows } from '../../server/imports/csv/read-rows.ts';

const format = fileFormat({
  name: 'examples',
  purpose: 'For tests.',
  columns: {
    first: required('first', text(100), 'Write the first.'),
    second: optional('second', text(100), 'Write the second.'),
    latitude: optional('latitude', decimal(-90, 90), 'Write degrees.'),
  },
  key: ['first'],
});

/** Reads a file that comes in pieces of `pieceLength` bytes. */
async function read(file: string | Uint8Array, pieceLength = 65_536) {
  const bytes = typeof file === 'string' ? Buffer.from(file) : file;
  const problems = new ProblemList();
  const rows: { line: number; first: string; second: string | null }[] = [];
  async function* pieces() {
    for (let at = 0; at < bytes.length; at += pieceLength) yield bytes.subarray(at, at + pieceLength);
  }
  for await (const { line: at, row } of readRows(pieces(), format, problems)) {
    rows.push({ line: at, first: row.first, second: row.second });
  }
  return { rows, problems: problems.listed, count: problems.count, unlisted: problems.unlisted };
}

describe('a CSV file as RFC 4180, section 2, defines it', () => {
  it('ends each record with CRLF (2.1), the last with or without (2.2)', async () => {
    const expected = [
      { line: 2, first: 'aaa', second: 'bbb' },
      { line: 3, first: 'zzz', second: 'yyy' },
    ];
    expect((await read('first,second\r\naaa,bbb\r\nzzz,yyy\r\n')).rows).toEqual(expected);
    expect((await read('first,second\r\naaa,bbb\r\nzzz,yyy')).rows).toEqual(expected);
  });

  it('also takes LF, and the lone CR of old spreadsheets (beyond the RFC)', async () => {
    for (const end of ['\n', '\r']) {
      const { rows, problems } = await read(['first,second', 'aaa,bbb', 'zzz,yyy', ''].join(end));
      expect(problems).toEqual([]);
      expect(rows.map((row) => row.line)).toEqual([2, 3]);
    }
  });

  it('has a header line with names (2.3), whose case and spacing we do not mind', async () => {
    const { rows } = await read('SECOND, First \r\nbbb,aaa\r\n');
    expect(rows).toEqual([{ line: 2, first: 'aaa', second: 'bbb' }]);
  });

  it('has the same number of fields in each line (2.4)', async () => {
    const { rows, problems } = await read('first,second\r\na,b,c\r\nd\r\ne,f\r\n');
    expect(rows).toEqual([{ line: 4, first: 'e', second: 'f' }]);
    expect(problems.map(({ line: at, problem }) => [at, problem])).toEqual([
      [2, 'The line has 3 values where the headings have 2.'],
      [3, 'The line has 1 values where the headings have 2.'],
    ]);
  });

  it('may quote fields (2.5), and must for line breaks, quotes and commas (2.6)', async () => {
    const { rows, problems } = await read('first,second\r\n"aaa","b \r\nbb"\r\nzzz,"y,y"\r\n');
    expect(problems).toEqual([]);
    expect(rows).toEqual([
      { line: 2, first: 'aaa', second: 'b \nbb' },
      { line: 4, first: 'zzz', second: 'y,y' },
    ]);
  });

  it('escapes a double quote with another (2.7)', async () => {
    expect((await read('first,second\r\n"aaa","b""bb"\r\n')).rows).toEqual([
      { line: 2, first: 'aaa', second: 'b"bb' },
    ]);
  });

  it('reads back whatever a writer of the format writes, in pieces of any size, with the right lines', async () => {
    const word = fc
      .string({ unit: fc.constantFrom('a', 'é', '語', '😀', ',', '"', ';', ' ', '\n', '\t'), maxLength: 8 })
      .map((value) => value.trim());
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.tuple(
            word.filter((value) => value !== ''),
            word,
          ),
          { minLength: 1, maxLength: 8 },
        ),
        fc.integer({ min: 1, max: 40 }),
        fc.boolean(),
        fc.constantFrom('\r\n' as const, '\n' as const),
        async (cells, pieceLength, mark, end) => {
          const file = stringify(cells, {
            header: true,
            columns: ['first', 'second'],
            record_delimiter: end,
            quoted_match: /\n/,
          });
          const { rows, problems } = await read((mark ? '\uFEFF' : '') + file, pieceLength);
          expect(problems).toEqual([]);
          expect(rows.map((row) => [row.first, row.second ?? ''])).toEqual(cells);
          let at = 2;
          for (const [index, pair] of cells.entries()) {
            expect(rows[index]?.line).toBe(at);
            at += 1 + pair.join('').split('\n').length - 1;
          }
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('text encoding', () => {
  it('takes UTF-8 with a byte order mark', async () => {
    expect((await read('\uFEFFfirst\r\nŁukasz\r\n', 1)).rows).toEqual([
      { line: 2, first: 'Łukasz', second: null },
    ]);
  });

  it('refuses other encodings with the line and the fix', async () => {
    const latin1 = Buffer.concat([Buffer.from('first\nRen'), Buffer.from([0xe9, 0x65, 0x0a])]);
    expect((await read(latin1)).problems).toEqual([
      {
        line: 2,
        column: '',
        value: '',
        problem: 'The file holds bytes that are not UTF-8 text.',
        fix: 'Save or export the file again as "CSV UTF-8".',
      },
    ]);
    const utf16 = Buffer.from('\uFEFFfirst\na\n', 'utf16le');
    expect((await read(utf16)).problems[0]?.problem).toBe('The file is written in UTF-16.');
    const cutShort = Buffer.concat([Buffer.from('first\nRen'), Buffer.from([0xc3])]);
    expect((await read(cutShort)).problems[0]?.problem).toBe('The file holds bytes that are not UTF-8 text.');
  });

  it('knows a spreadsheet by its first bytes', async () => {
    expect((await read(Buffer.from('PK\u0003\u0004more'))).problems[0]).toMatchObject({
      problem: 'The file is a spreadsheet or archive, not a CSV file.',
      fix: 'Export the sheet as "CSV UTF-8".',
    });
  });
});

describe('what is wrong is told with line, column, value and fix', () => {
  it('goes on past bad cells', async () => {
    const { problems, rows } = await read('first,latitude\nA,91\n,5\nC,x\nD,5\n');
    expect(rows.map((row) => row.first)).toEqual(['D']);
    expect(problems).toEqual([
      {
        line: 2,
        column: 'latitude',
        value: '91',
        problem: 'This is outside -90 to 90.',
        fix: 'Write degrees.',
      },
      { line: 3, column: 'first', value: '', problem: 'The cell is empty.', fix: 'Write the first.' },
      {
        line: 4,
        column: 'latitude',
        value: 'x',
        problem: 'This is not a number written with a decimal point.',
        fix: 'Write degrees.',
      },
    ]);
  });

  it('names unknown, missing, doubled and nameless columns', async () => {
    const { problems } = await read('second,second,third,\na,b,c,d\n');
    expect(problems.map(({ column, problem }) => [column, problem])).toEqual([
      ['second', 'This column is in the file twice.'],
      ['third', 'There is no column of this name in examples.csv.'],
      ['', 'A column has no heading.'],
      ['first', 'This column is missing.'],
    ]);
  });

  it('knows semicolons and tabs from commas', async () => {
    expect((await read('first;second\na;b\n')).problems[0]?.problem).toBe(
      'The columns are separated by semicolons, not commas.',
    );
    expect((await read('first\tsecond\na\tb\n')).problems[0]?.problem).toBe(
      'The columns are separated by tabs, not commas.',
    );
  });

  it('tells where a quotation that never ends begins, and the problems before it', async () => {
    const { problems } = await read('first,latitude\nA,x\n\nB,2\n"C,3\nD,4\n');
    expect(problems.map(({ line: at, problem }) => [at, problem])).toEqual([
      [2, 'This is not a number written with a decimal point.'],
      [5, 'A quoted value begins here and never ends; the lines after it were not read.'],
    ]);
  });

  it('ends at a quote inside a value', async () => {
    const { problems, rows } = await read('first,second\nA,b\nC,d"e\nF,g\n');
    expect(rows).toEqual([{ line: 2, first: 'A', second: 'b' }]);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatchObject({ line: 3 });
    expect(problems[0]?.problem).toContain('double quote');
  });

  it('does not swallow a whole file into one cell', async () => {
    const { problems } = await read(`first\n"${'x'.repeat(2_000_000)}`);
    expect(problems).toHaveLength(1);
    expect(problems[0]?.problem).toContain('never ends');
  });

  it('says when a file is empty', async () => {
    expect((await read('')).problems[0]?.problem).toBe('The file is empty.');
    expect(await read('first\n')).toMatchObject({ rows: [], problems: [] });
  });

  it('lists the first problems and counts the rest', async () => {
    const { problems, count, unlisted } = await read(
      `first,latitude\n${'a,x\n'.repeat(listedProblems + 50)}`,
    );
    expect([problems.length, count, unlisted]).toEqual([listedProblems, listedProblems + 50, 50]);
  });

  it('cuts long values at whole characters', async () => {
    const { problems } = await read(`first,latitude\na,${'😀'.repeat(100)}\n`);
    expect(problems[0]?.value).toBe(`${'😀'.repeat(80)}…`);
  });

  it('never throws, whatever the bytes', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.uint8Array({ maxLength: 200 }),
        fc.integer({ min: 1, max: 50 }),
        async (bytes, piece) => {
          const { rows, problems } = await read(bytes, piece);
          expect(rows.length + problems.length).toBeGreaterThanOrEqual(0);
        },
      ),
      { numRuns: 300 },
    );
  });

  it('passes on a source that breaks', async () => {
    async function* breaking() {
      yield Buffer.from('first\na\n');
      throw new Error('connection lost');
    }
    await expect(async () => {
      for await (const _ of readRows(breaking(), format, new ProblemList()));
    }).rejects.toThrow('connection lost');
  });
});

describe('cells', () => {
  const takes = (schema: { safeParse(value: string): { success: boolean; data?: unknown } }, value: string) =>
    schema.safeParse(value).data;

  it('reads words without regard to case, underscores and hyphens', () => {
    const word = oneOf(['in person', 'film']);
    expect([
      takes(word, 'In_Person'),
      takes(word, 'IN-PERSON'),
      takes(word, 'film'),
      takes(word, 'tape'),
    ]).toEqual(['in person', 'in person', 'film', undefined]);
    expect(takes(someOf(['observer', 'official']), 'Official; observer;official')).toEqual([
      'official',
      'observer',
    ]);
    expect(takes(someOf(['observer', 'official']), 'official; owner')).toBeUndefined();
    expect([takes(yesOrNo, 'Yes'), takes(yesOrNo, 'false'), takes(yesOrNo, '1')]).toEqual([
      true,
      false,
      undefined,
    ]);
  });

  it('takes only days and times that exist', () => {
    expect(takes(localDateTime, '2028-02-29 14:30')).toBe('2028-02-29 14:30');
    expect(takes(localDateTime, '2028-09-02T14:30')).toBe('2028-09-02 14:30');
    for (const bad of [
      '2027-02-29 14:30',
      '2028-13-01 10:00',
      '2028-01-01 24:00',
      '2028-01-01 10:60',
      '9/2/2028 2:30 PM',
    ]) {
      expect(takes(localDateTime, bad)).toBeUndefined();
    }
    expect(takes(instant, '2028-09-02T14:30:00-05:00')).toBeDefined();
    expect(takes(instant, '2028-09-02 14:30')).toBeUndefined();
  });

  it('takes names of time zones, not offsets', () => {
    // Zone names are those of the IANA Time Zone Database (RFC 6557).
    for (const zone of ['America/Chicago', 'America/Indiana/Indianapolis', 'Etc/GMT+5', 'UTC']) {
      expect(takes(timeZone, zone)).toBe(zone);
    }
    for (const bad of ['+05:00', 'Chicago time', 'America/Nowhere', ''])
      expect(takes(timeZone, bad)).toBeUndefined();
  });

  it('reads clocks and timecodes as seconds', () => {
    expect([
      takes(gameClock, '15:00'),
      takes(gameClock, '0:07'),
      takes(gameClock, '15:01'),
      takes(gameClock, '7'),
    ]).toEqual([900, 7, undefined, undefined]);
    expect([
      takes(filmTimecode, '1:02:03.5'),
      takes(filmTimecode, '62:03'),
      takes(filmTimecode, '02:03'),
    ]).toEqual([3723.5, undefined, 123]);
  });

  it('refuses control characters, which PostgreSQL cannot keep', () => {
    expect(takes(line(10), 'a\u0000b')).toBeUndefined();
    expect(takes(line(10), 'a\nb')).toBeUndefined();
    expect(takes(text(10), 'a\nb')).toBe('a\nb');
  });
});
