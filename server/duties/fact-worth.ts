import { nothingUnusual } from '../football/nothing-unusual.ts';
import type { Fact, Play } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import { sampleValues } from '../football/sample-values.ts';
import { explain, factsReadBy } from '../football/situations/explain.ts';
import type { Truth } from '../football/three-valued.ts';
import type { CrewOnField } from '../football/zones/crew-on-field.ts';
import {
  type CompiledDuty,
  type CompiledRubric,
  type CrewAtWork,
  candidatesIn,
  fieldOf,
  SituationsOfPlay,
} from './compiled-rubric.ts';
import type { Duty } from './duty.ts';

/** A duty of which nobody can say yet whether these officials owed it on the play. */
interface UndecidedDuty {
  readonly duty: Duty;
  readonly positions: readonly Position[];
  /** The facts any of which would decide it or bring it nearer. */
  readonly missing: readonly Fact[];
}

/** What one more fact would tell of a play. A *pair* is a duty and an official of whom it is undecided. */
interface FactWorth {
  readonly fact: Fact;
  /** Pairs that it decides whatever the answer is. */
  readonly decides: number;
  /** Pairs that it decides on average, the usual answer of a rare fact weighing most: the facts are ordered by this. */
  readonly expected: number;
  /** Pairs that wait for it, alone or with other facts. */
  readonly asks: number;
}

interface OpenDuty {
  readonly compiled: CompiledDuty;
  /** The trigger as it is: true or unknown. */
  readonly trigger: Truth;
  readonly positions: readonly Position[];
}

/** What is open on one play: by duty, those who may owe it. `scratch` is turned to the play. */
function openOn(
  play: Play,
  crew: CrewAtWork,
  rubric: CompiledRubric,
  scratch: SituationsOfPlay,
  found: (compiled: CompiledDuty, trigger: Truth, positions: readonly Position[]) => void,
): void {
  scratch.turnTo(play);
  const field = fieldOf(rubric, crew);
  for (const { compiled, shares } of candidatesIn(rubric, crew, play.kind)) {
    const trigger = scratch.trigger(compiled);
    if (trigger === false) continue;
    let open: Position[] | undefined;
    for (const { owedBy } of shares) {
      for (const position of owedBy) {
        const selects = scratch.selects(compiled, position, field);
        if (selects === false || (trigger === true && selects === true)) continue;
        if (open === undefined) open = [position];
        else if (!open.includes(position)) open.push(position);
      }
    }
    if (open !== undefined) found(compiled, trigger, open);
  }
}

/**
 * How many duties of how many officials the facts of a play leave undecided. Made for a whole log at once: pass
 * `scratch` on from play to play.
 */
export function undecidedCount(
  play: Play,
  crew: CrewAtWork,
  rubric: CompiledRubric,
  scratch: SituationsOfPlay = new SituationsOfPlay(rubric),
): number {
  let count = 0;
  openOn(play, crew, rubric, scratch, (_compiled, _trigger, { length }) => {
    count += length;
  });
  return count;
}

/** The duties that the facts of a play leave undecided, in the order of the rubric, and what they wait for. */
export function undecidedOn(play: Play, crew: CrewAtWork, rubric: CompiledRubric): UndecidedDuty[] {
  const missing = new MissingFacts(play, rubric, fieldOf(rubric, crew));
  return openDuties(play, crew, rubric).map(({ compiled, trigger, positions }) => ({
    duty: compiled.duty,
    positions,
    missing: [...new Set(positions.flatMap((position) => [...missing.of(compiled, position, trigger)]))],
  }));
}

/**
 * The facts worth saying next, those that decide most first. A fact is there as long as a duty waits for it, so the
 * list is empty exactly when nothing that a fact could decide is left.
 */
export function factsByWorth(play: Play, crew: CrewAtWork, rubric: CompiledRubric): FactWorth[] {
  const field = fieldOf(rubric, crew);
  const missing = new MissingFacts(play, rubric, field);
  const waiting = new Map<Fact, { compiled: CompiledDuty; position: Position }[]>();
  for (const { compiled, trigger, positions } of openDuties(play, crew, rubric)) {
    for (const position of positions) {
      for (const fact of missing.of(compiled, position, trigger)) {
        const pairs = waiting.get(fact);
        if (pairs === undefined) waiting.set(fact, [{ compiled, position }]);
        else pairs.push({ compiled, position });
      }
    }
  }
  const scratch = new SituationsOfPlay(rubric);
  const usual = nothingUnusual(play.kind);
  const worths = [...waiting].map(([fact, pairs]): FactWorth => {
    let least = pairs.length;
    let rareSum = 0;
    let rareCount = 0;
    let usually: number | undefined;
    for (const value of answersTo(fact, play, crew)) {
      scratch.turnTo({ ...play, [fact]: value });
      let decided = 0;
      for (const { compiled, position } of pairs) {
        const trigger = scratch.trigger(compiled);
        if (trigger === false) decided++;
        else {
          const selects = scratch.selects(compiled, position, field);
          if (selects === false || (trigger === true && selects === true)) decided++;
        }
      }
      least = Math.min(least, decided);
      if (isUsual(usual, fact, value)) usually = decided;
      else {
        rareSum += decided;
        rareCount++;
      }
    }
    const rarely = rareCount === 0 ? 0 : rareSum / rareCount;
    const expected = usually === undefined ? rarely : usualShare * usually + (1 - usualShare) * rarely;
    return { fact, decides: least, expected, asks: pairs.length };
  });
  return worths.sort((a, b) => b.expected - a.expected || b.decides - a.decides || b.asks - a.asks);
}

/** How often the rare things of `nothing-unusual.ts` do not happen, for the order only. */
const usualShare = 0.9;

function isUsual(usual: Partial<Play>, fact: Fact, value: unknown): boolean {
  return fact === 'fouls' ? (value as unknown[]).length === 0 : fact in usual && usual[fact] === value;
}

function openDuties(play: Play, crew: CrewAtWork, rubric: CompiledRubric): OpenDuty[] {
  const open: OpenDuty[] = [];
  openOn(play, crew, rubric, new SituationsOfPlay(rubric), (compiled, trigger, positions) => {
    open.push({ compiled, trigger, positions });
  });
  return open;
}

/** What can be answered when this fact is asked for: one value on each side of every boundary. */
function answersTo(fact: Fact, play: Play, crew: CrewAtWork): readonly unknown[] {
  if (fact === 'fouls') {
    const reportedBy = crew.present[0];
    return [[], [{ foul: 'holding', by: 'offense', outcome: 'accepted', ...(reportedBy && { reportedBy }) }]];
  }
  if (fact === 'endedBy' || fact === 'ruledBy' || fact === 'clockStoppedBy') return crew.present;
  if (fact === 'kickResult' && play.kind !== 'place kick' && play.kind !== 'try')
    return sampleValues.kickResult.filter((value) => value !== 'good' && value !== 'no good');
  return sampleValues[fact];
}

/** Which facts the undecided parts of a play's duties wait for; each part is looked into once. */
class MissingFacts {
  private readonly play: Play;
  private readonly rubric: CompiledRubric;
  private readonly field: CrewOnField;
  private readonly bySituation: (readonly Fact[] | undefined)[] = [];
  private readonly bySelector = new Map<string, readonly Fact[]>();

  constructor(play: Play, rubric: CompiledRubric, field: CrewOnField) {
    this.play = play;
    this.rubric = rubric;
    this.field = field;
  }

  /** For one duty and official. A trigger already known to hold asks for nothing more. */
  of(compiled: CompiledDuty, position: Position, trigger: Truth): Set<Fact> {
    const all = new Set<Fact>(this.ofSelector(compiled, position));
    if (trigger === true) return all;
    // An alternative that is not known yet is of no matter once another holds; then the trigger waits for the rest.
    const anyHolds = compiled.anyOf.some((situation) => this.decide(situation) === true);
    const parts = [...compiled.allOf, ...compiled.unless, ...(anyHolds ? [] : compiled.anyOf)];
    for (const situation of parts) for (const fact of this.ofSituation(situation)) all.add(fact);
    return all;
  }

  private decide(situation: number): Truth {
    return this.rubric.situations[situation]!.decide(this.play);
  }

  private ofSituation(situation: number): readonly Fact[] {
    const known = this.bySituation[situation];
    if (known !== undefined) return known;
    const found = missingFor((play) => this.rubric.situations[situation]!.decide(play), this.play);
    this.bySituation[situation] = found;
    return found;
  }

  private ofSelector({ selector, selectorNumber }: CompiledDuty, position: Position): readonly Fact[] {
    if (selectorNumber === 0) return [];
    const key = `${selectorNumber} ${position}`;
    const known = this.bySelector.get(key);
    if (known !== undefined) return known;
    const found = missingFor((play) => selector.selects(position, play, this.field), this.play);
    this.bySelector.set(key, found);
    return found;
  }
}

/** The facts that would settle a question; where no single one does, those that it looks at and does not find. */
function missingFor(decide: (play: Play) => Truth, play: Play): readonly Fact[] {
  const { truth, missing } = explain(decide, play);
  if (truth !== 'unknown' || missing.length > 0) return missing;
  const { read } = factsReadBy(play, decide);
  const open = read.filter((fact) => play[fact] === undefined);
  // Fouls can be logged and yet leave open who called one or what came of it.
  return read.includes('fouls') && play.fouls !== undefined ? [...open, 'fouls'] : open;
}
