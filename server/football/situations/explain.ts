import type { Fact, Play } from '../play.ts';
import type { Truth } from '../three-valued.ts';
import type { Situation } from './situation.ts';

export interface Explanation {
  readonly situation: string;
  readonly clause: string;
  readonly truth: Truth;
  /** The known facts that decided it, in the order they were looked at. */
  readonly decidedBy: readonly Fact[];
  /** The facts that would have to be logged before it is known. */
  readonly missing: readonly Fact[];
}

/** Runs anything that reads a play and notes which facts it looked at. */
export function factsReadBy<T>(play: Play, read: (play: Play) => T): { result: T; read: Fact[] } {
  const seen = new Set<Fact>();
  const watched = new Proxy(play, {
    get(target, property) {
      seen.add(property as Fact);
      return Reflect.get(target, property);
    },
  });
  return { result: read(watched), read: [...seen] };
}

/** Whether a situation holds on a play, and the facts that say so. */
export function explainSituation(situation: Situation, play: Play): Explanation {
  const { result, read } = factsReadBy(play, situation.decide);
  return {
    situation: situation.key,
    clause: situation.clause,
    truth: result,
    decidedBy: read.filter((fact) => play[fact] !== undefined),
    missing: result === 'unknown' ? read.filter((fact) => play[fact] === undefined) : [],
  };
}
