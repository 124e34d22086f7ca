import { type Position, positions } from '../football/positions.ts';
import { type CompiledRubric, type CrewAtWork, SituationsOfPlay } from './compiled-rubric.ts';
import { type Consequence, consequences } from './consequence.ts';
import { enoughDecided } from './decided-share.ts';
import { effectOf } from './finding.ts';
import { likelyChances } from './likely-chances.ts';
import type { LoggedPlay } from './logged-play.ts';
import type { MarkStanding } from './mark-standing.ts';
import {
  cellOf,
  layGraver,
  type MarkedFinding,
  type MarksOfCell,
  notLogged,
  type StrayObservation,
  sortObservations,
} from './marks-of-cells.ts';
import { forEachChance, forEachGameOpportunity } from './opportunities.ts';
import type { WatchedOn } from './watched.ts';

export type { LoggedPlay };

/** What filing keeps per position and duty of one report. A chance is what was watched and is known to be owed. */
export interface OpportunityCount {
  readonly position: Position;
  readonly dutyKey: string;
  /** All chances that count, whether or not the observer could tell. The denominator is this minus `notCounted`. */
  opportunities: number;
  /** Missed, wrong call, missed foul. */
  notMet: number;
  /** Those of `notMet` whose consequence was judged, by what it was. */
  readonly costs: Record<Consequence, number>;
  /** Not seen, cannot tell: in neither numerator nor denominator. */
  notCounted: number;
  /** Worth showing to others; met as well. */
  model: number;
  /** Plays watched on which the log leaves open whether the duty was owed. */
  undecided: number;
  /** How many chances those plays probably hold (see `likelyChances`). */
  likely: number;
  /** Chances on plays where the position was not watched: in none of the above. */
  unwatched: number;
  /** Chances found and left out, with their misses, because too little is decided: then all that counts is 0. */
  setAside: number;
  setAsideNotMet: number;
}

export interface CountResult {
  /** In the order of positions, then of the rubric; only rows with something found, left open or not watched. */
  readonly counts: OpportunityCount[];
  /** Of each observation, in the order given; undefined for one that is stray. */
  readonly standings: readonly (MarkStanding | undefined)[];
  readonly stray: StrayObservation[];
}

/** Raised when the way of counting changes what a report counts; counts by an earlier one can be found again. */
export const countsMethod = 1;

/** What of a log counts. */
export interface Counting {
  /** Left out: everybody was watched on every play. */
  readonly watchedOn?: WatchedOn | undefined;
  /** The least share decided with which a position's duty counts. */
  readonly decidedShareLeast: number;
}

/**
 * Counts each position's chances over a play log and lays the observations over them. Exceptions are what an observer
 * records: a chance without an observation counts as met. No observation makes a chance: what the log leaves open, does
 * not give, or was not watched counts neither for nor against. Duties of the whole game are owed once when the position
 * was watched at all; a mark on one counts once, whatever play it was made on.
 */
export function countOpportunities(
  plays: readonly LoggedPlay[],
  crew: CrewAtWork,
  rubric: CompiledRubric,
  observations: readonly MarkedFinding[],
  { watchedOn, decidedShareLeast }: Counting,
): CountResult {
  const slots = new Slots(rubric);
  const { byPlay, ofGame, stray, standings } = sortObservations(observations, crew, rubric);
  const scratch = new SituationsOfPlay(rubric);
  /** Positions watched on a play at least. */
  const watched = new Set<Position>();
  const logged = new Set<string>();
  /** Marks on chances that count unless too little of their duty is decided. */
  const laid: { at: number; slot: OpportunityCount }[] = [];
  const layAll = (cell: MarksOfCell, slot: OpportunityCount) => {
    lay(cell.gravest, slot);
    for (const at of cell.all) laid.push({ at, slot });
  };

  for (const { id, play } of plays) {
    logged.add(id);
    const marked = byPlay.get(id);
    byPlay.delete(id);
    for (const position of crew.present)
      if (watchedOn === undefined || watchedOn(id, position)) watched.add(position);
    forEachChance(
      play,
      crew,
      rubric,
      (position, duty, _named, dutyNumber, owed) => {
        const seen = watchedOn === undefined || watchedOn(id, position);
        if (owed === 'unknown' && !seen) return;
        const slot = slots.of(positionNumbers[position], dutyNumber);
        if (owed === 'unknown') slot.undecided++;
        else if (seen) slot.opportunities++;
        else slot.unwatched++;
        if (marked === undefined || !seen) return;
        const key = cellOf({ position, dutyKey: duty.key });
        const cell = marked.get(key);
        if (cell === undefined) return;
        marked.delete(key);
        if (owed === true) layAll(cell, slot);
        else for (const at of cell.all) standings[at] = 'undecided';
      },
      scratch,
    );
    if (marked === undefined) continue;
    for (const { all, gravest } of marked.values()) {
      const seen = watchedOn === undefined || watchedOn(id, gravest.position);
      for (const at of all) standings[at] = seen ? 'not owed' : 'not watched';
    }
  }

  const markedOfGame = new Map<string, MarksOfCell>();
  for (const at of ofGame) {
    const mark = observations[at]!;
    if (logged.has(mark.playId)) layGraver(markedOfGame, mark, at);
    else stray.push(notLogged(mark));
  }
  if (logged.size > 0) {
    forEachGameOpportunity(crew, rubric, (position, { key: dutyKey }, dutyNumber) => {
      const slot = slots.of(positionNumbers[position], dutyNumber);
      const cell = markedOfGame.get(cellOf({ position, dutyKey }));
      markedOfGame.delete(cellOf({ position, dutyKey }));
      if (watched.has(position)) {
        slot.opportunities++;
        if (cell) layAll(cell, slot);
      } else {
        slot.unwatched++;
        for (const at of cell?.all ?? []) standings[at] = 'not watched';
      }
    });
  }
  for (const { all } of markedOfGame.values()) for (const at of all) standings[at] = 'not owed';
  for (const marked of byPlay.values()) {
    for (const { all } of marked.values()) for (const at of all) stray.push(notLogged(observations[at]!));
  }

  const counts = slots.inOrder();
  const open = counts.filter((slot) => slot.undecided > 0);
  const likely = likelyChances(plays, crew, rubric, open, watchedOn);
  open.forEach((slot, at) => {
    slot.likely = likely[at]!;
  });
  for (const slot of counts) if (!enoughDecided(slot, decidedShareLeast)) setAside(slot);
  for (const { at, slot } of laid) standings[at] = slot.setAside === 0 ? 'counted' : 'thin log';
  return { counts, standings, stray };
}

/** The rows being counted, by position and duty. */
class Slots {
  private readonly slots: (OpportunityCount | undefined)[];
  private readonly rubric: CompiledRubric;

  constructor(rubric: CompiledRubric) {
    this.rubric = rubric;
    this.slots = new Array(positions.length * rubric.duties.length).fill(undefined);
  }

  known(positionNumber: number, dutyNumber: number): OpportunityCount | undefined {
    return this.slots[positionNumber * this.rubric.duties.length + dutyNumber];
  }

  of(positionNumber: number, dutyNumber: number): OpportunityCount {
    const at = positionNumber * this.rubric.duties.length + dutyNumber;
    let slot = this.slots[at];
    if (slot === undefined) {
      slot = {
        position: positions[positionNumber]!,
        dutyKey: this.rubric.duties[dutyNumber]!.duty.key,
        opportunities: 0,
        notMet: 0,
        costs: { none: 0, yards: 0, possession: 0, score: 0 },
        notCounted: 0,
        model: 0,
        undecided: 0,
        likely: 0,
        unwatched: 0,
        setAside: 0,
        setAsideNotMet: 0,
      };
      this.slots[at] = slot;
    }
    return slot;
  }

  inOrder(): OpportunityCount[] {
    return this.slots.filter((slot) => slot !== undefined);
  }
}

const positionNumbers = Object.fromEntries(positions.map((position, number) => [position, number])) as Record<
  Position,
  number
>;

function lay(mark: MarkedFinding, slot: OpportunityCount): void {
  const effect = effectOf(mark.finding);
  if (effect === 'not met') {
    slot.notMet++;
    if (mark.consequence) slot.costs[mark.consequence]++;
  }
  if (effect === 'not counted') slot.notCounted++;
  if (mark.finding === 'model') slot.model++;
}

/** Takes a row out of what counts, and keeps beside it what was found. */
function setAside(slot: OpportunityCount): void {
  slot.setAside = slot.opportunities;
  slot.setAsideNotMet = slot.notMet;
  slot.opportunities = 0;
  slot.notMet = 0;
  slot.notCounted = 0;
  slot.model = 0;
  for (const consequence of consequences) slot.costs[consequence] = 0;
}
