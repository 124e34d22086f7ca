import type { Finding } from '../../duties/finding.ts';
import { countsIn } from '../../grading/grade-kinds.ts';
import type { SeasonCount } from './season-counts.ts';

/** Calls as one counts them on the field; `opportunities` is the sum of the rest. */
export interface CallTally {
  opportunities: number;
  /** Right calls and right no-calls, those that nobody had to mark among them. */
  right: number;
  wrong: number;
  /** Fouls that were there and not called. */
  missed: number;
  /** Not right, by marks that tell no longer which of the two. */
  other: number;
}

/** Mechanics: what was done of what was asked. */
export interface MechanicsTally {
  opportunities: number;
  done: number;
  missed: number;
}

type Counted = Pick<SeasonCount, 'gradedAs' | 'opportunities' | 'notCounted' | 'notMet'>;

function sums(counts: readonly Counted[], kind: 'calls' | 'mechanics') {
  const rows = counts.filter((row) => countsIn(kind, row.gradedAs));
  const opportunities = rows.reduce((sum, row) => sum + row.opportunities - row.notCounted, 0);
  const notMet = rows.reduce((sum, row) => sum + row.notMet, 0);
  return { opportunities, notMet };
}

/**
 * @param counts of one official in one position, of a game or a season
 * @param findings of their missed chances there, each chance once
 */
export function callTally(counts: readonly Counted[], findings: readonly Finding[]): CallTally {
  const { opportunities, notMet } = sums(counts, 'calls');
  const wrong = Math.min(notMet, findings.filter((finding) => finding === 'wrong call').length);
  const missed = Math.min(notMet - wrong, findings.filter((finding) => finding === 'missed foul').length);
  return { opportunities, right: opportunities - notMet, wrong, missed, other: notMet - wrong - missed };
}

export function mechanicsTally(counts: readonly Counted[]): MechanicsTally {
  const { opportunities, notMet } = sums(counts, 'mechanics');
  return { opportunities, done: opportunities - notMet, missed: notMet };
}
