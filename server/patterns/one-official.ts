import { ComparedGroup, gamesWith } from './comparison.ts';
import { type CountRow, prepareCounts } from './counts.ts';
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

/** @param rows of one duty, cut and position; all officials, the one asked for included */
export function besidePeers(rows: readonly CountRow[], official: string): OfficialBesidePeers {
  const counts = prepareCounts(rows);
  const group = {
    duty: counts.rows[0]?.duty ?? '',
    situationCut: counts.rows[0]?.situationCut ?? null,
    position: '',
    members: counts.rows.map((_, i) => i),
  };
  const compared = new ComparedGroup(counts, group, counts.official, counts.observer);
  const unit = compared.find(official);
  if (unit < 0) {
    const nothing = { events: 0, opportunities: 0 };
    const none = { own: nothing, games: 0, gamesWithMisses: 0, comparable: nothing, expected: 0 };
    return { ...none, peersRate: null, peerCount: compared.size, pMore: 1 };
  }
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
