import { type CompiledRubric, type CrewAtWork, compileRubric } from '../../duties/compiled-rubric.ts';
import { countedChances } from '../../duties/counted-chances.ts';
import type { Duty } from '../../duties/duty.ts';
import { countGame } from '../../duties/game-counts.ts';
import type { MarkedFinding } from '../../duties/marks-of-cells.ts';
import type { LoggedPlay } from '../../duties/opportunity-counts.ts';
import { type Watched, watchedOn } from '../../duties/watched.ts';
import type { Position } from '../../football/positions.ts';
import type { Practices } from '../../football/practices.ts';
import { situationCuts } from '../../patterns/situation-cuts.ts';

/** What a game's cuts are counted from; plain data, since a worker thread counts them. */
export interface CutMaterial {
  readonly plays: readonly LoggedPlay[];
  readonly crew: CrewAtWork;
  readonly decidedShareLeast: number;
  readonly reports: readonly {
    readonly duties: readonly Duty[];
    readonly practices: Practices;
    readonly marks: readonly MarkedFinding[];
    readonly watched: Watched | null;
  }[];
}

/** One position's count of one duty on the plays of one cut. */
export interface CutCount {
  readonly cut: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly opportunities: number;
  readonly notMet: number;
  readonly notCounted: number;
  readonly model: number;
}

/**
 * Counts a game's chances in each situation cut, each once, as the game is counted over the whole play log: what counts
 * there counts in its cuts. Duties of the whole game belong to no cut.
 */
export function cutGame({ plays, crew, decidedShareLeast, reports }: CutMaterial): CutCount[] {
  const ids = plays.map(({ id }) => id);
  const chances = reports.map(({ duties, practices, marks, watched }) =>
    countedChances(plays, crew, {
      rubric: compiled(duties, practices),
      marks,
      watchedOn: watched === null ? undefined : watchedOn(watched, ids),
      decidedShareLeast,
    }),
  );
  return situationCuts.flatMap(({ key, decide }) => {
    const within = new Set(plays.filter(({ play }) => decide(play) === true).map(({ id }) => id));
    return countGame(chances, ({ playId }) => within.has(playId)).map(
      ({ position, dutyKey, opportunities, notMet, notCounted, model }) => ({
        cut: key,
        position,
        dutyKey,
        opportunities,
        notMet,
        notCounted,
        model,
      }),
    );
  });
}

let last: { made: string; rubric: CompiledRubric } | null = null;

/** A season's reports come one after another and mostly have one rubric. */
function compiled(duties: readonly Duty[], practices: Practices): CompiledRubric {
  const made = JSON.stringify([duties, practices]);
  if (last?.made !== made) last = { made, rubric: compileRubric(duties, practices) };
  return last.rubric;
}
