import { cameBack } from '../patterns/follow-up/came-back.ts';
import type { FollowUp } from '../patterns/follow-up/follow-up.ts';
import { besidePeers, type OfficialBesidePeers, type PeersOfSeason } from '../patterns/one-official.ts';
import { followedSince, type PointCounts } from '../results/patterns/point-counts.ts';
import { closedOn, type DevelopmentPoint, raisedOn } from './point.ts';

/** How a point stands: before and after the first conversation or letter, and since it was closed. */
export interface Progress {
  raisedOn: string | null;
  /** Null until the official was told. */
  followUp: FollowUp | null;
  /** The whole season so far. */
  season: OfficialBesidePeers;
  /** After the official was told, beside peers in the same weeks; null until then. */
  after: OfficialBesidePeers | null;
  /** Null while open. */
  sinceClosing: (OfficialBesidePeers & { recurs: boolean; level: number; looks: number }) | null;
}

/**
 * Splits a point's counts at its days. A game on the day itself counts as before: a conversation held that day is
 * not taken to have changed it.
 *
 * @param counts of everybody at the position
 */
export function progressOf(point: DevelopmentPoint, counts: PointCounts, peers: PeersOfSeason): Progress {
  const { rows } = counts;
  const season = besidePeers(rows, point.personId, peers);
  const told = raisedOn(point);
  const closed = closedOn(point);
  const since = (day: string) =>
    besidePeers(
      rows.filter((row) => row.day > day),
      point.personId,
      peers,
    );
  return {
    raisedOn: told,
    followUp: told === null ? null : followedSince(counts, point.personId, told),
    season,
    after: told === null ? null : since(told),
    sinceClosing:
      closed === null
        ? null
        : { ...since(closed), ...cameBack({ ...counts, official: point.personId, closed }) },
  };
}
