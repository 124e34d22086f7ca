import { cite } from '../football/citations.ts';
import type { Code } from '../football/codes.ts';
import { commonPractice, type Duty, type DutyCategory, dutySchema } from './duty.ts';
import { beforeTheSnap } from './starting/before-the-snap.ts';
import { callsAtTheLine } from './starting/calls-at-the-line.ts';
import { callsOnContact } from './starting/calls-on-contact.ts';
import { callsOnTheBall } from './starting/calls-on-the-ball.ts';
import { conduct } from './starting/conduct.ts';
import { allSizes } from './starting/crew-groups.ts';
import { endingThePlay } from './starting/ending-the-play.ts';
import { foulsAndAdministration } from './starting/fouls-and-administration.ts';
import { goalLine } from './starting/goal-line.ts';
import { kicks } from './starting/kicks.ts';
import { looseBall } from './starting/loose-ball.ts';
import { overTheGame } from './starting/over-the-game.ts';
import { passes } from './starting/passes.ts';
import { runsAndBackfield } from './starting/runs-and-backfield.ts';
import { sidelineAndDeadBall } from './starting/sideline-and-dead-ball.ts';
import { spotting } from './starting/spotting.ts';
import type { StartingDuty } from './starting/starting-duty.ts';

const groups: readonly (readonly [DutyCategory, readonly StartingDuty[]])[] = [
  ['before the snap', beforeTheSnap],
  ['spotting', spotting],
  ['ending the play', endingThePlay],
  ['goal line', goalLine],
  ['passes', passes],
  ['runs and backfield', runsAndBackfield],
  ['kicks', kicks],
  ['sideline and dead ball', sidelineAndDeadBall],
  ['loose ball', looseBall],
  ['fouls and administration', foulsAndAdministration],
  ['conduct', conduct],
  ['over the game', overTheGame],
  ['calls', [...callsAtTheLine, ...callsOnTheBall, ...callsOnContact]],
];

/** A call rests on its rule; how to work for it is common practice, whatever rule is behind it. */
function sourceOf(category: DutyCategory, cites: StartingDuty['cites'], code: Code): string {
  if (cites === undefined) return commonPractice;
  return category === 'calls'
    ? cite(cites, code)
    : `common practice; the rule behind it: ${cite(cites, code)}`;
}

const made = new Map<Code, readonly Duty[]>();

/**
 * The rubric that a new season starts from in a conference of this code: duties in our own words, common practice
 * unless a rule is cited. Weights are a proposal that the coordinator sets; the conference's current manual prevails.
 */
export function startingRubricFor(code: Code): readonly Duty[] {
  const known = made.get(code);
  if (known !== undefined) return known;
  const duties = groups.flatMap(([category, group]) =>
    group
      .filter(({ codes }) => codes === undefined || codes.includes(code))
      .map(({ codes: _, cites, byCode, ...duty }) =>
        dutySchema.parse({
          crewSizes: allSizes,
          gradedAs: category === 'calls' ? 'call' : 'mechanics',
          ...duty,
          ...byCode?.[code],
          category,
          source: sourceOf(category, cites, code),
        }),
      ),
  );
  made.set(code, duties);
  return duties;
}

export const startingRubric: readonly Duty[] = startingRubricFor('college');
