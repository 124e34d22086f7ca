import type { PersonInZone } from '../../../accounts/acting.ts';
import type { Queryable } from '../../../database/transaction.ts';
import type { Basis } from '../../committee/basis.ts';
import { placesDecided } from '../../committee/decisions.ts';
import { readOpenedBallots } from '../../committee/stores/ballot-store.ts';
import { readBasis } from '../../committee/stores/basis-store.ts';
import { readConflicts, readMembers } from '../../committee/stores/member-store.ts';
import { readDeclined, readPassOvers } from '../../committee/stores/pass-over-store.ts';
import { readProposal } from '../../proposing.ts';
import { ballotsAreOpen } from '../../selection.ts';
import { readNames } from '../../stores/names-store.ts';
import { readSelection } from '../../stores/selection-rows.ts';
import type { RecordMaterial } from '../record-material.ts';
import { readOffersMade, readSteps, readTrailOf } from './record-rows.ts';

/** Who reads or closes, with their conference's name; a session is one. */
export type Recording = PersonInZone & { readonly conferenceName: string };

/**
 * Reads all that a selection's record says. Of ballots and conflicts it reads nothing before the ballots are open.
 * @param lock holds the selection until the transaction ends
 * @throws Problem 404
 */
export async function readRecordMaterial(
  db: Queryable,
  { conferenceId, conferenceName, timeZone }: Recording,
  selectionId: string,
  lock: 'lock' | null = null,
): Promise<RecordMaterial> {
  const selection = await readSelection(db, conferenceId, selectionId, lock);
  const basis = await readBasis(db, conferenceId, selectionId);
  const opened = ballotsAreOpen(selection);
  const { rows } = await db.query<{ id: string; name: string }>(
    'SELECT id, name FROM season WHERE conference_id = $1 AND id = $2',
    [conferenceId, selection.seasonId],
  );
  return {
    ...{ conference: conferenceName, timeZone, season: rows[0]!, selection, basis, opened },
    steps: await readSteps(db, conferenceId, selectionId),
    names: await readNames(db, conferenceId),
    proposal: await readProposal(db, conferenceId, selectionId),
    members: await readMembers(db, conferenceId, selectionId),
    conflicts: opened ? await readConflicts(db, conferenceId, selectionId) : [],
    ballots: await readOpenedBallots(db, conferenceId, selection),
    places: placesDecided(
      selection,
      basis ?? nothingShown,
      await readPassOvers(db, conferenceId, selectionId),
      await readDeclined(db, conferenceId, selectionId),
    ),
    offers: await readOffersMade(db, conferenceId, selectionId),
    trail: await readTrailOf(db, conferenceId, selectionId),
  };
}

/** Nobody passes over whom nobody was shown. */
const nothingShown: Basis = {
  ...{ takenAt: '', inputRevision: 0, model: '', otherModel: '', top: 0, week: null, games: [] },
};
