import type { Fact, Play } from '../play.ts';
import type { Truth } from '../three-valued.ts';

/** A fact derived from a play, by name. */
export interface Situation {
  /** Stable name in rubrics, e.g. `snap-near-goal-line`. */
  readonly key: string;
  /** Completes "when ...": `the ball is snapped at or inside the defense's 5`. */
  readonly clause: string;
  /** Every fact that `decide` may read: adding any other fact cannot change the answer. */
  readonly reads: readonly Fact[];
  /** Pure and total; unknown facts give unknown unless the known ones already decide. */
  readonly decide: (play: Play) => Truth;
  /** Answers false until the log says otherwise. All others never take an answer back when more is logged. */
  readonly falseUntilLogged?: true;
}

/** The same situation, but open while the log says nothing: for whoever asks what could still become true. */
export function openUntilLogged(situation: Situation): Situation {
  if (!situation.falseUntilLogged) return situation;
  const { reads, decide } = situation;
  return {
    ...situation,
    decide: (play) => (reads.some((fact) => play[fact] === undefined) ? 'unknown' : decide(play)),
  };
}
