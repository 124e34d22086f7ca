import type { Play } from '../football/play.ts';
import { type Position, positions } from '../football/positions.ts';
import { type CompiledRubric, type CrewAtWork, SituationsOfPlay } from './compiled-rubric.ts';
import { effectOf, type Finding } from './finding.ts';
import { forEachOpportunity } from './opportunities.ts';

export interface LoggedPlay {
  readonly id: string;
  readonly play: Play;
}

/** What an observation needs to be laid over the opportunities. */
export interface MarkedFinding {
  readonly playId: string;
  readonly position: Position;
  readonly dutyKey: string;
  readonly finding: Finding;
}

/** What filing keeps per position and duty of one report. */
export interface OpportunityCount {
  readonly position: Position;
  readonly dutyKey: string;
  /** All opportunities, whether or not the observer could tell. The denominator is this minus `notCounted`. */
  opportunities: number;
  /** Missed, wrong call, missed foul. */
  notMet: number;
  /** Not seen, cannot tell: in neither numerator nor denominator. */
  notCounted: number;
  /** Worth showing to others; met as well. */
  model: number;
  /** Opportunities that the play's facts did not give, created by an observation. */
  byObservation: number;
}

/** An observation that created its opportunity, because the facts logged did not give it. */
export interface CreatedOpportunity {
  readonly playId: string;
  readonly position: Position;
  readonly dutyKey: string;
}

/** An observation that cannot be laid over anything, and why. */
export interface StrayObservation extends CreatedOpportunity {
  readonly reason: string;
}

export interface CountResult {
  /** In the order of positions, then of the rubric; only rows with an opportunity. */
  readonly counts: OpportunityCount[];
  readonly created: CreatedOpportunity[];
  readonly stray: StrayObservation[];
}

// Two observations of one opportunity count once: the graver one, whatever order they come in.
const gravity = { 'not met': 2, met: 1, 'not counted': 0 } as const;

/**
 * Counts each position's opportunities over a play log and lays the observations over them. Exceptions are what
 * an observer records: an opportunity without an observation counts as met.
 */
export function countOpportunities(
  plays: Iterable<LoggedPlay>,
  crew: CrewAtWork,
  rubric: CompiledRubric,
  observations: Iterable<MarkedFinding>,
): CountResult {
  const dutyNumbers = new Map(rubric.duties.map(({ duty }, number) => [duty.key, number]));
  const width = rubric.duties.length;
  const slots = new Array<OpportunityCount | undefined>(positions.length * width).fill(undefined);
  const slotFor = (positionNumber: number, dutyNumber: number): OpportunityCount => {
    const at = positionNumber * width + dutyNumber;
    let slot = slots[at];
    if (slot === undefined) {
      slot = {
        position: positions[positionNumber]!,
        dutyKey: rubric.duties[dutyNumber]!.duty.key,
        opportunities: 0,
        notMet: 0,
        notCounted: 0,
        model: 0,
        byObservation: 0,
      };
      slots[at] = slot;
    }
    return slot;
  };

  const { byPlay, stray } = sortObservations(observations, crew, dutyNumbers);
  const created: CreatedOpportunity[] = [];
  const scratch = new SituationsOfPlay(rubric);
  for (const { id, play } of plays) {
    const marked = byPlay.get(id);
    byPlay.delete(id);
    forEachOpportunity(
      play,
      crew,
      rubric,
      (position, duty, _named, dutyNumber) => {
        const slot = slotFor(positionNumbers[position], dutyNumber);
        slot.opportunities++;
        if (marked === undefined) return;
        const cell = `${position}\n${duty.key}`;
        const mark = marked.get(cell);
        if (mark === undefined) return;
        marked.delete(cell);
        lay(mark, slot);
      },
      scratch,
    );
    if (marked === undefined) continue;
    for (const mark of marked.values()) {
      const slot = slotFor(positionNumbers[mark.position], dutyNumbers.get(mark.dutyKey)!);
      slot.opportunities++;
      slot.byObservation++;
      lay(mark, slot);
      created.push({ playId: mark.playId, position: mark.position, dutyKey: mark.dutyKey });
    }
  }
  for (const marked of byPlay.values()) {
    for (const mark of marked.values()) {
      stray.push({
        playId: mark.playId,
        position: mark.position,
        dutyKey: mark.dutyKey,
        reason: 'the play is not in the play log',
      });
    }
  }
  return { counts: slots.filter((slot) => slot !== undefined), created, stray };
}

const positionNumbers = Object.fromEntries(positions.map((position, number) => [position, number])) as Record<
  Position,
  number
>;

function lay(mark: MarkedFinding, slot: OpportunityCount): void {
  const effect = effectOf(mark.finding);
  if (effect === 'not met') slot.notMet++;
  if (effect === 'not counted') slot.notCounted++;
  if (mark.finding === 'model') slot.model++;
}

function sortObservations(
  observations: Iterable<MarkedFinding>,
  crew: CrewAtWork,
  dutyNumbers: ReadonlyMap<string, number>,
) {
  const byPlay = new Map<string, Map<string, MarkedFinding>>();
  const stray: StrayObservation[] = [];
  const present = new Set(crew.present);
  for (const mark of observations) {
    const { playId, position, dutyKey } = mark;
    const reason = !dutyNumbers.has(dutyKey)
      ? `the rubric has no duty "${dutyKey}"`
      : !present.has(position)
        ? `nobody worked as ${position}`
        : undefined;
    if (reason !== undefined) {
      stray.push({ playId, position, dutyKey, reason });
      continue;
    }
    let marked = byPlay.get(playId);
    if (marked === undefined) {
      marked = new Map();
      byPlay.set(playId, marked);
    }
    const cell = `${position}\n${dutyKey}`;
    const before = marked.get(cell);
    if (before === undefined || outranks(mark.finding, before.finding)) marked.set(cell, mark);
  }
  return { byPlay, stray };
}

function outranks(finding: Finding, other: Finding): boolean {
  const difference = gravity[effectOf(finding)] - gravity[effectOf(other)];
  return difference > 0 || (difference === 0 && finding === 'model');
}
