import type { Position } from '../football/positions.ts';
import type { CompiledRubric, CrewAtWork } from './compiled-rubric.ts';
import { type Consequence, consequenceRank } from './consequence.ts';
import { effectOf, type Finding } from './finding.ts';
import type { MarkStanding } from './mark-standing.ts';

/** What an observation needs to be laid over the opportunities. */
export interface MarkedFinding {
  readonly playId: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly finding: Finding;
  /** What a wrong or missed call cost; left out or null when not judged. */
  readonly consequence?: Consequence | null;
}

/** An observation that cannot be laid over anything, and why. */
export interface StrayObservation {
  readonly playId: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly reason: string;
}

// Two observations of one opportunity count once: the graver one, whatever order they come in; of two misses, the one
// that cost more.
const gravity = { 'not met': 2, met: 1, 'not counted': 0 } as const;

/** All observations (by their place in the list) on one official for one duty on one play, and the one that counts. */
export interface MarksOfCell {
  gravest: MarkedFinding;
  readonly all: number[];
}

export function sortObservations(
  observations: readonly MarkedFinding[],
  crew: CrewAtWork,
  rubric: CompiledRubric,
) {
  const perOf = new Map(rubric.duties.map(({ duty }) => [duty.key, duty.per]));
  const ofGame: number[] = [];
  const byPlay = new Map<string, Map<string, MarksOfCell>>();
  const stray: StrayObservation[] = [];
  const standings = new Array<MarkStanding | undefined>(observations.length).fill(undefined);
  const present = new Set(crew.present);
  observations.forEach((mark, at) => {
    const { playId, position, dutyKey } = mark;
    const reason = !perOf.has(dutyKey)
      ? `the rubric has no duty "${dutyKey}"`
      : !present.has(position)
        ? `nobody worked as ${position}`
        : undefined;
    if (reason !== undefined) {
      stray.push({ playId, position, dutyKey, reason });
      return;
    }
    if (perOf.get(dutyKey) === 'game') {
      ofGame.push(at);
      return;
    }
    let marked = byPlay.get(playId);
    if (marked === undefined) {
      marked = new Map();
      byPlay.set(playId, marked);
    }
    layGraver(marked, mark, at);
  });
  return { byPlay, ofGame, stray, standings };
}

export const cellOf = ({ position, dutyKey }: Pick<MarkedFinding, 'position' | 'dutyKey'>) =>
  `${position}\n${dutyKey}`;

export const notLogged = ({ playId, position, dutyKey }: MarkedFinding): StrayObservation => ({
  playId,
  position,
  dutyKey,
  reason: 'the play is not in the play log',
});

export function layGraver(marked: Map<string, MarksOfCell>, mark: MarkedFinding, at: number): void {
  const cell = marked.get(cellOf(mark));
  if (cell === undefined) {
    marked.set(cellOf(mark), { gravest: mark, all: [at] });
    return;
  }
  cell.all.push(at);
  if (outranks(mark, cell.gravest)) cell.gravest = mark;
}

function outranks(mark: MarkedFinding, other: MarkedFinding): boolean {
  const difference = gravity[effectOf(mark.finding)] - gravity[effectOf(other.finding)];
  if (difference !== 0) return difference > 0;
  return mark.finding === 'model' || consequenceRank(mark.consequence) > consequenceRank(other.consequence);
}
