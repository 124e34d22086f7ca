import type { Position } from '../football/positions.ts';
import { type CompiledRubric, type CrewAtWork, SituationsOfPlay } from './compiled-rubric.ts';
import {
  cellOf,
  layGraver,
  type MarkedFinding,
  type MarksOfCell,
  sortObservations,
} from './marks-of-cells.ts';
import { forEachGameOpportunity, forEachOpportunity } from './opportunities.ts';
import { type Counting, countOpportunities, type LoggedPlay } from './opportunity-counts.ts';

/** One report of a game, with what it is counted by. */
export interface CountedReport extends Counting {
  readonly rubric: CompiledRubric;
  readonly marks: readonly MarkedFinding[];
}

/** A chance that counts in a report, and the mark on it that does. */
export interface CountedChance {
  /** A play's, or `wholeGame`. */
  readonly playId: string;
  readonly position: Position;
  readonly dutyKey: string;
  /** undefined: no mark, so it was met. */
  readonly mark: MarkedFinding | undefined;
}

/** Stands for a play where a duty of the whole game is marked. */
const wholeGame = 'the whole game';

/**
 * Every chance that counts in a report, one by one, by play, position and duty: those that the sums of
 * `countOpportunities` hold, for laying reports of one game over each other. A duty of the whole game comes once for
 * each official, whatever plays it was marked on.
 */
export function countedChances(
  plays: readonly LoggedPlay[],
  crew: CrewAtWork,
  { rubric, marks, ...counting }: CountedReport,
): Map<string, CountedChance> {
  const { counts } = countOpportunities(plays, crew, rubric, marks, counting);
  const counted = new Set(counts.filter(({ opportunities }) => opportunities > 0).map(cellOf));
  const { byPlay, ofGame } = sortObservations(marks, crew, rubric);
  const chances = new Map<string, CountedChance>();
  const add = (
    playId: string,
    position: Position,
    dutyKey: string,
    marked: ReadonlyMap<string, MarksOfCell> | undefined,
  ) => {
    const cell = cellOf({ position, dutyKey });
    if (!counted.has(cell)) return;
    chances.set(`${playId}\n${cell}`, { playId, position, dutyKey, mark: marked?.get(cell)?.gravest });
  };
  const scratch = new SituationsOfPlay(rubric);
  for (const { id, play } of plays) {
    const marked = byPlay.get(id);
    forEachOpportunity(
      play,
      crew,
      rubric,
      (position, { key }) => {
        if (counting.watchedOn?.(id, position) ?? true) add(id, position, key, marked);
      },
      scratch,
    );
  }
  if (plays.length === 0) return chances;
  const logged = new Set(plays.map(({ id }) => id));
  const markedOfGame = new Map<string, MarksOfCell>();
  for (const at of ofGame) {
    const mark = marks[at]!;
    if (logged.has(mark.playId)) layGraver(markedOfGame, mark, at);
  }
  forEachGameOpportunity(crew, rubric, (position, { key }) => add(wholeGame, position, key, markedOfGame));
  return chances;
}
