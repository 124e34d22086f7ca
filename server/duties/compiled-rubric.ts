import { positionsOf, whoCovers } from '../football/crews.ts';
import type { Play, PlayKind } from '../football/play.ts';
import { type CrewSize, type Position, positions } from '../football/positions.ts';
import { type Situation, type SituationKey, situationOf } from '../football/situations/index.ts';
import type { Truth } from '../football/three-valued.ts';
import { type Duty, namedPositions } from './duty.ts';
import { type Selector, selectorOf } from './selectors.ts';

/** Who really works a game: its crew size and the positions that are filled. */
export interface CrewAtWork {
  readonly size: CrewSize;
  readonly present: readonly Position[];
}

export function fullCrew(size: CrewSize): CrewAtWork {
  return { size, present: positionsOf(size) };
}

/** One position's share of a duty in a given crew: who is named, and who owes it there. */
export interface Share {
  readonly named: Position;
  readonly owedBy: readonly Position[];
}

export interface CompiledDuty {
  readonly duty: Duty;
  readonly selector: Selector;
  /** Numbers of situations in `CompiledRubric.situations`. */
  readonly allOf: readonly number[];
  readonly anyOf: readonly number[];
  readonly unless: readonly number[];
}

/** A rubric made ready for many plays. Each situation is numbered, so that a play asks each at most once. */
export interface CompiledRubric {
  readonly duties: readonly CompiledDuty[];
  readonly situations: readonly Situation[];
  readonly sharesByCrew: Map<number, readonly (readonly Share[])[]>;
  readonly candidatesByCrew: Map<number, Partial<Record<PlayKind, readonly Candidate[]>>>;
}

/** A duty that a play of some kind may give in some crew. */
export interface Candidate {
  readonly number: number;
  readonly compiled: CompiledDuty;
  readonly shares: readonly Share[];
}

/** Compile once per rubric version, then use for every play. */
export function compileRubric(duties: readonly Duty[]): CompiledRubric {
  const numbers = new Map<SituationKey, number>();
  const numberOf = (key: SituationKey) => {
    const known = numbers.get(key);
    if (known !== undefined) return known;
    numbers.set(key, numbers.size);
    return numbers.size - 1;
  };
  const compiled = duties.map((duty) => ({
    duty,
    selector: selectorOf(duty.who),
    allOf: duty.allOf.map(numberOf),
    anyOf: duty.anyOf.map(numberOf),
    unless: duty.unless.map(numberOf),
  }));
  return {
    duties: compiled,
    situations: [...numbers.keys()].map(situationOf),
    sharesByCrew: new Map(),
    candidatesByCrew: new Map(),
  };
}

/** Who owes each duty in this crew, in the order of `rubric.duties`; worked out once per make-up of a crew. */
export function sharesIn(rubric: CompiledRubric, crew: CrewAtWork): readonly (readonly Share[])[] {
  const makeUp = makeUpOf(crew);
  const known = rubric.sharesByCrew.get(makeUp);
  if (known !== undefined) return known;
  const present = new Set(crew.present);
  const shares = rubric.duties.map(({ duty }) =>
    duty.crewSizes.includes(crew.size)
      ? namedPositions(duty, crew.size).map((named) => ({ named, owedBy: whoCovers(named, present) }))
      : [],
  );
  rubric.sharesByCrew.set(makeUp, shares);
  return shares;
}

/** Size and filled positions as one number. */
function makeUpOf(crew: CrewAtWork): number {
  let makeUp = crew.size;
  for (const position of crew.present) makeUp |= 1 << (positions.indexOf(position) + 4);
  return makeUp;
}

/**
 * The duties that a play of this kind may give in this crew. A duty whose situations are false when only the kind
 * is known stays false whatever else is logged (facts never take back an answer), so it need not be asked again.
 */
export function candidatesIn(rubric: CompiledRubric, crew: CrewAtWork, kind: PlayKind): readonly Candidate[] {
  const makeUp = makeUpOf(crew);
  let byKind = rubric.candidatesByCrew.get(makeUp);
  if (byKind === undefined) {
    byKind = {};
    rubric.candidatesByCrew.set(makeUp, byKind);
  }
  const known = byKind[kind];
  if (known !== undefined) return known;
  const shares = sharesIn(rubric, crew);
  const situations = new SituationsOfPlay(rubric);
  situations.turnTo({ kind } as Play);
  const candidates = rubric.duties
    .map((compiled, number) => ({ number, compiled, shares: shares[number]! }))
    .filter((candidate) => candidate.shares.length > 0 && situations.trigger(candidate.compiled) !== false);
  byKind[kind] = candidates;
  return candidates;
}

/** Answers every situation of a rubric on one play, each worked out at most once. */
export class SituationsOfPlay {
  private readonly answers: (Truth | undefined)[];
  private readonly rubric: CompiledRubric;
  private play: Play | undefined;

  constructor(rubric: CompiledRubric) {
    this.rubric = rubric;
    this.answers = new Array(rubric.situations.length).fill(undefined);
  }

  /** Starts on another play; the object is used again so that a season makes no garbage of it. */
  turnTo(play: Play): void {
    this.play = play;
    this.answers.fill(undefined);
  }

  private answer(situation: number): Truth {
    const known = this.answers[situation];
    if (known !== undefined) return known;
    const found = this.rubric.situations[situation]!.decide(this.play!);
    this.answers[situation] = found;
    return found;
  }

  /** Do the situations that trigger this duty hold? */
  trigger(duty: CompiledDuty): Truth {
    let result: Truth = true;
    for (const situation of duty.allOf) {
      const answer = this.answer(situation);
      if (answer === false) return false;
      if (answer === 'unknown') result = 'unknown';
    }
    for (const situation of duty.unless) {
      const answer = this.answer(situation);
      if (answer === true) return false;
      if (answer === 'unknown') result = 'unknown';
    }
    if (duty.anyOf.length === 0) return result;
    let any: Truth = false;
    for (const situation of duty.anyOf) {
      const answer = this.answer(situation);
      if (answer === true) return result;
      if (answer === 'unknown') any = 'unknown';
    }
    return any;
  }
}
