import type { ConsequenceWeights } from '../duties/consequence.ts';
import type { Duty } from '../duties/duty.ts';
import type { Code } from '../football/codes.ts';
import type { Practices } from '../football/practices.ts';

export interface RubricVersion {
  readonly id: string;
  readonly number: number;
  readonly note: string;
  readonly createdAt: Date;
  /** Reports filed with it: with one or more it can no longer change. */
  readonly filedReports: number;
  /** The rules book its duties speak of. */
  readonly code: Code;
  /** How the conference works what crews work differently. */
  readonly practices: Practices;
  /** How many times its duty's weight a call of each consequence costs. */
  readonly consequenceWeights: ConsequenceWeights;
}

/** What opportunities are counted by. */
export interface CountedRubric extends PlayingRules {
  readonly duties: Duty[];
}

export interface Rubric extends RubricVersion {
  /** By category, heaviest first. */
  readonly duties: readonly Duty[];
}

/** How a conference plays: what decides who owed what beside the duties themselves. */
export interface PlayingRules {
  readonly code: Code;
  readonly practices: Practices;
}
