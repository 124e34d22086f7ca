import { stringify } from 'csv-stringify/sync';
import fc from 'fast-check';
import iconv from 'iconv-lite';
import { describe, expect, it } from 'vitest';
import {
  decimal,
  filmTimecode,
  gameClock,
  line,
  localDateTime,
  oneOf,
  someOf,
  text,
  yesOrNo,
} from '../../server/imports/csv/cells.ts';
import { fileFormat, optional, required } from '../../server/imports/csv/format.ts';
import { disarmed } from '../../server/imports/csv/formula.ts';
import { listedProblems, ProblemList } from '../../server/imports/csv/problems.ts';
import { Reading, readRows } from '../../server/imports/csv/read-rows.ts';
import { separators } from '../../server/imports/csv/separator.ts';
import { timeZone } from '../../server/web/time-zone.ts';

it.each([
  // ISO 32000-2, 7.5.2; PNG specification, 5.2; ITU-T T.81, B.1.1.3 with the marker that follows.
  ['a PDF document', Buffer.from('%PDF-1.7\nfirst,second\n1,2\n')],
  [
    'a PNG picture',
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, ...Buffer.from('IHDRIHDRIHDR')]),
  ],
  ['a JPEG picture', Buffer.from([0xff, 0xd8, 0xff, 0xe0, ...Buffer.from('JFIFJFIFJFIFJFIF')])],
])('says that %s is not a text file', async (kind, file) => {
  const { rows, problems } = await read(file);
  expect(rows).toEqual([]);
  expect(problems).toMatchObject([{ problem: `This is ${kind}, not a text file, whatever its name says.` }]);
});

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

/** How it was read, which is text in all of this file's tests. */
function asText({ found }: Reading) {
  if (found.form !== 'text') throw new Error(`Read as a ${found.form}.`);
  return found;
}

/** Reads a file that comes in pieces of `pieceLength` bytes. */
async function read(file: string | Uint8Array, pieceLength = 65_536) {
  const bytes = typeof file === 'string' ? Buffer.from(file) : file;
  const problems = new ProblemList();
  const reading = new Reading();
  const rows: { line: number; first: string; second: string | null }[] = [];
  async function* pieces() {
    for (let at = 0; at < bytes.length; at += pieceLength) yield bytes.subarray(at, at + pieceLength);
  }
  for await (const { line: at, row } of readRows(pieces(), format, problems, reading)) {
    rows.push({ line: at, first: row.first, second: row.second });
  }
  return {
    rows,
    problems: problems.listed,
    groups: problems.groups,
    count: problems.count,
    unlisted: problems.unlisted,
    reading,
  };
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

  it('reads back whatever a writer of the format writes, in any encoding and with any separator, in pieces of any size, with the right lines', async () => {
    // iconv-lite and csv-stringify write; they know nothing of our reader.
    const letters = ['a', 'é', 'ß', '€', ',', '"', ';', ' ', '\n', '\t', "'", '=', '-'];
    const beyond = ['語', '😀', 'Ł'];
    const word = (encoding: string) =>
      fc
        .string({
          unit: fc.constantFrom(...letters, ...(encoding === 'windows-1252' ? [] : beyond)),
          maxLength: 8,
        })
        // In Windows-1252, é or ß before € are bytes that are one letter of UTF-8; such a file is read as that, or refused.
        .map((value) => value.trim().replace(/[éß]+€/g, '€'));
    const file = fc.constantFrom('utf8', 'windows-1252', 'utf16le', 'utf16be').chain((encoding) =>
      fc.record({
        encoding: fc.constant(encoding),
        cells: fc.array(
          fc.tuple(
            word(encoding).filter((value) => value !== ''),
            word(encoding),
          ),
          { minLength: 1, maxLength: 8 },
        ),
        mark: fc.boolean(),
        separator: fc.constantFrom(',', ';', '\t'),
        end: fc.constantFrom('\r\n', '\n', '\r'),
        pieceLength: fc.integer({ min: 1, max: 40 }),
      }),
    );
    await fc.assert(
      fc.asyncProperty(file, async ({ encoding, cells, mark, separator, end, pieceLength }) => {
        const text = stringify(
          cells.map((pair) => pair.map(disarmed)),
          {
            header: true,
            columns: ['first', 'second'],
            delimiter: separator,
            record_delimiter: end,
            quoted_match: /\n/,
          },
        );
        const bytes = iconv.encode(text, encoding, { addBOM: mark && encoding !== 'windows-1252' });
        const { rows, problems, reading } = await read(bytes, pieceLength);
        expect(problems).toEqual([]);
        expect(rows.map((row) => [row.first, row.second ?? ''])).toEqual(cells);
        expect(separators[asText(reading).separator]).toBe(separator);
        let at = 2;
        for (const [index, pair] of cells.entries()) {
          expect(rows[index]?.line).toBe(at);
          at += 1 + pair.join('').split('\n').length - 1;
        }
      }),
      { numRuns: 500 },
    );
  });
});

describe('text encoding', () => {
  it('takes UTF-8 with a byte order mark', async () => {
    expect((await read('\uFEFFfirst\r\nŁukasz\r\n', 1)).rows).toEqual([
      { line: 2, first: 'Łukasz', second: null },
    ]);
  });

  it('reads Windows-1252 as the WHATWG Encoding Standard has it, and says so with an example', async () => {
    // The characters of bytes 0x80 to 0x9F in the standard's "index windows-1252"; those from 0xA0 are Latin-1.
    const index = '€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008DŽ\u008F\u0090‘’“”•–—˜™š›œ\u009DžŸ';
    for (let byte = 0x80; byte <= 0xff; byte += 1) {
      const character = byte < 0xa0 ? index.charAt(byte - 0x80) : String.fromCharCode(byte);
      const file = Buffer.concat([Buffer.from('first\nA'), Buffer.from([byte]), Buffer.from('Z\n')]);
      const { rows, problems, reading } = await read(file);
      if (character >= '\u0080' && character < '\u00a0') {
        expect(problems).toMatchObject([
          { line: 2, problem: 'The file holds bytes that are neither UTF-8 nor Windows-1252 text.' },
        ]);
        continue;
      }
      expect(problems).toEqual([]);
      expect(rows[0]?.first).toBe(`A${character}Z`);
      expect(asText(reading).encoding).toBe('Windows-1252');
      expect(asText(reading).example).toContain(character);
    }
  });

  it('reads UTF-16 with and without a mark', async () => {
    for (const mark of ['', '\uFEFF']) {
      const little = await read(Buffer.from(`${mark}first,second\nŁukasz,😀\n`, 'utf16le'), 3);
      expect(little.rows).toEqual([{ line: 2, first: 'Łukasz', second: '😀' }]);
      expect(asText(little.reading)).toMatchObject({ encoding: 'UTF-16 LE', byteOrderMark: mark !== '' });
      const big = await read(Buffer.from(`${mark}first,second\nŁukasz,😀\n`, 'utf16le').swap16(), 3);
      expect(big.rows).toEqual(little.rows);
      expect(asText(big.reading).encoding).toBe('UTF-16 BE');
    }
  });

  it('refuses what contradicts itself, with the line and the fix', async () => {
    const cutShort = Buffer.concat([Buffer.from('first\nRen'), Buffer.from([0xc3])]);
    expect((await read(cutShort)).problems).toEqual([
      {
        line: 2,
        column: '',
        value: '',
        problem: 'The file holds bytes that are not UTF-8 text.',
        fix: 'Save or export the file again as "CSV UTF-8".',
      },
    ]);
    const later = Buffer.concat([Buffer.from('first\nŁ\nRen'), Buffer.from([0xe9]), Buffer.from('\n')]);
    expect((await read(later)).problems[0]).toMatchObject({
      line: 3,
      problem: 'The file holds bytes that are not UTF-8 text.',
    });
    const mixed = Buffer.concat([
      Buffer.from('first\nRen'),
      Buffer.from([0xe9]),
      Buffer.from('\nŁukasz\nMichał\n'),
    ]);
    expect((await read(mixed)).problems[0]).toMatchObject({
      line: 3,
      problem: 'The file mixes UTF-8 with another encoding.',
    });
    const halfUnit = Buffer.concat([Buffer.from('\uFEFFfirst\na\n', 'utf16le'), Buffer.from([0x61])]);
    expect((await read(halfUnit)).problems[0]?.problem).toBe(
      'The file holds bytes that are not UTF-16 LE text.',
    );
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

  it('names missing and doubled columns', async () => {
    const { problems } = await read('second,second,frist\na,b,c\n');
    expect(problems.map(({ column, problem, fix }) => [column, problem, fix])).toEqual([
      ['second', 'This column is in the file twice.', 'Keep one of the two columns.'],
      [
        'first',
        'This column is missing; there is one headed "frist".',
        'If "frist" is meant, rename it to "first".',
      ],
    ]);
    expect((await read('second\na\n')).problems[0]).toMatchObject({
      column: 'first',
      problem: 'This column is missing.',
    });
  });

  it('skips unknown columns with a note, naming the heading that is near', async () => {
    const { rows, problems, reading } = await read('First,weather,lattitude,,\nA,rain,5,,\nB,sun,6,note,\n');
    expect(problems).toEqual([]);
    expect(rows.map((row) => row.first)).toEqual(['A', 'B']);
    expect(reading.notes.listed).toEqual([
      {
        text: 'The column "weather" was skipped: examples has no such column.',
        lines: [],
        count: 0,
      },
      {
        text: 'The column "lattitude" was skipped: examples has no such column. If "latitude" is meant, rename it.',
        lines: [],
        count: 0,
      },
      {
        text: 'Column 4 has no heading and was skipped, though it holds values.',
        lines: [3],
        count: 1,
      },
    ]);
  });

  it('passes over the empty cells that spreadsheets leave behind a table and below it', async () => {
    const { rows, problems } = await read('first,second\nA,b,,\n,,\nC,d\n,\n');
    expect(problems).toEqual([]);
    expect(rows.map((row) => row.line)).toEqual([2, 4]);
  });

  it('finds the separator by the headings, or as a first line tells it', async () => {
    for (const [separator, name] of [
      [',', 'comma'],
      [';', 'semicolon'],
      ['\t', 'tab'],
    ] as const) {
      const file = [
        ['first', 'second'],
        ['a, b; c', '"1,5"'],
      ]
        .map((cells) => cells.join(separator))
        .join('\n');
      const { rows, reading } = await read(
        separator === ';'
          ? file.replace('a, b; c', '"a, b; c"')
          : file
              .replace('a, b', separator === ',' ? '"a, b' : 'a, b')
              .replace('; c', separator === ',' ? '; c"' : '; c'),
      );
      expect(rows).toEqual([{ line: 2, first: 'a, b; c', second: '1,5' }]);
      expect(asText(reading).separator).toBe(name);
    }
    const told = await read('sep=;\r\nfirst;second\r\na;b\r\n');
    expect(told.rows).toEqual([{ line: 3, first: 'a', second: 'b' }]);
    expect((await read('first\na;b\n')).rows[0]?.first).toBe('a;b');
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

  it('tells the same problem once, with its lines by value', async () => {
    const file = [
      'first,latitude',
      ...Array.from({ length: 168 }, (_, at) => `A,${at % 4 === 0 ? 'x' : 'y'}`),
      ',1',
    ];
    const { groups } = await read(file.join('\n'));
    expect(groups).toHaveLength(2);
    expect(groups[0]).toMatchObject({
      column: 'latitude',
      problem: 'This is not a number written with a decimal point.',
      count: 168,
      otherValues: 0,
    });
    expect(groups[0]?.values.map(({ value, count, lines }) => [value, count, lines.slice(0, 3)])).toEqual([
      ['x', 42, [2, 6, 10]],
      ['y', 126, [3, 4, 5]],
    ]);
    expect(groups[1]).toMatchObject({ column: 'first', count: 1, values: [{ value: '', lines: [170] }] });
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
    expect([takes(yesOrNo, 'Yes'), takes(yesOrNo, 'false'), takes(yesOrNo, 'perhaps')]).toEqual([
      true,
      false,
      undefined,
    ]);
    for (const yes of ['y', 'TRUE', 'T', '1', 'x', '✓']) expect(takes(yesOrNo, yes)).toBe(true);
    for (const no of ['N', 'FALSE', 'f', '0']) expect(takes(yesOrNo, no)).toBe(false);
  });

  it('reads a decimal comma, as lists separated by semicolons have it', () => {
    expect(takes(decimal(-180, 180), '-93,9812345678901')).toBe(-93.9812345678901);
    expect(takes(decimal(-180, 180), '1,000,000')).toBeUndefined();
  });

  it('takes only days and times that exist', () => {
    expect(takes(localDateTime, '2028-02-29 14:30')).toBe('2028-02-29 14:30');
    expect(takes(localDateTime, '2028-09-02T14:30')).toBe('2028-09-02 14:30');
    for (const bad of ['2027-02-29 14:30', '2028-13-01 10:00', '2028-01-01 24:00', '2028-01-01 10:60']) {
      expect(takes(localDateTime, bad)).toBeUndefined();
    }
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
