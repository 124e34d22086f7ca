import type { Play } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import type { Truth } from '../football/three-valued.ts';
import {
  type CompiledRubric,
  type CrewAtWork,
  candidatesIn,
  fieldOf,
  SituationsOfPlay,
  sharesIn,
} from './compiled-rubric.ts';
import type { Duty } from './duty.ts';

export { type CompiledRubric, type CrewAtWork, compileRubric, fullCrew } from './compiled-rubric.ts';

/** One official (by position) × one play × one duty that applied. */
export interface Opportunity {
  readonly position: Position;
  readonly dutyKey: string;
  /** The position whose duty this is, when the crew has no such official and this one covers for it. */
  readonly coversFor?: Position;
}

/**
 * Calls `found` once for every position and duty that a play gives (`true`) or may give (`'unknown'`: what is not
 * logged leaves it open). Allocates nothing per play when `scratch` is passed on.
 */
export function forEachChance(
  play: Play,
  crew: CrewAtWork,
  rubric: CompiledRubric,
  found: (
    position: Position,
    duty: Duty,
    named: Position,
    dutyNumber: number,
    owed: Exclude<Truth, false>,
  ) => void,
  scratch: SituationsOfPlay = new SituationsOfPlay(rubric),
): void {
  scratch.turnTo(play);
  const field = fieldOf(rubric, crew);
  for (const { number, compiled, shares } of candidatesIn(rubric, crew, play.kind)) {
    const trigger = scratch.trigger(compiled);
    if (trigger === false) continue;
    let asked = 0; // positions found already for this duty, one bit each: a cover may stand in for two
    for (const { named, owedBy } of shares) {
      for (const position of owedBy) {
        const bit = positionBit[position];
        if ((asked & bit) !== 0) continue;
        const selected = scratch.selects(compiled, position, field);
        if (selected === false) continue;
        asked |= bit;
        const owed = trigger === true && selected === true ? true : 'unknown';
        found(position, compiled.duty, named, number, owed);
      }
    }
  }
}

/** Calls `found` for every opportunity on a play: an unknown situation or side makes none, it is never guessed. */
export function forEachOpportunity(
  play: Play,
  crew: CrewAtWork,
  rubric: CompiledRubric,
  found: (position: Position, duty: Duty, named: Position, dutyNumber: number) => void,
  scratch: SituationsOfPlay = new SituationsOfPlay(rubric),
): void {
  forEachChance(
    play,
    crew,
    rubric,
    (position, duty, named, dutyNumber, owed) => {
      if (owed === true) found(position, duty, named, dutyNumber);
    },
    scratch,
  );
}

/**
 * Calls `found` for every duty that is owed once in a game, for each position at work that the duty names. Nobody
 * covers here: who is not there has no appearance to mark.
 */
export function forEachGameOpportunity(
  crew: CrewAtWork,
  rubric: CompiledRubric,
  found: (position: Position, duty: Duty, dutyNumber: number) => void,
): void {
  const shares = sharesIn(rubric, crew);
  rubric.duties.forEach(({ duty }, number) => {
    if (duty.per !== 'game') return;
    for (const { named } of shares[number]!) if (crew.present.includes(named)) found(named, duty, number);
  });
}

const positionBit: Readonly<Record<Position, number>> = {
  referee: 1,
  umpire: 2,
  'center judge': 4,
  'head linesman': 8,
  'line judge': 16,
  'side judge': 32,
  'field judge': 64,
  'back judge': 128,
};

/** What each position at work owed on this play, in the order of the rubric. */
export function opportunitiesOf(play: Play, crew: CrewAtWork, rubric: CompiledRubric): Opportunity[] {
  const result: Opportunity[] = [];
  forEachOpportunity(play, crew, rubric, (position, duty, named) => {
    result.push(
      named === position
        ? { position, dutyKey: duty.key }
        : { position, dutyKey: duty.key, coversFor: named },
    );
  });
  return result;
}

/** Whether one duty applied to anybody on a play; unknown when facts are missing. */
export function triggerOf(play: Play, rubric: CompiledRubric, dutyNumber: number): Truth {
  const scratch = new SituationsOfPlay(rubric);
  scratch.turnTo(play);
  return scratch.trigger(rubric.duties[dutyNumber]!);
}
