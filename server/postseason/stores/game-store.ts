import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { positionsOf } from '../../football/crews.ts';
import { slotsOf } from '../../selection/slots.ts';
import { day } from '../../web/format.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import type { GameTyped, Selection, SelectionGame } from '../selection.ts';
import { changing, isTaken, mustBePreparing } from './selection-store.ts';

const columns =
  'name, played_on, kickoff, home_team_id, home_name, visitor_team_id, visitor_name, venue_id, place, latitude, longitude, crew_size, alternates, whole_crew';
const valuesOf = (game: GameTyped) => [
  ...[game.name, game.playedOn, game.kickoff, game.homeTeamId, game.homeTeamId ? '' : game.homeName],
  ...[game.visitorTeamId, game.visitorTeamId ? '' : game.visitorName, game.venueId],
  // A venue has its own place.
  ...(game.venueId ? ['', null, null] : [game.place, game.latitude, game.longitude]),
  ...[game.crewSize, game.alternates, game.wholeCrew],
];

/** @throws Problem 400 when a team or venue is not the conference's, 409 once votes are cast or when the name is taken */
export async function addGame(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  game: GameTyped,
): Promise<string> {
  let id = '';
  await saying(game, () =>
    inTransaction(pool, (client) =>
      changing(client, acting, selectionId, 'selection: game added', async (selection) => {
        mustBePreparing(selection);
        await mustBeOfConference(client, acting.conferenceId, game);
        const values = valuesOf(game);
        const { rows } = await client.query<{ id: string }>(
          `INSERT INTO selection_game (conference_id, selection_id, ${columns})
           VALUES ($1, $2, ${values.map((_, at) => `$${at + 3}`).join(', ')}) RETURNING id`,
          [acting.conferenceId, selectionId, ...values],
        );
        id = rows[0]!.id;
        return { after: { id, ...game } };
      }),
    ),
  );
  return id;
}

/**
 * @param asSeen whether the game is still as it was shown to whoever changes it
 * @throws Problem 404 when the selection has no such game; as `addGame`; 409 when its new day or places take away what was
 *   chosen, or somebody else changed it meanwhile
 */
export async function changeGame(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  gameId: string,
  game: GameTyped,
  asSeen: (before: SelectionGame) => boolean = () => true,
): Promise<void> {
  await saying(game, () =>
    inTransaction(pool, (client) =>
      changing(client, acting, selectionId, 'selection: game changed', async (selection) => {
        mustBePreparing(selection);
        const before = gameOf(selection, gameId);
        if (!asSeen(before))
          throw conflict(
            'Somebody else changed this game meanwhile. What you typed is still here; what theirs says otherwise stands below. Look whether yours holds, then keep it again.',
          );
        await mustBeOfConference(client, acting.conferenceId, game);
        const slots = new Set<string>(slotsOf({ ...game, positions: positionsOf(game.crewSize) }));
        const lost = selection.choices.filter((one) => one.gameId === gameId && !slots.has(one.slot));
        if (lost.length > 0)
          throw conflict(
            `Somebody is chosen as ${lost.map(({ slot }) => slot).join(', ')}, a place that the game would no longer have: take them out first.`,
          );
        const values = valuesOf(game);
        await client.query(
          `UPDATE selection_game SET (${columns}) = ROW (${values.map((_, at) => `$${at + 4}`).join(', ')})
            WHERE conference_id = $1 AND selection_id = $2 AND id = $3`,
          [acting.conferenceId, selectionId, gameId, ...values],
        );
        return { before, after: { id: gameId, ...game } };
      }),
    ),
  );
}

/** Takes a game out, and with it what was chosen for it. @throws Problem 404, 409 once votes are cast */
export async function removeGame(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  gameId: string,
): Promise<void> {
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: game removed', async (selection) => {
      mustBePreparing(selection);
      const game = gameOf(selection, gameId);
      await client.query(
        'DELETE FROM selection_game WHERE conference_id = $1 AND selection_id = $2 AND id = $3',
        [acting.conferenceId, selectionId, gameId],
      );
      return { before: { ...game, choices: selection.choices.filter((one) => one.gameId === gameId) } };
    }),
  );
}

/** @throws Problem 404 */
export function gameOf({ games }: Pick<Selection, 'games'>, gameId: string) {
  const game = games.find(({ id }) => id === gameId);
  if (!game) throw notFound('game of the selection');
  return game;
}

async function mustBeOfConference(client: Queryable, conferenceId: string, game: GameTyped): Promise<void> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT id FROM team WHERE conference_id = $1 AND id = ANY ($2::uuid[])
      UNION ALL SELECT id FROM venue WHERE conference_id = $1 AND id = ANY ($2::uuid[])`,
    [conferenceId, [game.homeTeamId, game.visitorTeamId, game.venueId].filter((id) => id !== null)],
  );
  const known = new Set(rows.map(({ id }) => id));
  const wrong = (['homeTeamId', 'visitorTeamId', 'venueId'] as const).filter(
    (field) => game[field] !== null && !known.has(game[field]),
  );
  if (wrong.length > 0)
    throw invalid(wrong.map((field) => ({ field, message: 'is not of this conference; choose one of it' })));
}

async function saying(game: GameTyped, work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (error) {
    if (isTaken(error, 'selection_game_conference_id_selection_id_name_key'))
      throw conflict(`This selection has a game called ${game.name} already.`, [
        { field: 'name', message: 'is taken by another game of this selection; choose another name' },
      ]);
    if (isTaken(error, 'selection_choice_one_game_a_day'))
      throw conflict(
        `Somebody chosen for this game is chosen for another game on ${day(game.playedOn)}: take them out of one first.`,
        [{ field: 'playedOn', message: 'is a day on which somebody chosen here works another game' }],
      );
    throw error;
  }
}
