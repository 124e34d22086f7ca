import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { positionsOf } from '../../football/crews.ts';
import type { Choice } from '../../selection/proposal-problem.ts';
import { isAlternate, type Slot, slotsOf } from '../../selection/slots.ts';
import { day } from '../../web/format.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import { mustNotBeOffered } from '../offers/stores/places-held.ts';
import type { ChoiceTyped, Selection } from '../selection.ts';
import { gameOf } from './game-store.ts';
import { changing } from './selection-store.ts';

/**
 * Chooses an official for a place, in place of whoever was chosen for it. Rules leave nobody out here: people decide, and
 * say why.
 * @throws Problem 404 for no such game or place; 400 naming the field when there is no such official, or the position is not
 *   the place's; 409 when the selection is closed, the place stands offered to somebody else, or the official is at another
 *   game that day, with both named
 */
export async function choose(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  { gameId, slot }: { gameId: string; slot: Slot },
  typed: ChoiceTyped,
): Promise<void> {
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: official chosen', async (selection) => {
      const choice: Choice = { gameId, slot, position: typed.position, officialId: typed.officialId };
      const before = selection.choices.find((one) => one.gameId === gameId && one.slot === slot);
      if (before?.officialId === choice.officialId && before.position === choice.position) {
        if (before.reason === typed.reason) return null;
      } else await mustNotBeOffered(client, acting.conferenceId, { gameId, slot });
      await putChoice(client, acting, selection, choice, typed.reason);
      return { before, after: { ...choice, reason: typed.reason } };
    }),
  );
}

/** Takes over a proposal's places that are still free. @returns how many; those who are no longer free are left out */
export async function chooseProposed(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  proposed: readonly Choice[],
): Promise<number> {
  let taken = 0;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: proposal taken over', async (selection) => {
      const free = proposed.filter(
        (one) =>
          selection.games.some(({ id }) => id === one.gameId) &&
          !selection.choices.some((other) => other.gameId === one.gameId && other.slot === one.slot),
      );
      for (const choice of free) await putChoice(client, acting, selection, choice, '');
      taken = free.length;
      return free.length === 0 ? null : { after: { choices: free } };
    }),
  );
  return taken;
}

/** Frees a place. @throws Problem 404 when nobody is chosen for it, 409 when the selection is closed or the place stands offered */
export async function unchoose(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  { gameId, slot }: { gameId: string; slot: Slot },
): Promise<void> {
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: choice taken back', async (selection) => {
      const before = selection.choices.find((one) => one.gameId === gameId && one.slot === slot);
      if (!before) throw notFound('choice');
      await mustNotBeOffered(client, acting.conferenceId, { gameId, slot });
      await client.query(
        'DELETE FROM selection_choice WHERE conference_id = $1 AND selection_id = $2 AND game_id = $3 AND slot = $4',
        [acting.conferenceId, selectionId, gameId, slot],
      );
      return { before };
    }),
  );
}

/**
 * Writes a choice, in place of whoever was chosen for the place, in a transaction that holds the selection.
 * @throws Problem as `choose` does
 */
export async function putChoice(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  selection: Selection,
  { gameId, slot, position, officialId }: Choice,
  reason: string,
): Promise<void> {
  const game = gameOf(selection, gameId);
  const positions = positionsOf(game.crewSize);
  if (!slotsOf({ ...game, positions }).includes(slot)) throw notFound('place of the game');
  if (isAlternate(slot) ? !positions.includes(position) : position !== slot)
    throw invalid([
      {
        field: 'position',
        message: isAlternate(slot) ? 'is not a position of this game' : `must be ${slot}, the place itself`,
      },
    ]);
  const { rows } = await client.query<{ name: string; official: boolean }>(
    `SELECT p.given_name || ' ' || p.family_name AS name,
            EXISTS (SELECT FROM person_role r WHERE r.conference_id = $1 AND r.person_id = p.id AND r.role = 'official') AS official
       FROM person p WHERE p.conference_id = $1 AND p.id = $2`,
    [conferenceId, officialId],
  );
  const [who] = rows;
  if (!who?.official)
    throw invalid([
      { field: 'officialId', message: 'is no official of this conference; choose one of its officials' },
    ]);
  await mustBeUntied(client, { conferenceId, personId }, selection.id, { officialId, name: who.name });
  await mustBeFree(
    client,
    conferenceId,
    { officialId, name: who.name, playedOn: game.playedOn },
    { gameId, slot },
  );
  await client.query(
    `INSERT INTO selection_choice
       (conference_id, selection_id, game_id, slot, position, official_id, played_on, reason, chosen_by)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
     ON CONFLICT (conference_id, game_id, slot) DO UPDATE
       SET position = excluded.position, official_id = excluded.official_id, reason = excluded.reason,
           chosen_by = excluded.chosen_by, chosen_at = now()`,
    [conferenceId, selection.id, gameId, slot, position, officialId, game.playedOn, reason, personId],
  );
}

/** Whoever declared a conflict with an official neither chooses them nor decides on them. */
async function mustBeUntied(
  client: Queryable,
  { conferenceId, personId }: Pick<PersonActing, 'conferenceId' | 'personId'>,
  selectionId: string,
  { officialId, name }: { officialId: string; name: string },
): Promise<void> {
  const { rowCount } = await client.query(
    `SELECT FROM selection_conflict WHERE conference_id = $1 AND selection_id = $2 AND member_id = $3 AND official_id = $4`,
    [conferenceId, selectionId, personId, officialId],
  );
  if (rowCount !== 0)
    throw conflict(`You declared a conflict with ${name}: another coordinator decides on them.`);
}

/** One who is chosen elsewhere that day is refused by name, before the database's own key does it without words. */
async function mustBeFree(
  client: Queryable,
  conferenceId: string,
  { officialId, name, playedOn }: { officialId: string; name: string; playedOn: string },
  { gameId, slot }: { gameId: string; slot: Slot },
): Promise<void> {
  // Two who choose the same official at once wait for each other here.
  await client.query('SELECT FROM person WHERE conference_id = $1 AND id = $2 FOR NO KEY UPDATE', [
    conferenceId,
    officialId,
  ]);
  const { rows } = await client.query<{ slot: string; game: string; title: string }>(
    `SELECT c.slot, g.name AS game, s.title
       FROM selection_choice c
       JOIN selection_game g ON g.conference_id = c.conference_id AND g.id = c.game_id
       JOIN selection s ON s.conference_id = c.conference_id AND s.id = c.selection_id
      WHERE c.conference_id = $1 AND c.official_id = $2 AND c.played_on = $3
        AND NOT (c.game_id = $4 AND c.slot = $5)`,
    [conferenceId, officialId, playedOn, gameId, slot],
  );
  const [other] = rows;
  if (other)
    throw conflict(
      `${name} is chosen as ${other.slot} of ${other.game} (${other.title}) on ${day(playedOn)} already, and nobody works two places on one day: choose another official, or take them out there first.`,
      [{ field: 'officialId', message: `is chosen for ${other.game} on the same day` }],
    );
}
