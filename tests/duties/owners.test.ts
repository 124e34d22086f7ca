// @module-tag long
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compileRubric, fullCrew, opportunitiesOf } from '../../server/duties/opportunities.ts';
import { startingRubricFor } from '../../server/duties/starting-rubric.ts';
import { whoOwedWhat } from '../../server/duties/who-owed-what.ts';
import { codes } from '../../server/football/codes.ts';
import { deepWings, mirrorPosition, positionsOf } from '../../server/football/crews.ts';
import { mirrorPlay } from '../../server/football/mirror.ts';
import type { Play } from '../../server/football/play.ts';
import { type CrewSize, crewSizes } from '../../server/football/positions.ts';
import { mirrorPractices, practicesSchema } from '../../server/football/practices.ts';
import { leavesASpot } from '../../server/football/zones/ending.ts';
import { anyCompletePlay, anyCrewSize, anyPlay } from '../support/arbitrary-football.ts';

const shape = practicesSchema.shape;
const anyPractices = fc
  .record({
    spotInTheMiddle: fc.constantFrom(...shape.spotInTheMiddle.def.innerType.options),
    motion: fc.constantFrom(...shape.motion.def.innerType.options),
    pylonsInsideTheFive: fc.constantFrom(...shape.pylonsInsideTheFive.def.innerType.options),
    backJudgeOnFreeKicks: fc.constantFrom(...shape.backJudgeOnFreeKicks.def.innerType.options),
  })
  .map((chosen) => practicesSchema.parse(chosen));
const anyCode = fc.constantFrom(...codes);
const rubrics = Object.fromEntries(codes.map((code) => [code, startingRubricFor(code)]));

/** The play as far as both crews can have worked it: officials whom one of them lacks are taken out of the log. */
function workedByBoth(play: Play, one: CrewSize, other: CrewSize): Play {
  const inBoth = new Set(positionsOf(one).filter((position) => positionsOf(other).includes(position)));
  const { endedBy, ruledBy, clockStoppedBy, fouls, ...rest } = play;
  return {
    ...rest,
    ...(endedBy && inBoth.has(endedBy) ? { endedBy } : {}),
    ...(ruledBy && inBoth.has(ruledBy) ? { ruledBy } : {}),
    ...(clockStoppedBy && inBoth.has(clockStoppedBy) ? { clockStoppedBy } : {}),
    ...(fouls
      ? { fouls: fouls.filter(({ reportedBy }) => reportedBy === undefined || inBoth.has(reportedBy)) }
      : {}),
  };
}

describe('the owners of the starting duties', () => {
  it('are mirrored on mirrored plays under mirrored practices', () => {
    fc.assert(
      fc.property(anyPlay, anyCrewSize, anyPractices, anyCode, (play, size, practices, code) => {
        const crew = fullCrew(size);
        // Crews without deep wings send one wing deep on kicks and keep the other at a line: a habit of the trade, left out.
        const kick = ['free kick', 'punt', 'place kick', 'try'].includes(play.kind);
        fc.pre(!kick || deepWings.some((position) => crew.present.includes(position)));
        const names = (seen: Play, by: typeof practices, turn: boolean) =>
          opportunitiesOf(seen, crew, compileRubric(rubrics[code]!, by))
            .map((o) => `${o.dutyKey}: ${turn ? mirrorPosition(o.position) : o.position}`)
            .sort();
        // Some duties are one wing's by name (the chains, reached or measure, the line on punts).
        const byName = new Set(
          rubrics[code]!.filter(({ positions, instead }) =>
            [positions, ...instead.map((other) => other.positions)].some((list) =>
              list.some((position) => !list.includes(mirrorPosition(position))),
            ),
          ).map(({ key }) => key),
        );
        const both = (list: string[]) => list.filter((name) => !byName.has(name.split(':')[0]!));
        expect(both(names(mirrorPlay(play), mirrorPractices(practices), false))).toEqual(
          both(names(play, practices, true)),
        );
      }),
      { numRuns: 400 },
    );
  });

  it('of the spot are exactly one in every crew, on every play that leaves a spot', {
    tags: ['long'],
  }, () => {
    fc.assert(
      fc.property(anyCompletePlay, anyPractices, anyCode, (play, practices, code) => {
        const rubric = compileRubric(rubrics[code]!, practices);
        for (const size of crewSizes) {
          const owners = opportunitiesOf(play, fullCrew(size), rubric).filter(
            (o) => o.dutyKey === 'call-the-spot',
          );
          expect(owners.length, `crew of ${size}`).toBe(leavesASpot(play) === true ? 1 : 0);
        }
      }),
      { numRuns: 400 },
    );
  });

  it('are not lost in a crew one larger: what the smaller crew owed, somebody in the larger owes or may owe', {
    tags: ['long'],
  }, () => {
    const steps = [
      [4, 5],
      [5, 6],
      [6, 7],
      [7, 8],
    ] as const;
    fc.assert(
      fc.property(
        anyCompletePlay,
        fc.constantFrom(...steps),
        anyPractices,
        anyCode,
        (play, [smaller, larger], practices, code) => {
          const rubric = compileRubric(rubrics[code]!, practices);
          const seen = workedByBoth(play, smaller, larger);
          const there = whoOwedWhat(seen, fullCrew(larger), rubric);
          const owned = new Set([...there.owed, ...there.undecided].map(({ duty }) => duty.key));
          const lost = opportunitiesOf(seen, fullCrew(smaller), rubric)
            .filter(({ dutyKey }) => !owned.has(dutyKey))
            .map(
              ({ dutyKey, position }) =>
                `${dutyKey}: ${position} in a crew of ${smaller}, nobody in ${larger}`,
            );
          expect(lost, JSON.stringify(seen)).toEqual([]);
        },
      ),
      { numRuns: 400 },
    );
  });
});
