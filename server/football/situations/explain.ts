import type { Fact, Play } from '../play.ts';
import { sampleValues } from '../sample-values.ts';
import type { Truth } from '../three-valued.ts';

/** An answer with the facts behind it. */
interface Explanation {
  readonly truth: Truth;
  /** A smallest set of known facts that decides it, in the order they were looked at; empty when unknown. */
  readonly decidedBy: readonly Fact[];
  /** The facts any one of which could settle it, were it logged; empty when known. */
  readonly missing: readonly Fact[];
}

/** Runs anything that reads a play and notes which facts it looked at, in order. */
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

/** Explains any three-valued question about a play. */
export function explain(decide: (play: Play) => Truth, play: Play): Explanation {
  const { result: truth, read } = factsReadBy(play, decide);
  if (truth === 'unknown') {
    const missing = read.filter(
      (fact) =>
        play[fact] === undefined &&
        fact !== 'clockAbout' && // nobody is asked for an estimate
        sampleValues[fact].some((value) => decide({ ...play, [fact]: value }) !== 'unknown'),
    );
    return { truth, decidedBy: [], missing };
  }
  // Leave out, last looked at first, every fact without which the answer is the same.
  const decidedBy = read.filter((fact) => play[fact] !== undefined);
  const kept: Play = { kind: play.kind, spot: play.spot };
  for (const fact of decidedBy) Object.assign(kept, { [fact]: play[fact] });
  for (const fact of [...decidedBy].reverse()) {
    if (fact === 'kind' || fact === 'spot') continue; // a play always has these
    delete kept[fact];
    if (decide(kept) !== truth) Object.assign(kept, { [fact]: play[fact] });
  }
  return { truth, decidedBy: decidedBy.filter((fact) => kept[fact] !== undefined), missing: [] };
}
