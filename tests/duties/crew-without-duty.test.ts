import { expect, test } from 'vitest';
import { lackingFor as lackingIn } from '../../server/duties/crew-without-duty.ts';
import type { Duty } from '../../server/duties/duty.ts';
import { compileRubric, fullCrew } from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { type CrewSize, crewSizes } from '../../server/football/positions.ts';

const lackingFor = (rubric: readonly Duty[], size: CrewSize) =>
  lackingIn(compileRubric(rubric), fullCrew(size))?.sentence;

const only = (sizes: number[]) =>
  startingRubric
    .map((duty) => ({
      ...duty,
      crewSizes: duty.crewSizes.filter((size) => sizes.includes(size)),
      instead: duty.instead.filter(({ crewSize }) => sizes.includes(crewSize)),
    }))
    .filter((duty) => duty.crewSizes.length > 0);

test.each(crewSizes)('the starting rubric expects something of everybody in a crew of %i', (size) => {
  expect(lackingFor(startingRubric, size)).toBeUndefined();
});

test('a rubric for crews of 8 says in one sentence that it has nothing for crews of 5, and the way on', () => {
  const rubric = only([8]);
  expect(lackingFor(rubric, 8)).toBeUndefined();
  expect(lackingFor(rubric, 5)).toMatch(/expects nothing of a crew of 5: its duties need that crew size/);
  expect(lackingFor([], 8)).toMatch(/The season has no rubric yet/);
});

test('a position that no duty falls to is named', () => {
  const rubric = startingRubric.filter((duty) => duty.positions.every((position) => position === 'referee'));
  expect(lackingIn(compileRubric(rubric), fullCrew(4))?.positions).toEqual([
    'umpire',
    'head linesman',
    'line judge',
  ]);
  expect(lackingFor(rubric, 4)).toMatch(/nothing of the umpire, head linesman or line judge/);
});
