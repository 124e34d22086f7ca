import type { Finding } from './finding.ts';

/** What a wrong or missed call cost the team that it went against, least first. */
export const consequences = ['none', 'yards', 'possession', 'score'] as const;
export type Consequence = (typeof consequences)[number];

/** By how much a miss of each consequence weighs more (or less) than its duty's weight. */
export type ConsequenceWeights = Readonly<Record<Consequence, number>>;

/** What a season starts with: common practice, no source. */
export const startingConsequenceWeights: ConsequenceWeights = {
  none: 1,
  yards: 1.5,
  possession: 2.5,
  score: 4,
};

export const leastConsequenceWeight = 0.1;
export const mostConsequenceWeight = 20;

/** Misses whose consequence was judged, by what it was. */
export type ConsequenceCounts = Readonly<Record<Consequence, number>>;

/** Whether a consequence can be told of a finding: of a wrong call and of a missed foul. */
export function mayHaveConsequence(finding: Finding): boolean {
  return finding === 'wrong call' || finding === 'missed foul';
}

/**
 * The consequence of a mark after a change of it: what the change says (null takes it away); when it says nothing, what
 * the mark had, where the finding can still have one.
 */
export function consequenceAfter(
  change: { readonly finding: Finding; readonly consequence?: Consequence | null | undefined },
  before: Consequence | null | undefined,
): Consequence | null {
  if (change.consequence !== undefined) return change.consequence;
  return mayHaveConsequence(change.finding) ? (before ?? null) : null;
}

/**
 * What misses cost, in opportunities: each judged one the weight of its consequence, every other exactly 1, whatever
 * the weights are. So a mark without a consequence costs what it did before there were consequences.
 */
export function costOf(notMet: number, judged: ConsequenceCounts, weights: ConsequenceWeights): number {
  let cost = notMet;
  for (const consequence of consequences) {
    if (judged[consequence] > 0) cost += judged[consequence] * (weights[consequence] - 1);
  }
  return cost;
}

/** Orders the consequences of two equally grave findings: one not judged is less than any that was. */
export const consequenceRank = (consequence: Consequence | null | undefined): number =>
  consequence == null ? -1 : consequences.indexOf(consequence);

/** Completes "wrong call, ...". */
export const consequenceInWords: Readonly<Record<Consequence, string>> = {
  none: 'cost nothing',
  yards: 'cost yards',
  possession: 'cost possession',
  score: 'cost a score',
};

/**
 * A finding as people read it, with what it cost where that was judged: "wrong call, cost possession". What is a model
 * is worth showing.
 */
export function findingInWords(finding: string, consequence?: Consequence | null): string {
  const said = finding === 'model' ? 'worth showing' : finding;
  return consequence ? `${said}, ${consequenceInWords[consequence]}` : said;
}

/** Why a finding cannot carry a consequence, with the fix; undefined when it can, or none was given. */
export function unfitConsequence(finding: Finding, consequence?: Consequence | null): string | undefined {
  if (consequence == null || mayHaveConsequence(finding)) return undefined;
  return `"${finding}" has no consequence; only a wrong call or a missed foul has one. Leave it out.`;
}
