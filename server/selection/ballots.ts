import type { Position } from '../football/positions.ts';

export const votes = ['for', 'against', 'abstain'] as const;
export type Vote = (typeof votes)[number];

/** What one member holds of one official for one position of one game. */
export interface Ballot {
  readonly memberId: string;
  readonly gameId: string;
  readonly position: Position;
  readonly officialId: string;
  /** Null: a note only. */
  readonly vote: Vote | null;
  readonly note: string;
}

/** What a committee holds of one official for one position of one game. */
interface Tally {
  readonly officialId: string;
  readonly for: number;
  readonly against: number;
  readonly abstain: number;
  /** Members who declared a conflict, and so neither read nor vote about them. */
  readonly conflicts: number;
  readonly notes: readonly { readonly memberId: string; readonly note: string }[];
}

/** Counts ballots of one position of one game. One on whom nobody voted or wrote is not in it. */
export function tallyOf(
  ballots: readonly Ballot[],
  conflicts: readonly { readonly memberId: string; readonly officialId: string }[],
): Tally[] {
  const officials = [...new Set(ballots.map(({ officialId }) => officialId))];
  return officials.map((officialId) => {
    const own = ballots.filter((one) => one.officialId === officialId);
    const count = (vote: Vote) => own.filter((one) => one.vote === vote).length;
    return {
      officialId,
      for: count('for'),
      against: count('against'),
      abstain: count('abstain'),
      conflicts: new Set(conflicts.filter((one) => one.officialId === officialId).map((one) => one.memberId))
        .size,
      notes: own.flatMap(({ memberId, note }) => (note === '' ? [] : [{ memberId, note }])),
    };
  });
}

/** What stands in the way of opening the ballots of a committee; null where nothing does. */
export function mayOpen(
  members: readonly { readonly sealed: boolean }[],
  reason: string,
): { sentence: string; field: 'reason' | null } | null {
  const sealed = members.filter((one) => one.sealed).length;
  if (members.length === 0) return { sentence: 'This selection has no committee.', field: null };
  if (sealed === members.length) return null;
  if (sealed === 0)
    return { sentence: 'Nobody has sealed a ballot yet, so there is nothing to open.', field: null };
  if (reason !== '') return null;
  return {
    sentence: `${members.length - sealed} of ${members.length} members have not sealed theirs. Opening without them needs a reason; what they wrote so far is not counted.`,
    field: 'reason',
  };
}
