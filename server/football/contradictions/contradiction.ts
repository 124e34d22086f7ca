import type { Fact, Play } from '../play.ts';

/** Two things in a play log that cannot both be true. The play is kept as it is until somebody mends it. */
export interface Contradiction {
  /** The play it is shown at, by its number in the log. */
  readonly number: number;
  /** The fact that most likely has to be mended. */
  readonly fact: Fact;
  /** What contradicts, in one sentence. */
  readonly says: string;
  /** How to mend it, in one sentence. */
  readonly fix: string;
}

export interface NumberedPlay {
  readonly number: number;
  readonly play: Play;
}

export type Found = Omit<Contradiction, 'number'>;

/**
 * Is it certain that no penalty moved the ball, repeated the down or took a score back? Not while nobody logged
 * whether there was a foul, or what came of it.
 */
export const certainlyNoPenalty = ({ fouls }: Play): boolean =>
  fouls?.every(({ outcome }) => outcome === 'declined' || outcome === 'picked up') ?? false;
