import { positionsOf, whoCovers } from '../football/crews.ts';
import type { Play, PlayKind } from '../football/play.ts';
import { type CrewSize, type Position, positions } from '../football/positions.ts';
import { type Practices, usualPractices } from '../football/practices.ts';
import {
  openUntilLogged,
  type Situation,
  type SituationKey,
  situationOf,
} from '../football/situations/index.ts';
import { or, type Truth } from '../football/three-valued.ts';
import { type CrewOnField, crewOnField } from '../football/zones/crew-on-field.ts';
import type { Duty } from './duty.ts';
import { namedPositions } from './named-positions.ts';
import { type Selector, selectorOf } from './selectors/index.ts';

/** Who really works a game: its crew size and the positions that are filled. */
export interface CrewAtWork {
  readonly size: CrewSize;
  readonly present: readonly Position[];
}

export function fullCrew(size: CrewSize): CrewAtWork {
  return { size, present: positionsOf(size) };
}

/** One position's share of a duty in a given crew: who is named, and who owes it there. */
interface Share {
  readonly named: Position;
  readonly owedBy: readonly Position[];
}

export interface CompiledDuty {
  readonly duty: Duty;
  readonly selector: Selector;
  /** The selector's number among those of this rubric; 0 is `each`, which asks nothing. */
  readonly selectorNumber: number;
  /** Numbers of situations in `CompiledRubric.situations`. */
  readonly allOf: readonly number[];
  readonly anyOf: readonly number[];
  readonly unless: readonly number[];
}

/** A rubric made ready for many plays. Each situation is numbered, so that a play asks each at most once. */
export interface CompiledRubric {
  readonly duties: readonly CompiledDuty[];
  readonly situations: readonly Situation[];
  readonly practices: Practices;
  readonly fieldByCrew: Map<number, CrewOnField>;
  readonly sharesByCrew: Map<number, readonly (readonly Share[])[]>;
  readonly candidatesByCrew: Map<number, Partial<Record<PlayKind, readonly Candidate[]>>>;
}

/** A duty that a play of some kind may give in some crew. */
interface Candidate {
  readonly number: number;
  readonly compiled: CompiledDuty;
  readonly shares: readonly Share[];
}

/** Compile once per rubric version, with the practices kept beside it, then use for every play. */
export function compileRubric(
  duties: readonly Duty[],
  practices: Practices = usualPractices,
): CompiledRubric {
  const numbers = new Map<SituationKey, number>();
  const numberOf = (key: SituationKey) => {
    const known = numbers.get(key);
    if (known !== undefined) return known;
    numbers.set(key, numbers.size);
    return numbers.size - 1;
  };
  const selectorNumbers = new Map<string, number>([['each', 0]]);
  const selectorNumberOf = (key: string) => {
    const known = selectorNumbers.get(key);
    if (known !== undefined) return known;
    selectorNumbers.set(key, selectorNumbers.size);
    return selectorNumbers.size - 1;
  };
  const compiled = duties.map((duty) => ({
    duty,
    selector: selectorOf(duty.who),
    selectorNumber: selectorNumberOf(duty.who),
    allOf: duty.allOf.map(numberOf),
    anyOf: duty.anyOf.map(numberOf),
    unless: duty.unless.map(numberOf),
  }));
  return {
    duties: compiled,
    situations: [...numbers.keys()].map(situationOf),
    practices,
    fieldByCrew: new Map(),
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

/** Who stands where in this crew; worked out once per make-up of a crew. */
export function fieldOf(rubric: CompiledRubric, crew: CrewAtWork): CrewOnField {
  const makeUp = makeUpOf(crew);
  let field = rubric.fieldByCrew.get(makeUp);
  if (field === undefined) {
    field = crewOnField(crew.present, rubric.practices);
    rubric.fieldByCrew.set(makeUp, field);
  }
  return field;
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
  const situations = new SituationsOfPlay({ ...rubric, situations: rubric.situations.map(openUntilLogged) });
  situations.turnTo({ kind } as Play);
  const candidates = rubric.duties
    .map((compiled, number) => ({ number, compiled, shares: shares[number]! }))
    .filter(
      ({ compiled, shares: some }) =>
        compiled.duty.per === 'play' && some.length > 0 && situations.trigger(compiled) !== false,
    );
  byKind[kind] = candidates;
  return candidates;
}

const positionNumbers = Object.fromEntries(positions.map((position, number) => [position, number])) as Record<
  Position,
  number
>;

const truths = [false, true, 'unknown'] as const;
/** What an answer is kept as; 0 is none yet. */
const kept = (truth: Truth) => (truth === 'unknown' ? 3 : truth ? 2 : 1);

/** Answers every situation of a rubric on one play, and whose each selector says it is, each worked out at most once. */
export class SituationsOfPlay {
  private readonly answers: (Truth | undefined)[];
  private readonly rubric: CompiledRubric;
  private play: Play | undefined;
  /** By selector and position. */
  private readonly selected: Uint8Array;

  constructor(rubric: CompiledRubric) {
    this.rubric = rubric;
    const selectors = rubric.duties.reduce((most, duty) => Math.max(most, duty.selectorNumber), 0) + 1;
    this.selected = new Uint8Array(selectors * positions.length);
    this.answers = new Array(rubric.situations.length).fill(undefined);
  }

  /** Starts on another play; the object is used again so that a season makes no garbage of it. */
  turnTo(play: Play): void {
    this.play = play;
    this.answers.fill(undefined);
    this.selected.fill(0);
  }

  /** Does this official owe the duty, its situations holding? Within one play always asked with the same crew. */
  selects(duty: CompiledDuty, position: Position, field: CrewOnField): Truth {
    if (duty.selectorNumber === 0) return true;
    const at = duty.selectorNumber * positions.length + positionNumbers[position];
    const known = this.selected[at]!;
    if (known !== 0) return truths[known - 1]!;
    const found = duty.selector.selects(position, this.play!, field);
    this.selected[at] = kept(found);
    return found;
  }

  private answer(situation: number): Truth {
    const known = this.answers[situation];
    if (known !== undefined) return known;
    const found = this.rubric.situations[situation]!.decide(this.play!);
    this.answers[situation] = found;
    return found;
  }

  /**
   * What keeps this official from owing the duty on this play, one bit for each of its parts (each situation named, the
   * group of which one is enough, and whose it is): what failed, and what is not known.
   */
  parts(duty: CompiledDuty, position: Position, field: CrewOnField): { failed: number; open: number } {
    let failed = 0;
    let open = 0;
    let bit = 1;
    for (const situation of duty.allOf) {
      const answer = this.answer(situation);
      if (answer === false) failed |= bit;
      else if (answer === 'unknown') open |= bit;
      bit <<= 1;
    }
    for (const situation of duty.unless) {
      const answer = this.answer(situation);
      if (answer === true) failed |= bit;
      else if (answer === 'unknown') open |= bit;
      bit <<= 1;
    }
    if (duty.anyOf.length > 0) {
      const any = or(...duty.anyOf.map((situation) => this.answer(situation)));
      if (any === false) failed |= bit;
      else if (any === 'unknown') open |= bit;
      bit <<= 1;
    }
    const selected = this.selects(duty, position, field);
    if (selected === false) failed |= bit;
    else if (selected === 'unknown') open |= bit;
    return { failed, open };
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
