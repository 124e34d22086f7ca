import { type CompiledRubric, type CrewAtWork, compileRubric } from '../../duties/compiled-rubric.ts';
import type { Duty } from '../../duties/duty.ts';
import { countOpportunities, type LoggedPlay, type MarkedFinding } from '../../duties/opportunity-counts.ts';
import type { Position } from '../../football/positions.ts';
import { situationCuts } from '../../patterns/situation-cuts.ts';

/** What a report's cuts are counted from; plain data, since a worker thread counts them. */
export interface CutMaterial {
  readonly duties: readonly Duty[];
  readonly plays: readonly LoggedPlay[];
  readonly marks: readonly MarkedFinding[];
  readonly crew: CrewAtWork;
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

/** Counts a report's opportunities in each situation cut, as filing counts them over the whole play log. */
export function cutReport({ duties, plays, marks, crew }: CutMaterial): CutCount[] {
  const rubric = compiled(duties);
  return situationCuts.flatMap(({ key, decide }) => {
    const within = plays.filter(({ play }) => decide(play) === true);
    const ids = new Set(within.map(({ id }) => id));
    const { counts } = countOpportunities(
      within,
      crew,
      rubric,
      marks.filter((mark) => ids.has(mark.playId)),
    );
    return counts.map(({ position, dutyKey, opportunities, notMet, notCounted, model }) => ({
      cut: key,
      position,
      dutyKey,
      opportunities,
      notMet,
      notCounted,
      model,
    }));
  });
}

let last: { duties: string; rubric: CompiledRubric } | null = null;

/** A season's reports come one after another and mostly have one rubric. */
function compiled(duties: readonly Duty[]): CompiledRubric {
  const text = JSON.stringify(duties);
  if (last?.duties !== text) last = { duties: text, rubric: compileRubric(duties) };
  return last.rubric;
}
