import fc from 'fast-check';
import { expect, it } from 'vitest';
import { timecodeInWords } from '../../server/football/clock-words.ts';
import type { Play } from '../../server/football/play.ts';
import { facts } from '../../server/football/play.ts';
import { ProblemList } from '../../server/imports/csv/problems.ts';
import { readRows } from '../../server/imports/csv/read-rows.ts';
import { writeCsv } from '../../server/imports/csv/write-csv.ts';
import { playCells, playsFormat } from '../../server/imports/files/plays.ts';
import { anyPlay } from '../support/arbitrary-football.ts';

async function read(text: string) {
  const problems = new ProblemList();
  const rows: Record<string, unknown>[] = [];
  async function* source() {
    yield Buffer.from(text);
  }
  for await (const { row } of readRows(source(), playsFormat, problems)) rows.push(row);
  return { rows, problems: problems.listed };
}

it('has a column for every fact of a play', () => {
  expect(Object.keys(playsFormat.columns)).toEqual(expect.arrayContaining([...facts]));
});

it('writes any play and reads it back, known facts known and unknown ones unknown', async () => {
  const timecode = fc.option(fc.integer({ min: 0, max: 5 * 36_000 }).map((tenths) => tenths / 10));
  await fc.assert(
    fc.asyncProperty(fc.array(fc.tuple(anyPlay, timecode), { minLength: 1, maxLength: 5 }), async (plays) => {
      const text = writeCsv(
        playsFormat,
        plays.map(([play, film], at) => ({
          ...playCells(play),
          game: 'G1',
          number: at + 1,
          filmSeconds: film === null ? null : timecodeInWords(film),
        })),
      );
      const { rows, problems } = await read(text);
      expect(problems).toEqual([]);
      for (const [at, [play, film]] of plays.entries()) {
        const back = Object.fromEntries(
          facts.filter((fact) => rows[at]?.[fact] !== null).map((fact) => [fact, rows[at]?.[fact]]),
        );
        expect(back as Play).toEqual(play);
        expect(rows[at]?.filmSeconds).toBe(film);
      }
    }),
    { numRuns: 100 },
  );
});

it('refuses more fouls than a play can have, in words', async () => {
  const many = Array.from({ length: 11 }, () => 'holding / offense').join('; ');
  const { problems } = await read(
    `game,play,kind,spot,fouls\nG1,1,run,25,${many}\nG1,2,run,25,holding / nobody\n`,
  );
  expect(problems.map(({ line, column }) => [line, column])).toEqual([
    [2, 'fouls'],
    [3, 'fouls'],
  ]);
  expect(problems[1]?.problem).toMatch(/^This cannot be read: foul "holding \/ nobody": by: /);
});

it('takes every official of a play by the spellings of the trade, and asks which side left is', async () => {
  const officials = 'game,play,kind,spot,ended by,ruled by,clock stopped by\nG1,1,run,25,HL,b,Line Judge\n';
  const { rows, problems } = await read(officials);
  expect(problems).toEqual([]);
  expect(rows[0]).toMatchObject({
    endedBy: 'head linesman',
    ruledBy: 'back judge',
    clockStoppedBy: 'line judge',
  });
  const asked = Object.values(playsFormat.columns)
    .filter((column) => column.asking !== undefined)
    .map((column) => column.heading);
  expect(asked).toEqual(
    expect.arrayContaining(['snap side', 'strong side', 'motion from', 'loose ball side', 'kick side']),
  );
});

it('reads a log that has none of the newer facts as not knowing them', async () => {
  const { rows, problems } = await read(
    'game,play,kind,spot,down,distance,pass result,end spot,fouls\nG1,1,pass,25,1,10,complete,31,holding / offense / umpire / accepted\n',
  );
  expect(problems).toEqual([]);
  const known = facts.filter((fact) => rows[0]?.[fact] !== null && rows[0]?.[fact] !== undefined);
  expect(known.sort()).toEqual(['kind', 'spot', 'down', 'distance', 'passResult', 'endSpot', 'fouls'].sort());
  expect(rows[0]?.fouls).toEqual([
    { foul: 'holding', by: 'offense', reportedBy: 'umpire', outcome: 'accepted' },
  ]);
});
