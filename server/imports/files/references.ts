import type pg from 'pg';
import { closedSeason } from './season-of-row.ts';

/** A game that a row may mean, by its key. */
interface GameReference {
  id: string;
  season: string;
  /** Its season is closed. */
  closed: boolean;
}

export async function gamesByKey(
  client: pg.ClientBase,
  conferenceId: string,
): Promise<ReadonlyMap<string, GameReference[]>> {
  const { rows } = await client.query<{ key: string; id: string; season: string; closed: boolean }>(
    `SELECT g.key, g.id, s.name AS season, s.state = 'closed' AS closed
       FROM game g JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
      WHERE g.conference_id = $1`,
    [conferenceId],
  );
  const games = new Map<string, GameReference[]>();
  for (const { key, ...game } of rows) {
    const sameKey = games.get(key);
    if (sameKey === undefined) games.set(key, [game]);
    else sameKey.push(game);
  }
  return games;
}

/**
 * The game that a row's `game` and optional `season` mean, or undefined after telling why there is none.
 * A key is unique in its season only, so that a schedule can use the same keys each year;
 * a closed season's game is only meant where its season is written.
 */
export function findGame(
  games: ReadonlyMap<string, GameReference[]>,
  row: { game: string; season: string | null },
  tell: (column: 'game' | 'season', value: string, problem: string, fix: string) => void,
): string | undefined {
  const sameKey = games.get(row.game) ?? [];
  const live = sameKey.filter((game) => !game.closed);
  const found =
    row.season !== null
      ? sameKey.filter((game) => game.season === row.season)
      : live.length > 0
        ? live
        : sameKey;
  const [game] = found;
  if (game !== undefined && found.length === 1) {
    if (!game.closed) return game.id;
    tell('game', row.game, closedSeason.problem(game.season), closedSeason.fix);
    return undefined;
  }
  if (found.length > 1) {
    tell(
      'season',
      row.season ?? '',
      `Game "${row.game}" is in more than one season: ${found.map((game) => game.season).join(', ')}.`,
      'Add a season column and write the season of each game.',
    );
  } else if (sameKey.length > 0) {
    tell(
      'season',
      row.season ?? '',
      `Game "${row.game}" is not in this season, but in ${sameKey.map((game) => game.season).join(', ')}.`,
      'Write the season as schedule.csv has it.',
    );
  } else {
    tell(
      'game',
      row.game,
      'There is no game with this key.',
      'Write the game as in schedule.csv, and import schedule.csv first.',
    );
  }
  return undefined;
}

interface PersonReference {
  id: string;
  roles: readonly string[];
}

export async function peopleByEmail(
  client: pg.ClientBase,
  conferenceId: string,
): Promise<ReadonlyMap<string, PersonReference>> {
  const { rows } = await client.query<{ email: string; id: string; roles: string[] }>(
    `SELECT p.email, p.id, array_remove(array_agg(r.role), NULL) AS roles
       FROM person p
       LEFT JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
      WHERE p.conference_id = $1
      GROUP BY p.email, p.id`,
    [conferenceId],
  );
  return new Map(rows.map(({ email, id, roles }) => [email, { id, roles }]));
}

/** The person with this e-mail address and role, or undefined after telling why there is none. */
export function findPerson(
  people: ReadonlyMap<string, PersonReference>,
  email: string,
  role: 'official' | 'observer',
  tell: (column: 'email', value: string, problem: string, fix: string) => void,
): string | undefined {
  const person = people.get(email);
  if (person === undefined) {
    tell(
      'email',
      email,
      'Nobody in the conference has this e-mail address.',
      'Correct the address, or add the person to staff.csv and import that first.',
    );
    return undefined;
  }
  if (!person.roles.includes(role)) {
    tell(
      'email',
      email,
      `This person is not listed as ${role}.`,
      `Add "${role}" to the person's roles in staff.csv and import that first.`,
    );
    return undefined;
  }
  return person.id;
}

/** Identities of named rows of one table. */
export async function idsByName(
  client: pg.ClientBase,
  conferenceId: string,
  table: 'venue' | 'team' | 'season',
): Promise<ReadonlyMap<string, string>> {
  const { rows } = await client.query<{ name: string; id: string }>(
    `SELECT name, id FROM ${table} WHERE conference_id = $1`,
    [conferenceId],
  );
  return new Map(rows.map(({ name, id }) => [name, id]));
}
