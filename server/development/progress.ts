import { besidePeers, type OfficialBesidePeers } from '../patterns/one-official.ts';
import { type FollowUp, followUp, recursAfterClosing } from '../patterns/recurrence.ts';
import type { DatedCountRow } from '../results/patterns/pattern-counts.ts';
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
  sinceClosing: (OfficialBesidePeers & { recurs: boolean }) | null;
}

/**
 * Splits a point's counts at its days. A game on the day itself counts as before: a conversation held that day is
 * not taken to have changed it.
 *
 * @param rows the duty's counts of everybody at the position
 */
export function progressOf(point: DevelopmentPoint, rows: readonly DatedCountRow[]): Progress {
  const season = besidePeers(rows, point.personId);
  const told = raisedOn(point);
  const closed = closedOn(point);
  const since = (day: string) =>
    besidePeers(
      rows.filter((row) => row.day > day),
      point.personId,
    );
  let comparison: FollowUp | null = null;
  let after: OfficialBesidePeers | null = null;
  if (told !== null) {
    const before = besidePeers(
      rows.filter((row) => row.day <= told),
      point.personId,
    );
    after = since(told);
    // Half a miss more than counted: peers who missed none in few chances are not taken to miss never.
    const { comparable, expected } = season;
    const hopedFor = comparable.opportunities > 0 ? (expected + 0.5) / (comparable.opportunities + 1) : null;
    comparison = followUp(before.own, after.own, after.games, hopedFor);
  }
  const closing = closed === null ? null : since(closed);
  return {
    raisedOn: told,
    followUp: comparison,
    season,
    after,
    sinceClosing: closing && {
      ...closing,
      recurs: recursAfterClosing(closing.gamesWithMisses, closing.pMore),
    },
  };
}
