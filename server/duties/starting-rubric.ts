import { type Duty, dutySchema } from './duty.ts';
import { calls } from './starting/calls.ts';
import { conduct } from './starting/conduct.ts';
import { endingThePlay } from './starting/ending-the-play.ts';
import { foulsAndAdministration } from './starting/fouls-and-administration.ts';
import { goalLine } from './starting/goal-line.ts';
import { kicks } from './starting/kicks.ts';
import { looseBall } from './starting/loose-ball.ts';
import { passes } from './starting/passes.ts';
import { runsAndBackfield } from './starting/runs-and-backfield.ts';
import { sidelineAndDeadBall } from './starting/sideline-and-dead-ball.ts';
import { spotting } from './starting/spotting.ts';

/**
 * The rubric that a new season starts from: duties in our own words, common practice unless a rule is cited.
 * Weights are a proposal that the coordinator sets; the conference's current manual prevails.
 */
export const startingRubric: readonly Duty[] = [
  spotting,
  endingThePlay,
  goalLine,
  passes,
  runsAndBackfield,
  kicks,
  sidelineAndDeadBall,
  looseBall,
  foulsAndAdministration,
  conduct,
  calls,
].flatMap((group) => group.map((duty) => dutySchema.parse(duty)));
