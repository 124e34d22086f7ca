import { createHash } from 'node:crypto';
import type { Ballot } from '../../selection/ballots.ts';
import type { Basis } from '../committee/basis.ts';
import type { PlaceDecided } from '../committee/decisions.ts';
import type { DeclaredConflict, Member } from '../committee/stores/member-store.ts';
import type { KeptProposal } from '../proposing.ts';
import type { Selection } from '../selection.ts';
import type { Names } from '../stores/names-store.ts';
import type { OfferMade, SelectionSteps, TrailLine } from './stores/record-rows.ts';

/** All that a selection's record says. What members hold is in it only once the ballots are open. */
export interface RecordMaterial {
  readonly conference: string;
  readonly timeZone: string;
  readonly season: { readonly id: string; readonly name: string };
  readonly selection: Selection;
  readonly steps: SelectionSteps;
  readonly names: Names;
  /** What the committee was shown; null where decisions were never begun. */
  readonly basis: Basis | null;
  readonly proposal: {
    readonly proposal: KeptProposal;
    readonly proposedAt: Date;
    readonly proposedBy: string;
  } | null;
  readonly opened: boolean;
  readonly members: readonly Member[];
  readonly conflicts: readonly DeclaredConflict[];
  readonly ballots: readonly Ballot[];
  readonly places: readonly PlaceDecided[];
  readonly offers: readonly OfferMade[];
  readonly trail: readonly TrailLine[];
}

/** Another value where anything that the record says was changed, other than how people, teams and venues are called. */
export const fingerprintOf = ({ names: _, ...material }: RecordMaterial): string =>
  createHash('sha256').update(JSON.stringify(material)).digest('hex').slice(0, 32);

export const nameIn = ({ names }: Pick<RecordMaterial, 'names'>, personId: string | null): string =>
  (personId === null ? undefined : names.people.get(personId)) ?? 'somebody no longer known';
