import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { codeFacts } from '../../../server/football/codes.ts';
import { type Fact, type Play, playKinds } from '../../../server/football/play.ts';
import { type ForeignFile, foreignFile } from '../../../server/imports/mapping/foreign-file.ts';
import { mapPlays } from '../../../server/imports/mapping/map-plays.ts';
import {
  type ClockForm,
  clockForms,
  folded,
  type Mapping,
  mappingSchema,
  type Source,
  type SpotForm,
  spotForms,
} from '../../../server/imports/mapping/mapping.ts';
import { firstMapping, withLikelyTeams } from '../../../server/imports/mapping/propose.ts';

const home = { id: '00000000-0000-4000-8000-000000000001', name: 'Larkspur' };
const visitor = { id: '00000000-0000-4000-8000-000000000002', name: 'Copper Hill' };
const game = { home, visitor, code: codeFacts.college };

// Formats that nobody has: headings, words, ways to say spots and clocks, order and rows that are no plays are drawn by
// chance. Plays are written in one, read back with the mapping that says what was drawn, and must be the same.

const choices: Partial<Record<Fact, readonly string[]>> = {
  passResult: ['complete', 'incomplete', 'intercepted', 'sack', 'scramble'],
  score: ['none', 'touchdown', 'field goal', 'safety', 'try good'],
  endSide: ['head linesman side', 'middle', 'line judge side'],
  kickResult: [
    'returned',
    'fair catch',
    'touchback',
    'downed',
    'out of bounds',
    'blocked',
    'good',
    'no good',
  ],
  clockStoppedBy: ['referee', 'line judge', 'head linesman'],
};
const yesNo: readonly Fact[] = ['outOfBounds', 'injury', 'measured'];
const optional = <Value>(value: fc.Arbitrary<Value>) => fc.option(value, { nil: undefined });

const anyPlay: fc.Arbitrary<Play> = fc
  .record({
    kind: fc.constantFrom(...playKinds),
    spot: fc.integer({ min: 1, max: 99 }),
    quarter: fc.integer({ min: 1, max: 4 }),
    clockSeconds: optional(fc.integer({ min: 0, max: 900 })),
    down: optional(fc.integer({ min: 1, max: 4 })),
    distance: optional(fc.integer({ min: 1, max: 40 })),
    offense: fc.constantFrom('home' as const, 'visitor' as const),
    endSpot: optional(fc.integer({ min: 1, max: 99 })),
    catchDepth: optional(fc.integer({ min: -50, max: 100 })),
    ...Object.fromEntries(
      Object.entries(choices).map(([fact, words]) => [fact, optional(fc.constantFrom(...words))]),
    ),
    ...Object.fromEntries(yesNo.map((fact) => [fact, optional(fc.boolean())])),
  })
  .map(
    (drawn) =>
      Object.fromEntries(Object.entries(drawn).filter(([, value]) => value !== undefined)) as unknown as Play,
  );

/** Invented words, all different however they are folded; some look like numbers or hold separators. */
const words = (count: number) =>
  fc.uniqueArray(
    fc
      .stringMatching(/^[A-Za-zÅö#/][A-Za-z0-9 ;,"'.#/-]{0,11}$/)
      .filter((word) => word.trim().replace(/ +/g, ' ') === word),
    { minLength: count, maxLength: count, selector: folded },
  );
/** Invented names of sides: no digits, which a yard line in the same cell could not be told from. */
const sideNames = fc.uniqueArray(fc.stringMatching(/^[A-Za-z]{1,6}$/), {
  minLength: 2,
  maxLength: 2,
  selector: folded,
});

const listed = Object.keys(choices) as Fact[];
const wordCount =
  listed.reduce((sum, fact) => sum + choices[fact]!.length, 0) + playKinds.length + 2 * yesNo.length;

const anyFormat = fc.record({
  headings: words(30),
  words: words(wordCount + 3),
  sides: sideNames,
  spot: fc.constantFrom(...(Object.keys(spotForms) as SpotForm[])),
  apart: fc.boolean(),
  end: fc.constantFrom('gained', ...(Object.keys(spotForms) as SpotForm[])),
  clock: fc.constantFrom(...(Object.keys(clockForms) as ClockForm[])),
  plainSeconds: fc.boolean(),
  order: fc.constantFrom('file', 'file from the end', 'column'),
  only: fc.boolean(),
  otherRows: fc.array(fc.nat(40), { maxLength: 5 }),
  receiver: fc.boolean(),
});
type Format = typeof anyFormat extends fc.Arbitrary<infer T> ? T : never;

function written(plays: readonly Play[], format: Format): { file: ForeignFile; mapping: Mapping } {
  const headings = [...format.headings];
  const heading = () => headings.pop()!;
  const drawn = [...format.words];
  const cells: string[][] = plays.map(() => []);
  const columns: string[] = [];
  const facts: Partial<Record<Fact, Source[]>> = {};
  const column = (write: (play: Play, at: number) => string): string => {
    const name = heading();
    columns.push(name);
    for (const [at, play] of plays.entries()) cells[at]!.push(write(play, at));
    return name;
  };
  const sideWord = (team: 'home' | 'visitor') => format.sides[team === 'home' ? 0 : 1]!;
  const other = (team: 'home' | 'visitor') => (team === 'home' ? 'visitor' : 'home');

  for (const fact of ['kind', ...listed, ...yesNo] as Fact[]) {
    const own = fact === 'kind' ? playKinds : (choices[fact] ?? ['yes', 'no']);
    const foreign = new Map(own.map((word) => [word, drawn.pop()!]));
    const name = column((play) => {
      const value = play[fact];
      if (value === undefined) return '';
      return foreign.get(typeof value === 'boolean' ? (value ? 'yes' : 'no') : String(value))!;
    });
    const values = Object.fromEntries([...foreign].map(([word, text]) => [folded(text), word]));
    facts[fact] = [{ from: 'column', column: name, values }];
  }
  for (const fact of ['quarter', 'down', 'distance', 'catchDepth'] as const) {
    facts[fact] = [{ from: 'column', column: column((play) => String(play[fact] ?? '')), values: {} }];
  }
  facts.offense = [
    {
      from: 'column',
      column: column(({ kind, offense }) =>
        sideWord(format.receiver && kind === 'free kick' ? other(offense!) : offense!),
      ),
      values: {},
    },
  ];

  const place = (form: SpotForm, yards: (play: Play) => number | undefined): Source => {
    if (form === 'side and line') {
      const half = (play: Play, at: number) => sideWord(at <= 50 ? play.offense! : other(play.offense!));
      const line = (at: number) => String(at <= 50 ? at : 100 - at);
      if (!format.apart) {
        const both = column((play) => {
          const at = yards(play);
          return at === undefined ? '' : at === 50 ? '50' : `${half(play, at)} ${line(at)}`;
        });
        return { from: 'spot', as: form, column: both, values: {} };
      }
      const side = column((play) => (yards(play) === undefined ? '' : half(play, yards(play)!)));
      const number = column((play) => (yards(play) === undefined ? '' : line(yards(play)!)));
      return { from: 'spot', as: form, column: number, side, values: {} };
    }
    const say: Record<Exclude<SpotForm, 'side and line'>, (at: number, play: Play) => number> = {
      count: (at) => at,
      'to the goal': (at) => 100 - at,
      'from the home goal line': (at, play) => (play.offense === 'home' ? at : 100 - at),
      'signed, minus own': (at) => (at <= 50 ? -at : 100 - at),
      'signed, minus theirs': (at) => (at <= 50 ? at : at - 100),
    };
    const name = column((play) => {
      const at = yards(play);
      return at === undefined ? '' : String(say[form](at, play));
    });
    return { from: 'spot', as: form, column: name, values: {} };
  };
  facts.spot = [place(format.spot, ({ spot }) => spot)];
  facts.endSpot =
    format.end === 'gained'
      ? [
          {
            from: 'gained',
            column: column(({ endSpot, spot }) => (endSpot === undefined ? '' : String(endSpot - spot))),
            values: {},
          },
        ]
      : [place(format.end, ({ endSpot }) => endSpot)];

  const clockText = ({ clockSeconds, quarter }: Play): string => {
    if (clockSeconds === undefined) return '';
    const said = {
      'left in the quarter': clockSeconds,
      'gone in the quarter': 900 - clockSeconds,
      'left in the half': clockSeconds + (quarter! % 2 === 1 ? 900 : 0),
      'left in the game': clockSeconds + (4 - quarter!) * 900,
    }[format.clock];
    if (format.plainSeconds) return String(said);
    return `${Math.floor(said / 60)}:${String(said % 60).padStart(2, '0')}`;
  };
  facts.clockSeconds = [{ from: 'clock', as: format.clock, column: column(clockText), values: {} }];

  const [isPlay, isOther, otherCell] = [drawn.pop()!, drawn.pop()!, drawn.pop()!];
  const rule = column(() => isPlay);
  const order = column((_, at) => String(at * 3 + 1));
  const rows = cells.map((row) => row);
  if (format.order === 'file from the end') rows.reverse();
  if (format.order === 'column') rows.sort((a, b) => (a[5] ?? '').localeCompare(b[5] ?? ''));
  for (const at of format.otherRows) {
    const row = columns.map(() => otherCell);
    row[columns.indexOf(rule)] = isOther;
    rows.splice(at, 0, row);
  }
  const mapping = mappingSchema.parse({
    facts,
    sides: { [folded(format.sides[0]!)]: 'home', [folded(format.sides[1]!)]: visitor.id },
    rows: [
      {
        column: rule,
        ...(format.only
          ? { rule: 'only', texts: [folded(isPlay)] }
          : { rule: 'leave out', texts: [folded(isOther)] }),
      },
    ],
    order: { by: format.order, ...(format.order === 'column' ? { column: order } : {}) },
    freeKicksNameReceiver: format.receiver,
  });
  const file = foreignFile(
    [columns, ...rows].map((row, line) => ({ line: line + 1, cells: row })),
    1,
  );
  return { file, mapping };
}

describe('a log in a form that nobody has seen before', () => {
  it('gives the plays that were written', () => {
    fc.assert(
      fc.property(fc.array(anyPlay, { maxLength: 25 }), anyFormat, (plays, format) => {
        const { file, mapping } = written(plays, format);
        // As a kept mapping comes back from the database.
        const read = mapPlays(file, mappingSchema.parse(JSON.parse(JSON.stringify(mapping))), game);
        expect(read.undecided).toEqual([]);
        expect(read.skipped).toBe(format.otherRows.length);
        const expected =
          format.end === 'gained'
            ? plays.map(({ endSpot, ...play }) => {
                const ran =
                  play.kind === 'run' ||
                  (play.kind === 'pass' &&
                    play.passResult !== 'incomplete' &&
                    play.passResult !== 'intercepted');
                return ran && endSpot !== undefined ? { ...play, endSpot } : play;
              })
            : plays;
        expect(read.plays.map(({ play }) => play)).toEqual(expected);
      }),
      { numRuns: 150 },
    );
  });

  it('names row, column and fix for a text that nobody has explained', () => {
    fc.assert(
      fc.property(fc.array(anyPlay, { minLength: 1, maxLength: 6 }), anyFormat, (plays, format) => {
        const { file, mapping } = written(plays, format);
        const [source] = mapping.facts.kind as [Source & { from: 'column' }];
        const read = mapPlays(
          file,
          { ...mapping, facts: { ...mapping.facts, kind: [{ ...source, values: {} }] } },
          game,
        );
        // A word drawn by chance may be one that plays.csv reads.
        expect(read.plays.length + read.undecided.length).toBe(plays.length);
        for (const one of read.undecided) {
          expect(one.column).toBe(source.column);
          expect(one.line).toBeGreaterThan(1);
          expect(one.value).not.toBe('');
          expect(one.fix).toContain('means');
        }
      }),
      { numRuns: 60 },
    );
  });

  it('needs no mapping where headings and words are those of plays.csv, whatever their order', () => {
    const file = foreignFile(
      [
        ['End spot', 'KIND', 'spot', 'offense', 'clock', 'pass result'],
        ['', 'pass', '35', 'home', '12:05', 'incomplete'],
        ['44', 'Rush', '35', 'Copper Hill', '11:58', ''],
      ].map((cells, at) => ({ line: at + 1, cells })),
      1,
    );
    const mapping = withLikelyTeams(file, firstMapping(file), game);
    const { plays, undecided } = mapPlays(file, mapping, game);
    expect(undecided).toEqual([]);
    expect(plays.map(({ play }) => play)).toEqual([
      { kind: 'pass', spot: 35, offense: 'home', clockSeconds: 725, passResult: 'incomplete' },
      { kind: 'run', spot: 35, offense: 'visitor', clockSeconds: 718, endSpot: 44 },
    ]);
  });

  it('takes the first source that says something, reads goal to go, and never guesses a sign of 0', () => {
    const file = foreignFile(
      [
        ['what', 'scored', 'kicked', 'ydl', 'togo'],
        ['run', 'six', '', '-5', '10'],
        ['place kick', '', 'three', '8', 'G'],
        ['run', '', '', '0', '3'],
      ].map((cells, at) => ({ line: at + 1, cells })),
      1,
    );
    const mapping = mappingSchema.parse({
      facts: {
        kind: [{ from: 'column', column: 'what' }],
        spot: [{ from: 'spot', column: 'ydl', as: 'signed, minus own' }],
        distance: [{ from: 'column', column: 'togo', values: { g: 'goal' } }],
        score: [
          { from: 'column', column: 'scored', values: { six: 'touchdown' } },
          { from: 'column', column: 'kicked', values: { three: 'field goal' } },
          { from: 'fixed', value: 'none' },
        ],
      },
    });
    const { plays, undecided } = mapPlays(file, mapping, game);
    expect(plays.map(({ play }) => play)).toEqual([
      { kind: 'run', spot: 5, distance: 10, score: 'touchdown' },
      { kind: 'place kick', spot: 92, distance: 8, score: 'field goal' },
    ]);
    expect(undecided).toEqual([
      expect.objectContaining({
        line: 4,
        column: 'ydl',
        value: '0',
        problem: expect.stringContaining('goal line'),
      }),
    ]);
  });

  it('takes a text that happens to be a word of the language it is written in as any other', () => {
    const table = foreignFile(
      ['Type,Spot,Team', 'constructor,-30,home', 'rush,-30,__proto__', 'rush,-30,constructor'].map(
        (row, at) => ({
          line: at + 1,
          cells: row.split(','),
        }),
      ),
      1,
    );
    const mapping = mappingSchema.parse({
      facts: {
        kind: [{ from: 'column', column: 'Type', values: { rush: 'run' } }],
        spot: [{ from: 'spot', column: 'Spot', as: 'signed, minus own' }],
        offense: [{ from: 'column', column: 'Team', values: {} }],
      },
    });
    const { plays, undecided } = mapPlays(table, mapping, game);
    expect(plays).toEqual([]);
    expect(undecided.map(({ line, column, value }) => [line, column, value])).toEqual([
      [2, 'Type', 'constructor'],
      [3, 'Team', '__proto__'],
      [4, 'Team', 'constructor'],
    ]);
  });

  it('records a foul only where the team is known', () => {
    const file = foreignFile(
      [
        ['kind', 'spot', 'offense', 'flag', 'on'],
        ['run', '20', 'home', 'HOLD', 'Larkspur'],
        ['run', '20', 'home', 'nothing', ''],
        ['run', '20', 'home', '', ''],
        ['run', '20', 'home', 'HOLD', ''],
      ].map((cells, at) => ({ line: at + 1, cells })),
      1,
    );
    const mapping = mappingSchema.parse({
      ...firstMapping(file),
      facts: {
        ...firstMapping(file).facts,
        fouls: [
          {
            from: 'fouls',
            column: 'flag',
            by: 'on',
            values: { hold: 'holding', nothing: 'none' },
            outcomes: {},
          },
        ],
      },
    });
    const { plays, undecided } = mapPlays(file, mapping, game);
    expect(plays.map(({ play }) => play.fouls)).toEqual([
      [{ foul: 'holding', by: 'offense' }],
      [],
      undefined,
    ]);
    expect(undecided).toEqual([expect.objectContaining({ line: 5, column: 'on' })]);
  });
});
