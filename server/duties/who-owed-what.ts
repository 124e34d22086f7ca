import { factNames, factValueInWords } from '../football/fact-words.ts';
import type { Fact, Play } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import { explain } from '../football/situations/explain.ts';
import { type SituationKey, situationOf } from '../football/situations/index.ts';
import { or, type Truth } from '../football/three-valued.ts';
import type { CrewOnField } from '../football/zones/crew-on-field.ts';
import {
  type CompiledDuty,
  type CompiledRubric,
  type CrewAtWork,
  fieldOf,
  sharesIn,
} from './compiled-rubric.ts';
import type { Duty } from './duty.ts';
import { triggerOf } from './opportunities.ts';

interface FactInWords {
  readonly fact: Fact;
  readonly name: string;
  readonly value: string;
}

/** One part of the reason: a situation that held (or did not), or which side the duty fell to. */
interface Reason {
  /** `all`: had to be true; `any`: one of several; `unless`: had to be false; `who`: whose it was. */
  readonly part: 'all' | 'any' | 'unless' | 'who';
  readonly clause: string;
  readonly truth: Truth;
  /** The facts that decided it. */
  readonly facts: readonly FactInWords[];
  /** What would have to be logged to know. */
  readonly missing: readonly FactInWords[];
}

interface OwedDuty {
  readonly position: Position;
  readonly coversFor?: Position;
  readonly duty: Duty;
  readonly why: readonly Reason[];
}

/** A duty that may have applied: nobody can say, because facts were not logged. */
interface UndecidedDuty {
  readonly duty: Duty;
  readonly positions: readonly Position[];
  readonly missing: readonly FactInWords[];
}

export interface WhoOwedWhat {
  readonly owed: readonly OwedDuty[];
  readonly undecided: readonly UndecidedDuty[];
}

/** Everything owed on one play with the facts that decided it, and what stayed open and why. */
export function whoOwedWhat(play: Play, crew: CrewAtWork, rubric: CompiledRubric): WhoOwedWhat {
  const shares = sharesIn(rubric, crew);
  const field = fieldOf(rubric, crew);
  const owed: OwedDuty[] = [];
  const undecided: UndecidedDuty[] = [];
  rubric.duties.forEach((compiled, number) => {
    if (compiled.duty.per === 'game') return;
    const trigger = triggerOf(play, rubric, number);
    if (trigger === false) return;
    const open = new Set<Position>();
    const taken = new Set<Position>();
    for (const { named, owedBy } of shares[number]!) {
      for (const position of owedBy) {
        const selected = compiled.selector.selects(position, play, field);
        if (selected === false) continue;
        if (trigger !== true || selected !== true) {
          open.add(position);
          continue;
        }
        if (taken.has(position)) continue;
        taken.add(position);
        owed.push({
          position,
          ...(named === position ? {} : { coversFor: named }),
          duty: compiled.duty,
          why: [...triggerReasons(compiled, play), ...whoReasons(compiled, play, [position], field)],
        });
      }
    }
    const stillOpen = [...open].filter((position) => !taken.has(position));
    if (stillOpen.length > 0) {
      const reasons = [...triggerReasons(compiled, play), ...whoReasons(compiled, play, stillOpen, field)];
      undecided.push({ duty: compiled.duty, positions: stillOpen, missing: missingIn(reasons) });
    }
  });
  return { owed, undecided };
}

function triggerReasons({ duty }: CompiledDuty, play: Play): Reason[] {
  const reason = (part: Reason['part']) => (key: SituationKey) => {
    const { clause, decide } = situationOf(key);
    const { truth, decidedBy, missing } = explain(decide, play);
    return { part, clause, truth, facts: inWords(play, decidedBy), missing: inWords(play, missing) };
  };
  const any = duty.anyOf.map(reason('any'));
  const held = any.filter((one) => one.truth === true);
  return [
    ...duty.allOf.map(reason('all')),
    ...(held.length > 0 ? held : any),
    ...duty.unless.map(reason('unless')),
  ];
}

function whoReasons(
  { selector }: CompiledDuty,
  play: Play,
  asked: readonly Position[],
  field: CrewOnField,
): Reason[] {
  if (selector.key === 'each') return [];
  const { truth, decidedBy, missing } = explain(
    (seen) => or(...asked.map((position) => selector.selects(position, seen, field))),
    play,
  );
  // Where somebody stands by the alignment alone, no fact of the play decided that.
  if (truth === true && decidedBy.length === 0) return [];
  return [
    {
      part: 'who',
      clause: selector.clause,
      truth,
      facts: inWords(play, decidedBy),
      missing: inWords(play, missing),
    },
  ];
}

function missingIn(reasons: readonly Reason[]): FactInWords[] {
  const byFact = new Map(
    reasons
      .filter(({ truth }) => truth === 'unknown')
      .flatMap(({ missing }) => missing.map((one) => [one.fact, one])),
  );
  return [...byFact.values()];
}

function inWords(play: Play, facts: readonly Fact[]): FactInWords[] {
  return facts.map((fact) => ({ fact, name: factNames[fact], value: factValueInWords(play, fact) }));
}

/** `the ball is snapped at or inside the defense's 5 (spot of the snap or kick: opponent's 3)` */
export function reasonInWords(reason: Reason): string {
  const facts = reason.facts.map(({ name, value }) => `${name}: ${value}`).join(', ');
  const clause = reason.part === 'unless' ? `not: ${reason.clause}` : reason.clause;
  return facts === '' ? clause : `${clause} (${facts})`;
}
