import type { CrewAtWork } from '../../duties/compiled-rubric.ts';
import type { Duty } from '../../duties/duty.ts';
import type { MarkedFinding } from '../../duties/marks-of-cells.ts';
import { compileRubric } from '../../duties/opportunities.ts';
import type { LoggedPlay } from '../../duties/opportunity-counts.ts';
import { samplesOfGame } from '../../duties/two-samples-of-game.ts';
import { type Watched, watchedOn } from '../../duties/watched.ts';
import type { Practices } from '../../football/practices.ts';
import type { DoubleGame } from '../../grading/agreement/detection.ts';

/** One observer's report of a game. */
interface ReportOfPair {
  readonly observer: string;
  readonly marks: readonly MarkedFinding[];
  readonly watched: Watched | null;
}

/** Two reports of one game; plain data, since a worker thread lays them together. */
export interface PairOfReports {
  readonly game: string;
  readonly duties: readonly Duty[];
  readonly practices: Practices;
  readonly plays: readonly LoggedPlay[];
  readonly crew: CrewAtWork;
  readonly decidedShareLeast: number;
  readonly reports: readonly [ReportOfPair, ReportOfPair];
}

/** What both, one and neither of the observers of each game noted. */
export const pairSamples = (pairs: readonly PairOfReports[]): DoubleGame[] =>
  pairs.map(({ game, duties, practices, plays, crew, decidedShareLeast, reports: [first, second] }) => {
    const rubric = compileRubric(duties, practices);
    const ids = plays.map(({ id }) => id);
    const counted = ({ marks, watched }: ReportOfPair) => ({
      rubric,
      marks,
      watchedOn: watched ? watchedOn(watched, ids) : undefined,
      decidedShareLeast,
    });
    return {
      game,
      first: first.observer,
      second: second.observer,
      ...samplesOfGame(plays, crew, [counted(first), counted(second)]),
    };
  });
