import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { filmTimeInWords, readFilmTime } from '../../server/films/film-time.ts';
import { type Mark, placePlays } from '../../server/films/placing.ts';
import { checkMarks } from '../../server/films/placing-words.ts';

// The arithmetic is plain: film time = log's film time + offset, which two marks give and check. No source is needed.

const play = (number: number, logSeconds: number | null) => ({ playId: `p${number}`, number, logSeconds });
const mark = (
  number: number,
  seconds: number,
  logSeconds: number | null,
  clock: number | null = null,
): Mark => ({
  ...play(number, logSeconds),
  seconds,
  quarter: clock === null ? null : 1,
  clock,
});
const log = [play(1, 10), play(2, 50), play(3, null), play(4, 600), play(5, 3610), play(6, 4000)];
const placed = (marks: Mark[]) =>
  [...placePlays(marks, log)].map(([, { seconds, by }]) => `${Math.round(seconds * 100) / 100} ${by}`);

test('without marks plays are where the log says, and one without a time where the last one was', () => {
  expect(placed([])).toEqual(['10 log', '50 log', '50 near', '600 log', '3610 log', '4000 log']);
  expect(checkMarks([])).toMatchObject({
    tone: '',
    sentences: [expect.stringContaining('No play is marked')],
  });
});

test('one mark gives the offset; a second that agrees makes it good', () => {
  expect(placed([mark(2, 62.5, 50)])).toEqual([
    ...['22.5 marks', '62.5 mark', '62.5 near', '612.5 marks', '3622.5 marks', '4012.5 marks'],
  ]);
  expect(checkMarks([mark(2, 62.5, 50)]).sentences[0]).toBe(
    'By play 2, plays are 12.5 s later than in the log. Mark a second one, far from it, to check that.',
  );
  const both = [mark(1, 22.4, 10), mark(5, 3622.6, 3610)];
  expect(checkMarks(both)).toEqual({
    tone: 'good',
    sentences: ['2 marked plays agree with the log: plays are 12.4 s later than in the log.'],
  });
  expect(placed([mark(1, 0, 10), mark(5, 3600, 3610)])[1]).toBe('40 marks');
});

test('a clock that runs differently is shared out between the marks, and goes on past them', () => {
  // 30 frames a second told as 30000/1001: 3.6 s in an hour.
  const marks = [mark(1, 10, 10), mark(5, 3613.6, 3610)];
  const [, second, , fourth, , last] = [...placePlays(marks, log).values()];
  expect(second!.seconds).toBeCloseTo(10 + 40 * 1.001, 2);
  expect(fourth!.seconds).toBeCloseTo(10 + 590 * 1.001, 2);
  expect(last!.seconds).toBeCloseTo(3613.6 + 390 * 1.001, 2);
  expect(checkMarks(marks)).toMatchObject({
    tone: 'warn',
    sentences: [
      expect.stringMatching(
        /From play 1 to play 5 the film is 3\.6 s longer .*0\.10 %: its clock runs differently/,
      ),
    ],
  });
});

test('a film with breaks says where, and opens plays by the mark before', () => {
  const marks = [mark(1, 10, 10), mark(5, 1200, 3610)];
  expect(checkMarks(marks)).toMatchObject({
    tone: 'warn',
    sentences: [expect.stringMatching(/2410\.0 s shorter .*has breaks/)],
  });
  expect(placed(marks)).toEqual(['10 mark', '50 marks', '50 near', '600 marks', '1200 mark', '1590 marks']);
});

test('a mark that contradicts the order of plays, or the game clock, is told', () => {
  expect(checkMarks([mark(1, 500, 10), mark(5, 60, 3610)])).toEqual({
    tone: 'bad',
    sentences: ['Play 5 is marked at 1:00, not after play 1 at 8:20: one of the two is wrong.'],
  });
  // No film time in the log: the game clock alone, 10:00 run off in a film of 4:00.
  const untimed = [mark(1, 0, null, 900), mark(5, 240, null, 300)];
  expect(checkMarks(untimed)).toMatchObject({
    tone: 'warn',
    sentences: [expect.stringContaining('the game clock ran 10:00, and the film only 4:00')],
  });
  expect(checkMarks([mark(1, 0, null, 900), mark(5, 1500, null, 300)])).toMatchObject({ tone: '' });
});

describe('whatever is marked', () => {
  const seconds = fc.double({ min: 0, max: 20_000, noNaN: true });
  const games = fc
    .array(fc.record({ log: fc.option(seconds), marked: fc.option(seconds) }), { maxLength: 30 })
    .map((all) => {
      const plays = all.map(({ log: at }, index) => play(index + 1, at));
      const marks = all.flatMap(({ log: at, marked }, index) =>
        marked === null ? [] : [mark(index + 1, marked, at)],
      );
      return { plays, marks };
    });

  test('a marked play is where it was marked, every time is one of a film, and something is said', () => {
    fc.assert(
      fc.property(games, ({ plays, marks }) => {
        const places = placePlays(marks, plays);
        for (const { playId, seconds: at } of marks)
          expect(places.get(playId)).toEqual({ seconds: at, by: 'mark' });
        for (const { seconds: at } of places.values()) expect(Number.isFinite(at) && at >= 0).toBe(true);
        const { sentences } = checkMarks(marks);
        expect(sentences.length).toBeGreaterThan(0);
        expect(sentences.join()).not.toMatch(/NaN|Infinity|undefined/);
      }),
    );
  });

  test('any offset is found from any one timed play', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 5000, noNaN: true }),
        fc.integer({ min: 0, max: 5 }),
        (offset, at) => {
          const chosen = log[at]!;
          fc.pre(chosen.logSeconds !== null);
          const places = placePlays(
            [mark(chosen.number, chosen.logSeconds! + offset, chosen.logSeconds)],
            log,
          );
          for (const { playId, logSeconds } of log)
            if (logSeconds !== null) expect(places.get(playId)!.seconds).toBeCloseTo(logSeconds + offset, 6);
        },
      ),
    );
  });
});

test.each([
  ['12.5', 12.5],
  ['12:34', 754],
  ['0:12:34.2', 754.2],
  ['100:00', 6000],
  ['1:02:03,5', 3723.5],
  ['12:60', undefined],
  ['1:60:00', undefined],
  ['99999', undefined],
  ['-1', undefined],
  ['soon', undefined],
  ['', undefined],
])('film time %j is %s', (text, expected) => {
  expect(readFilmTime(text)).toBe(expected);
});

test('a film time is read back as it is written', () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 86_400_000 }), (thousandths) => {
      expect(readFilmTime(filmTimeInWords(thousandths / 1000))).toBeCloseTo(thousandths / 1000, 6);
    }),
  );
});
