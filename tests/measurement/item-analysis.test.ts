import { expect, test } from 'vitest';
import { analyseItems, halfWrong } from '../../server/measurement/item-analysis.ts';

/**
 * Section 6 of the Law School Admission Test: Bock and Lieberman (1970), "Fitting a response model for n dichotomously
 * scored items", Psychometrika 35: 1,000 people, five questions, here by pattern of right answers. Recomputed by R's
 * package psych 2.2.9 (data lsat6, functions alpha and alpha.ci).
 */
const patterns =
  '00000 3; 00001 6; 00010 2; 00011 11; 00100 1; 00101 1; 00110 3; 00111 4; 01000 1; 01001 8; 01011 16; 01101 3; 01110 2; 01111 15; 10000 10; 10001 29; 10010 14; 10011 81; 10100 3; 10101 28; 10110 15; 10111 80; 11000 16; 11001 56; 11010 21; 11011 173; 11100 11; 11101 61; 11110 28; 11111 298';
const lsat = patterns.split('; ').flatMap((line) => {
  const [pattern, count] = line.split(' ');
  const answers = [...pattern!].map((digit) => ({ chosen: [digit === '1' ? 0 : 1], right: digit === '1' }));
  return Array.from({ length: Number(count) }, () => answers);
});
const two = [2, 2, 2, 2, 2];

test('shares right, corrected item-rest correlations and the reliability of a published test', () => {
  const { items, complete, reliability } = analyseItems(lsat, two);
  expect(complete).toBe(1000);
  expect(items.map(({ right }) => right)).toEqual([924, 709, 553, 763, 870]);
  const itemRest = [0.112832688922, 0.153178120117, 0.172778943291, 0.144428095247, 0.121596402547];
  for (const [at, item] of items.entries()) expect(item.itemRest).toBeCloseTo(itemRest[at]!, 11);
  expect(reliability!.value).toBeCloseTo(0.294997192216, 11);
  expect(reliability!.low).toBeCloseTo(0.2234737878627, 6);
  expect(reliability!.high).toBeCloseTo(0.3618025317262, 6);
  expect(items[0]!.taken).toEqual([924, 76]);
});

test('what was left unanswered counts in no share, and its person in no correlation', () => {
  const right = { chosen: [1], right: true };
  const wrong = { chosen: [0, 2], right: false };
  const { items, complete, reliability } = analyseItems(
    [
      [right, wrong],
      [right, null],
      [wrong, right],
      [right, right],
    ],
    [3, 3],
  );
  expect(items.map(({ answered }) => answered)).toEqual([4, 3]);
  expect(items[0]!.taken).toEqual([1, 3, 1]);
  expect(complete).toBe(3);
  // By hand: of the three complete people 1,0 / 0,1 / 1,1 the two questions correlate by -1/2.
  expect(items[0]!.itemRest).toBeCloseTo(-0.5, 12);
  // By hand: alpha = 2 (1 - (1/3 + 1/3) / (1/3)) = -2.
  expect(reliability!.value).toBeCloseTo(-2, 12);
});

test('nobody, one person, one question and people all alike say nothing, and say so', () => {
  const right = { chosen: [0], right: true };
  expect(analyseItems([], [2]).items[0]).toMatchObject({ answered: 0, share: null, itemRest: null });
  expect(analyseItems([[right]], [2]).reliability).toBeNull();
  const alike = analyseItems(
    [
      [right, right],
      [right, right],
      [right, right],
    ],
    [2, 2],
  );
  expect(alike.reliability).toBeNull();
  expect(alike.items[0]!.itemRest).toBeNull();
  expect(() => analyseItems([[right]], [2, 2])).toThrow('person 0 has 1 answers to 2 questions');
});

test('a question that half of those who answered got wrong asks for a topic, where enough answered', () => {
  const item = (answered: number, right: number) => ({ ...analyseItems([], [2]).items[0]!, answered, right });
  expect(halfWrong(item(20, 10))).toBe(true);
  expect(halfWrong(item(20, 11))).toBe(false);
  expect(halfWrong(item(4, 1))).toBe(false);
});
