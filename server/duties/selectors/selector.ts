import type { Fact, Play } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import type { Truth } from '../../football/three-valued.ts';
import type { CrewOnField } from '../../football/zones/crew-on-field.ts';

/** Which of a duty's officials owe it on a given play. */
export interface Selector {
  /** Stable name in rubrics. */
  readonly key: string;
  /** For forms. */
  readonly label: string;
  /** After the official in a sentence (`the wing on the side ...`); empty for everyone. */
  readonly clause: string;
  /** Every fact that `selects` may read. */
  readonly reads: readonly Fact[];
  /** Asked about an official who is really there, also when that official covers for another. */
  readonly selects: (position: Position, play: Play, crew: CrewOnField) => Truth;
}
