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
}
