import { type ConsequenceCounts, type ConsequenceWeights, costOf } from '../../duties/consequence.ts';

/** Misses whose consequence was judged, with the weights of the version that they are counted under. */
export interface JudgedCalls {
  counts: ConsequenceCounts;
  weights: ConsequenceWeights;
}

/**
 * SQL: the `JudgedCalls` of counts (their `cost_...` columns) and of a rubric version, or null where nothing was
 * judged, as nearly everywhere.
 */
export const judgedCalls = (counts: string, version: string) => `
  CASE WHEN ${counts}.cost_none + ${counts}.cost_yards + ${counts}.cost_possession + ${counts}.cost_score > 0
       THEN jsonb_build_object(
              'counts', jsonb_build_object('none', ${counts}.cost_none, 'yards', ${counts}.cost_yards,
                          'possession', ${counts}.cost_possession, 'score', ${counts}.cost_score),
              'weights', jsonb_build_object('none', ${version}.none_weight, 'yards', ${version}.yards_weight,
                           'possession', ${version}.possession_weight, 'score', ${version}.score_weight)) END`;

/** What misses cost, in opportunities. */
export const costWith = (notMet: number, judged: JudgedCalls | null): number =>
  judged === null ? notMet : costOf(notMet, judged.counts, judged.weights);
