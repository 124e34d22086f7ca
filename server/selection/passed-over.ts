import type { Position } from '../football/positions.ts';
import type { Holds } from './finding.ts';
import type { Choice } from './proposal-problem.ts';
import type { Slot } from './slots.ts';

/** A candidate in one position of one game, as the committee was shown them. */
export interface Compared {
  readonly officialId: string;
  readonly rank: { readonly place: number } | null;
  readonly tier: number | null;
  /** Where a rule is not met, the rule is the reason, and nobody passed them over. What is not known is no reason. */
  readonly eligible: Holds;
}

/** Somebody ranked higher who was not chosen. */
export interface PassedOver {
  readonly officialId: string;
  readonly place: number;
  /** The season's reports do not tell the two apart for sure. */
  readonly sameTier: boolean;
}

/**
 * Who was passed over for a place: everyone ranked higher in its position who fails no rule and is chosen
 * for no place of the selection, nor declined one. Whoever is not ranked stands below all who are.
 *
 * @param chosen all choices of the selection
 * @returns by place
 */
export function passedOver(
  choice: Pick<Choice, 'officialId'> & { readonly slot: Slot; readonly position: Position },
  candidates: readonly Compared[],
  chosen: ReadonlySet<string>,
): PassedOver[] {
  const own = candidates.find(({ officialId }) => officialId === choice.officialId);
  const place = own?.rank?.place ?? Number.POSITIVE_INFINITY;
  return candidates
    .flatMap((one): PassedOver[] =>
      one.rank && one.rank.place < place && one.eligible !== 'not met' && !chosen.has(one.officialId)
        ? [
            {
              officialId: one.officialId,
              place: one.rank.place,
              sameTier: one.tier !== null && one.tier === (own?.tier ?? null),
            },
          ]
        : [],
    )
    .sort((a, b) => a.place - b.place);
}
