import { expect, test } from 'vitest';
import { quizResult, type TakenSitting } from '../../server/knowledge/quiz-results.ts';

/**
 * Section 6 of the Law School Admission Test (Bock and Lieberman 1970) by pattern of right answers, as sittings of a quiz.
 * Difficulties and measures: R's package eRm 1.0-2 (RM, person.parameter), run in tests/reference/measurement.r.test.ts.
 */
const patterns =
  '00000 3; 00001 6; 00010 2; 00011 11; 00100 1; 00101 1; 00110 3; 00111 4; 01000 1; 01001 8; 01011 16; 01101 3; 01110 2; 01111 15; 10000 10; 10001 29; 10010 14; 10011 81; 10100 3; 10101 28; 10110 15; 10111 80; 11000 16; 11001 56; 11010 21; 11011 173; 11100 11; 11101 61; 11110 28; 11111 298';
const sitting = (officialId: string, number: number, pattern: string): TakenSitting => ({
  officialId,
  number,
  answers: [...pattern].map((digit, at) => ({
    item: `q${at} 1`,
    choices: 2,
    answer: 1,
    choice: digit === ' ' ? null : Number(digit),
  })),
});
const lsat = patterns
  .split('; ')
  .flatMap((line) => {
    const [pattern, count] = line.split(' ') as [string, string];
    return Array.from({ length: Number(count) }, () => pattern);
  })
  .map((pattern, at) => sitting(`official ${at}`, 1, pattern));

test('difficulties, measures and reliability of a published test taken as a quiz', () => {
  const result = quizResult(lsat, 'best');
  expect(result.counted).toBe('whole');
  const difficulties = [-1.25613, 0.47491, 1.23598, 0.16841, -0.62317];
  for (const [at, item] of result.items.entries())
    expect(item.difficulty!.value).toBeCloseTo(difficulties[at]!, 4);
  expect(result.reliability!.value).toBeCloseTo(0.294997192216, 10);
  expect(result.complete).toBe(1000);
  expect(result.andersen).toMatchObject({ degrees: 4 });
});

test('a retake’s repeated questions count in no difficulty, and flatter no measure where the best counts', () => {
  const retakes = lsat.slice(0, 300).map(({ officialId }) => sitting(officialId, 2, '11111'));
  const result = quizResult([...lsat, ...retakes], 'best');
  expect(result.items.map(({ right }) => right)).toEqual([924, 709, 553, 763, 870]);
  expect(result.items[0]!.difficulty!.value).toBeCloseTo(-1.25613, 4);
  const own = result.people.find(({ officialId }) => officialId === 'official 0')!;
  expect(own).toMatchObject({ number: 2, right: 5, asked: 5, sittings: 2 });
  const firsts = quizResult([...lsat, ...retakes], 'first').people.find(
    ({ officialId }) => officialId === 'official 0',
  )!;
  expect(firsts).toMatchObject({ number: 1, right: 0, told: { ofAll: false, right: 0, asked: 5 } });
  const lasts = quizResult([...lsat, ...retakes], 'last').people.find(
    ({ officialId }) => officialId === 'official 0',
  )!;
  expect(lasts).toMatchObject({ number: 2, right: 5, told: { ofAll: false, right: 5, asked: 5 } });
  // None right and all right have a measure with a finite error.
  for (const { measure } of [lasts, firsts])
    expect(Number.isFinite(measure!.value) && measure!.se > 0).toBe(true);
  expect(firsts.measure!.value).toBeLessThan(lasts.measure!.value);
  // All of the second sitting was asked in the first: the best is no other answer to a new question.
  expect(own.told).toEqual({ ofAll: true, right: 0, asked: 5 });
  expect(own.measure).toEqual(firsts.measure);
  // By hand: Warm's error 1 / sqrt(information) at its own measure, and what the difficulties' own errors add to it.
  const hard = result.items.map(({ difficulty }) => difficulty!);
  const at = hard.map(({ value }) => 1 / (1 + Math.exp(value - own.measure!.value)));
  const information = at.reduce((sum, one) => sum + one * (1 - one), 0);
  const added = hard.reduce(
    (sum, { se }, one) => sum + ((at[one]! * (1 - at[one]!) * se) / information) ** 2,
    0,
  );
  expect(own.measure!.se).toBeCloseTo(Math.sqrt(1 / information + added), 10);
});

test('few takers: counts and nothing else', () => {
  const result = quizResult(lsat.slice(3, 12), 'best');
  expect(result).toMatchObject({ takers: 9, counted: 'counts only', reliability: null, andersen: null });
  for (const one of result.items)
    expect(one).toMatchObject({ difficulty: null, itemRest: null, pointBiserial: null });
  for (const one of result.people) expect(one.measure).toBeNull();
  expect(quizResult([], 'best')).toMatchObject({ takers: 0, items: [], people: [] });
});

test('what was left is wrong; what the lowest third chose is told', () => {
  const few = ['11111', '11110', '1111 ', '00000', '00001', '10000'].map((pattern, at) =>
    sitting(`${at}`, 1, pattern),
  );
  const { items } = quizResult(few, 'best');
  expect(items[4]).toMatchObject({ asked: 6, right: 2, left: 1, taken: [3, 2] });
  // By hand: the lowest two are 00000 and then 00001 and 10000 alike.
  expect(items[0]!.takenByLowest).toEqual([2, 1]);
});
