/**
 * What an entry costs by the keystroke-level model: Card, Moran and Newell, "The keystroke-level model for user
 * performance time with interactive systems", Communications of the ACM 23(7), 1980. Operator times from memory: a key
 * 0.28 s (average typist), pointing 1.1 s, mental preparation 1.35 s. Pointing at one yard of the field is a small
 * target, for which the upper end of their range is taken, 1.5 s.
 */
export const operator = { key: 0.28, tap: 1.1, place: 1.5, decision: 1.35 } as const;

export interface Pace {
  keys: number;
  taps: number;
  /** Touches on the strip of the field. */
  places: number;
  /**
   * One for the play as it was seen, one for each foul and each mark: the words or chips of one of them follow from it
   * without another preparation (the model's rule for what is anticipated).
   */
  decisions: number;
}

/** Seconds by the model. */
export const seconds = ({ keys, taps, places, decisions }: Pace): number =>
  keys * operator.key + taps * operator.tap + places * operator.place + decisions * operator.decision;

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}
