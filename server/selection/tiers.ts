import type { GradedIn } from './candidate.ts';

/** How tiers are made, as pages and records say it. */
export const tierRule =
  'Officials of a position whose rank intervals overlap stand in one tier, and so do all who are linked by such overlaps: a new tier begins only where every interval above ends before every interval below begins. Intervals hold 90 percent of the ranks that the season’s uncertainty leaves possible. A tier is not a rank: within one, the season’s reports do not tell officials apart for sure.';

/**
 * The tiers of one position, the best first; within each by place, which says little. Who is not ranked is in none.
 * @param graded officials graded in one position
 */
export function tiersOf<Graded extends Pick<GradedIn, 'rank'>>(graded: readonly Graded[]): Graded[][] {
  const ranked = graded.filter(hasRank).sort((a, b) => a.rank.low - b.rank.low || a.rank.high - b.rank.high);
  const tiers: (typeof ranked)[] = [];
  let reach = -Infinity;
  for (const one of ranked) {
    // In the order in which intervals begin, the next one begins a tier when it begins beyond all ends so far.
    if (one.rank.low > reach) tiers.push([]);
    tiers.at(-1)?.push(one);
    reach = Math.max(reach, one.rank.high);
  }
  return tiers.map((tier) => tier.sort((a, b) => a.rank.place - b.rank.place));
}

function hasRank<Graded extends Pick<GradedIn, 'rank'>>(
  graded: Graded,
): graded is Graded & { rank: NonNullable<Graded['rank']> } {
  return graded.rank !== null;
}

/** The number of each ranked official's tier, the best 1. */
export function tierNumbers(graded: readonly GradedIn[]): Map<string, number> {
  return new Map(
    tiersOf(graded).flatMap((tier, at) => tier.map(({ officialId }) => [officialId, at + 1] as const)),
  );
}
