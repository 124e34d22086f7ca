import type { Fact, Play } from './play.ts';
import { sampleValues } from './sample-values.ts';
import type { Truth } from './three-valued.ts';

/** Something that must hold on a play, and the facts it may look at. */
export interface Condition {
  readonly reads: readonly Fact[];
  readonly holds: (play: Play) => Truth;
}

/**
 * Finds a play on which all conditions hold, or undefined when there is none.
 *
 * Backtracking over the sample values of the facts that undecided conditions read. Conditions answer *unknown*
 * while facts are missing, so a branch ends as soon as one of them is false; the search then jumps back to a
 * fact that had a part in it (conflict-directed backjumping, Prosser 1993), which keeps contradictions cheap to
 * prove.
 */
export function findExamplePlay(conditions: readonly Condition[]): Play | undefined {
  const play: Partial<Record<Fact, unknown>> = {};
  const isAssigned = (fact: Fact) => play[fact] !== undefined;
  const conflictIn = (condition: Condition) => new Set(condition.reads.filter(isAssigned));

  /** `found`, or a set of assigned facts whose values cannot all stay as they are. */
  function extend(): 'found' | Set<Fact> {
    const next = required.find((fact) => !isAssigned(fact));
    if (next !== undefined) return tryValuesOf(next);
    let undecided: Condition | undefined;
    for (const condition of conditions) {
      const answer = condition.holds(play as Play);
      if (answer === false) return conflictIn(condition);
      if (answer === 'unknown') undecided ??= condition;
    }
    if (undecided === undefined) return 'found';
    const open = undecided.reads.find((fact) => !isAssigned(fact));
    return open === undefined ? conflictIn(undecided) : tryValuesOf(open);
  }

  function tryValuesOf(fact: Fact): 'found' | Set<Fact> {
    const conflict = new Set<Fact>();
    for (const value of sampleValues[fact]) {
      play[fact] = value;
      const outcome = extend();
      if (outcome === 'found') return outcome;
      if (!outcome.has(fact)) {
        delete play[fact];
        return outcome;
      }
      for (const other of outcome) conflict.add(other);
    }
    delete play[fact];
    conflict.delete(fact);
    return conflict;
  }

  if (extend() !== 'found') return undefined;
  return withoutIdleFacts(play as Play, conditions);
}

/** Leaves out what the conditions hold without, so that the example says only what matters. */
function withoutIdleFacts(play: Play, conditions: readonly Condition[]): Play {
  const lean = { ...play };
  for (const fact of Object.keys(play) as Fact[]) {
    if (required.includes(fact)) continue;
    delete lean[fact];
    if (!conditions.every((condition) => condition.holds(lean) === true))
      Object.assign(lean, { [fact]: play[fact] });
  }
  return lean;
}

/** A play must have these two, so they are tried first. */
const required: readonly Fact[] = ['kind', 'spot'];
