import type { Code } from '../codes.ts';
import type { Position } from '../positions.ts';
import type { Side } from '../sides.ts';

/** What is known of the game when a line of words is read. */
export interface SaidContext {
  readonly code: Code;
  /** What each team is called, the usual short name first. */
  readonly teams: { readonly home: readonly string[]; readonly visitor: readonly string[] };
  readonly crew: readonly Position[];
  /** Whose sideline is at the left hand of the offense on this play; the head linesman's when left out. */
  readonly left?: Side;
}
