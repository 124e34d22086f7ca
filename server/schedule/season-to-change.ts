import type { Queryable } from '../database/transaction.ts';
import { conflict } from '../web/problem.ts';
import { lockSeason } from './season-lock.ts';

/** Holds a season that may still be written into until the transaction ends. @throws Problem 409 closed, 404. */
export async function lockSeasonToChange(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  field: string,
): Promise<void> {
  const { name, state } = await lockSeason(client, conferenceId, seasonId);
  if (state !== 'closed') return;
  const message = `Season ${name} is closed: it can only be read. Reopen it on the Seasons page first, if it really is to change.`;
  throw conflict(message, [{ field, message }]);
}
