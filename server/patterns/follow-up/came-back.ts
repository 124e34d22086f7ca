import { followUpLevel } from './follow-up.ts';
import { type DatedCount, levelsNeeded, looksOf } from './looks.ts';
import type { OfficialSpread } from './official-spread.ts';
import { normalOnGrid, ownLevel } from './own-level.ts';
import { tailsOf } from './unchanged.ts';

/** Games since with a miss before a closed point opens again: one miss alone is shown but opens nothing. */
const fewestGamesWithMisses = 2;

interface Closed {
  rows: readonly DatedCount[];
  official: string;
  closed: string;
  spread: OfficialSpread;
  lastWeek: number;
}

interface CameBack {
  recurs: boolean;
  /** One-sided p-value of missing so much more than peers; 1 when nobody compares. */
  pMore: number;
  level: number;
  looks: number;
}

/**
 * Whether a closed point opens again: since it was closed, the duty was missed in at least two games, and more often
 * than by peers whom the same observers saw, beyond chance. Looked at after every game like an open point, so the same
 * bounds hold: an official like the peers is opened again with probability 0.05 at most in a season.
 *
 * @param rows the duty's counts at the position, everybody's
 * @param closed games after this day count
 */
export function cameBack({ rows, official, closed, spread, lastWeek }: Closed): CameBack {
  const since = rows.filter((row) => row.official === official && row.day > closed && row.opportunities > 0);
  const peers = rows.filter((row) => row.official !== official && row.opportunities > 0);
  if (since.length === 0) return { recurs: false, pMore: 1, level: 0, looks: 0 };
  const looks = looksOf(since, null, Math.min(...since.map(({ week }) => week)), lastWeek);
  const needed = levelsNeeded(looks, followUpLevel).latest;
  if (peers.length === 0) return { recurs: false, pMore: 1, level: needed, looks: looks.length };
  const level = ownLevel(since, peers, spread);
  const variance = spread.gameVariance * level.gameShare;
  const pMore = tailsOf(level, [normalOnGrid(0, variance)]).more;
  const games = new Set(since.filter(({ misses }) => misses > 0).map(({ game }) => game)).size;
  return {
    recurs: games >= fewestGamesWithMisses && pMore <= needed,
    pMore,
    level: needed,
    looks: looks.length,
  };
}
