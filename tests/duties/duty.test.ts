import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exampleFor } from '../../server/duties/applicability.ts';
import { type DutyInput, dutyCategories, dutySchema } from '../../server/duties/duty.ts';
import { dutySentence } from '../../server/duties/duty-sentence.ts';
import { compileRubric, fullCrew, opportunitiesOf } from '../../server/duties/opportunities.ts';
import { checkDuty, refusalsOf, rubricRefusals } from '../../server/duties/refusals.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { positionsOf } from '../../server/football/crews.ts';
import { playSchema } from '../../server/football/play.ts';
import { crewSizes, positions } from '../../server/football/positions.ts';
import { anyCrew, anyCrewSize, anyDuty, anyPlay } from '../support/arbitrary-football.ts';

const mark: DutyInput = {
  key: 'mark-the-spot',
  title: 'Mark the spot',
  category: 'spotting',
  expected: 'mark the spot',
  positions: ['line judge'],
  crewSizes: [7, 8],
  allOf: ['run'],
  weight: 1,
  gradedAs: 'mechanics',
};

function reasonsFor(change: Record<string, unknown>): string[] {
  const check = checkDuty({ ...mark, ...change });
  return check.ok ? [] : check.refusals.map((refusal) => `${refusal.field}: ${refusal.reason}`);
}

describe('a duty is refused', () => {
  it('when its situations contradict each other, naming the two', () => {
    expect(reasonsFor({ allOf: ['scored', 'run', 'late-in-the-half', 'punt-returned'] })).toEqual([
      'allOf: the duty can never apply: no play can have "it is a run" together with "a punt is returned"',
    ]);
    expect(reasonsFor({ allOf: ['dead-in-bounds'], unless: ['live-ball'] })[0]).toMatch(/can never apply/);
    expect(reasonsFor({ allOf: ['sack'], anyOf: ['pass-caught', 'punt'] })[0]).toMatch(/can never apply/);
    expect(reasonsFor({ allOf: ['snap-near-goal-line', 'snap-near-own-goal-line'] })[0]).toMatch(
      /can never apply/,
    );
  });

  it('when the choice of officials contradicts its situations', () => {
    expect(reasonsFor({ allOf: ['dead-in-the-middle'], who: 'away from the dead ball' })[0]).toMatch(
      /"the ball is dead in the middle of the field" together with "those on the side away from the dead ball"/,
    );
    expect(reasonsFor({ positions: ['umpire'], who: 'away from the play' })[0]).toMatch(/can never apply/);
  });

  it('when no crew of its sizes has a position', () => {
    expect(reasonsFor({ positions: ['line judge', 'center judge'], crewSizes: [6, 7] })).toEqual([
      'positions: no crew of 6, 7 has a center judge: add a crew size that has one or leave the position out',
    ]);
  });

  it.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY, '2', null, undefined])(
    'when its weight is %s',
    (weight) => {
      expect(reasonsFor({ weight })).toEqual([expect.stringMatching(/^weight: weight must be/)]);
    },
  );

  it('when no situation triggers it', () => {
    expect(reasonsFor({ allOf: [] })).toEqual(['allOf: name at least one situation that triggers the duty']);
  });

  it('when it has a field that duties do not have, or a situation that does not exist', () => {
    expect(reasonsFor({ wait: 1 })).toEqual(['wait: Unrecognized key: "wait"']);
    expect(reasonsFor({ allOf: ['rain'] })[0]).toMatch(/^allOf\.0: /);
  });

  it('but not when it is right', () => {
    expect(reasonsFor({})).toEqual([]);
  });
});

describe('whether a duty can apply', () => {
  it('is shown by an example on which somebody owes it', () => {
    fc.assert(
      fc.property(anyDuty, (duty) => {
        const play = exampleFor(duty);
        if (play === undefined) return;
        expect(playSchema.safeParse(play).success).toBe(true);
        const rubric = compileRubric([duty]);
        expect(duty.crewSizes.some((size) => opportunitiesOf(play, fullCrew(size), rubric).length > 0)).toBe(
          true,
        );
      }),
    );
  });

  it('is never denied to a duty that does apply to some play', () => {
    fc.assert(
      fc.property(
        anyDuty,
        fc.array(anyPlay, { minLength: 20, maxLength: 20 }),
        anyCrewSize,
        (duty, plays, size) => {
          const rubric = compileRubric([duty]);
          if (plays.some((play) => opportunitiesOf(play, fullCrew(size), rubric).length > 0)) {
            expect(exampleFor(duty)).toBeDefined();
          }
        },
      ),
      { numRuns: 300 },
    );
  });
});

describe('a rubric', () => {
  it('comes back from JSON as it was, and gives the same opportunities', () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(anyDuty, { maxLength: 5, selector: (d) => d.key }),
        anyPlay,
        anyCrew,
        (duties, play, crew) => {
          const back = (JSON.parse(JSON.stringify(duties)) as unknown[]).map((duty) =>
            dutySchema.parse(duty),
          );
          expect(back).toEqual(duties);
          expect(opportunitiesOf(play, crew, compileRubric(back))).toEqual(
            opportunitiesOf(play, crew, compileRubric(duties)),
          );
        },
      ),
    );
  });

  it('is refused when a key is used twice', () => {
    const duty = dutySchema.parse(mark);
    expect(rubricRefusals([duty, duty])).toEqual([
      { field: 'mark-the-spot', reason: 'two duties have the key "mark-the-spot"' },
    ]);
  });

  it('says each duty as one sentence that ends in one full stop', () => {
    fc.assert(
      fc.property(anyDuty, (duty) => {
        expect(dutySentence(duty)).toMatch(
          /^When [^.]+ (is|are) expected[^.]* to do what is expected[^.]*\.$/,
        );
      }),
    );
    expect(
      dutySentence(dutySchema.parse({ ...mark, allOf: ['run-to-a-side'], who: 'on the play side' })),
    ).toBe(
      'When a run goes to a side, the line judge on the side the play goes to is expected in a crew of 7 or 8 to mark the spot.',
    );
  });
});

describe('the starting rubric', () => {
  it('has at least 60 duties, none of which is refused', () => {
    expect(startingRubric.length).toBeGreaterThanOrEqual(60);
    expect(rubricRefusals(startingRubric)).toEqual([]);
    for (const duty of startingRubric) expect(refusalsOf(duty)).toEqual([]);
  });

  it('has duties of every category and for every position, with guidance for each', () => {
    expect(new Set(startingRubric.map((duty) => duty.category))).toEqual(new Set(dutyCategories));
    expect(new Set(startingRubric.flatMap((duty) => duty.positions))).toEqual(new Set(positions));
    for (const duty of startingRubric) expect(duty.guidance.length, duty.key).toBeGreaterThan(0);
  });

  it('says every duty in full for crews of seven and eight', () => {
    for (const duty of startingRubric) {
      expect(duty.crewSizes, duty.key).toContain(8);
      if (duty.positions.some((position) => position !== 'center judge')) expect(duty.crewSizes).toContain(7);
    }
  });

  it('gives every crew size mechanics and calls', () => {
    for (const size of crewSizes) {
      const here = startingRubric.filter((duty) => duty.crewSizes.includes(size));
      expect(new Set(here.map((duty) => duty.gradedAs))).toEqual(new Set(['mechanics', 'call']));
      expect(positionsOf(size)).toHaveLength(size);
    }
  });
});
