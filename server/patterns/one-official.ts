import { ComparedGroup } from './comparison.ts';
import { type CountRow, gamesWith, prepareCounts } from './counts.ts';
import type { Rate } from './exact-tests.ts';

/** One official at one duty (or one cut of it) beside peers, over the rows given: part of a season, as a rule. */
export interface OfficialBesidePeers {
  own: Rate;
  /** Games in which the duty came up, and those in which it was missed. */
  games: number;
  gamesWithMisses: number;
  comparable: Rate;
  /** Misses of peers in the comparable chances, same observers. */
  expected: number;
  /** Peers' rate as the same observers marked it; null when nobody compares. */
  peersRate: number | null;
  peerCount: number;
  /** One-sided exact p-value of missing more than peers; 1 when nobody compares. */
  pMore: number;
}

/** Who are no peers at a duty, and the chances beside the rest that are enough: as the season's patterns were found. */
export interface PeersOfSeason {
  leftOut: ReadonlySet<string>;
  minimumOpportunities: number;
}

const allArePeers: PeersOfSeason = { leftOut: new Set(), minimumOpportunities: 0 };

/**
 * Given the season's peers, its figures are those of the pattern's page.
 *
 * @param rows of one duty, cut and position; all officials, the one asked for included
 */
export function besidePeers(
  rows: readonly CountRow[],
  official: string,
  { leftOut, minimumOpportunities }: PeersOfSeason = allArePeers,
): OfficialBesidePeers {
  const counts = prepareCounts(rows);
  const group = {
    duty: counts.rows[0]?.duty ?? '',
    situationCut: counts.rows[0]?.situationCut ?? null,
    position: '',
    members: counts.rows.map((_, i) => i),
  };
  const everybody = new ComparedGroup(counts, group, counts.official, counts.observer);
  const unit = everybody.find(official);
  if (unit < 0) {
    const nothing = { events: 0, opportunities: 0 };
    const none = { own: nothing, games: 0, gamesWithMisses: 0, comparable: nothing, expected: 0 };
    return { ...none, peersRate: null, peerCount: everybody.size, pMore: 1 };
  }
  const beside = everybody.without(leftOut);
  const enough = beside.compare(unit, 'misses').comparable.opportunities >= minimumOpportunities;
  const compared = enough ? beside : everybody;
  const { own, comparable, expected, othersCount } = compared.compare(unit, 'misses');
  const ownRows = compared.rowsOf(unit);
  return {
    own,
    games: gamesWith(ownRows, 'opportunities'),
    gamesWithMisses: gamesWith(ownRows, 'misses'),
    comparable,
    expected,
    peersRate: comparable.opportunities > 0 ? expected / comparable.opportunities : null,
    peerCount: othersCount,
    pMore: compared.exactPValue(unit, 'misses', 'more'),
  };
}
