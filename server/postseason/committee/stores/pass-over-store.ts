import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import type { Slot } from '../../../selection/slots.ts';
import { conflict, invalid, notFound, Problem } from '../../../web/problem.ts';
import { changing } from '../../stores/selection-store.ts';
import type { Basis } from '../basis.ts';
import { asShown, type PassOver, placesDecided } from '../decisions.ts';
import { readConflicts } from './member-store.ts';

export async function readPassOvers(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<PassOver[]> {
  const { rows } = await db.query<Omit<PassOver, 'recordedAt'> & { recordedAt: Date }>(
    `SELECT game_id AS "gameId", slot, official_id AS "officialId", chosen_id AS "chosenId", kind, reason,
            recorded_by AS "recordedBy", recorded_at AS "recordedAt"
       FROM selection_pass_over WHERE conference_id = $1 AND selection_id = $2 ORDER BY recorded_at, official_id`,
    [conferenceId, selectionId],
  );
  return rows.map((row) => ({ ...row, recordedAt: row.recordedAt.toISOString() }));
}

/** Officials who declined an offer of this selection. */
export async function readDeclined(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<Set<string>> {
  const { rows } = await db.query<{ id: string }>(
    `SELECT DISTINCT official_id AS id FROM selection_offer
      WHERE conference_id = $1 AND selection_id = $2 AND answer = 'declined'`,
    [conferenceId, selectionId],
  );
  return new Set(rows.map(({ id }) => id));
}

interface ReasonsTyped {
  /** What the page showed of the place (`asShown`): refused where somebody changed it meanwhile. */
  readonly seen: string;
  /** Why the one chosen. */
  readonly reason: string;
  /** Why not each of these; one without words is left as it is. */
  readonly over: readonly { readonly officialId: string; readonly reason: string }[];
}

/**
 * Keeps why one was chosen for a place, and why those ranked higher were not.
 * @throws Problem 409 when the selection is closed or somebody changed it meanwhile; 400 naming the field without a reason
 */
export async function keepReasons(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  { gameId, slot }: { gameId: string; slot: Slot },
  typed: ReasonsTyped,
  basis: Basis,
): Promise<void> {
  const { conferenceId } = acting;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: reasons recorded', async (selection) => {
      const recorded = await readPassOvers(client, conferenceId, selectionId);
      const declined = await readDeclined(client, conferenceId, selectionId);
      const place = placesDecided(selection, basis, recorded, declined).find(
        (one) => one.game.id === gameId && one.slot === slot,
      );
      if (!place) throw notFound('place of the game');
      const { choice } = place;
      if (!choice) throw conflict('Nobody is chosen for this place any more; choose somebody first.');
      // Two who decide at once: the second sees what the first did, and keeps what they typed.
      if (asShown(place) !== typed.seen)
        throw new Problem(
          409,
          'Conflict',
          'Somebody else decided on this place meanwhile. What you typed is still here, beside what they kept; look whether it holds, then keep yours again.',
        );
      await mustBeUntiedTo(client, acting, selectionId, [
        choice.officialId,
        ...place.passedOver.map((one) => one.officialId),
      ]);
      if (typed.reason === '')
        throw invalid([{ field: 'reason', message: 'say why this official was chosen' }]);
      await client.query(
        `UPDATE selection_choice SET reason = $4 WHERE conference_id = $1 AND game_id = $2 AND slot = $3`,
        [conferenceId, gameId, slot, typed.reason],
      );
      for (const { officialId, reason } of typed.over) {
        if (reason === '') continue;
        const over = place.passedOver.find((one) => one.officialId === officialId);
        if (!over) continue;
        await putPassOver(client, acting, selectionId, choice, { ...over, reason });
      }
      return {
        before: { reason: choice.reason },
        after: { gameId, slot, reason: typed.reason, over: typed.over.filter(({ reason }) => reason !== '') },
      };
    }),
  );
}

/**
 * Whoever declared a conflict with one of those compared for a place does not decide on it.
 * @throws Problem 409
 */
export async function mustBeUntiedTo(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  selectionId: string,
  compared: readonly string[],
): Promise<void> {
  const tied = (await readConflicts(client, conferenceId, selectionId)).some(
    ({ memberId, officialId }) => memberId === personId && compared.includes(officialId),
  );
  if (tied)
    throw conflict(
      'You declared a conflict with one of those compared here: another coordinator decides on this place.',
    );
}

/** Keeps why one was passed over for a choice, in place of what was kept for another. */
export async function putPassOver(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  selectionId: string,
  choice: { readonly gameId: string; readonly slot: Slot; readonly officialId: string },
  over: { readonly officialId: string; readonly sameTier: boolean; readonly reason: string },
): Promise<void> {
  await client.query(
    `INSERT INTO selection_pass_over
       (conference_id, selection_id, game_id, slot, official_id, chosen_id, kind, reason, recorded_by)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
     ON CONFLICT (conference_id, game_id, slot, official_id) DO UPDATE
       SET chosen_id = excluded.chosen_id, kind = excluded.kind, reason = excluded.reason,
           recorded_by = excluded.recorded_by, recorded_at = now()`,
    [
      ...[conferenceId, selectionId, choice.gameId, choice.slot, over.officialId, choice.officialId],
      ...[over.sameTier ? 'same tier' : 'other', over.reason, personId],
    ],
  );
}
