/** What the log of a report gives of a duty, or of several together. */
export interface Decided {
  /** Chances that count, and those set aside because too little is decided. */
  readonly opportunities: number;
  readonly setAside: number;
  /** Chances that the plays left open probably hold. */
  readonly likely: number;
}

/** A conference's setting when nobody has chosen another. */
export const usualDecidedShare = 0.8;

/** Of the chances that there probably were, the share that the log gives: between 0 and 1; 1 where nothing is open. */
export function decidedShare({ opportunities, setAside, likely }: Decided): number {
  return likely === 0 ? 1 : (opportunities + setAside) / (opportunities + setAside + likely);
}

/** Whether the log gives enough of a duty for its count to be believed. */
export function enoughDecided(row: Decided, least: number): boolean {
  return decidedShare(row) >= least;
}
