import { z } from 'zod';
import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { typedDay, typedText } from '../text/typed-text.ts';
import { conflict, type FieldProblem, notFound } from '../web/problem.ts';
import { lockSeasonToChange } from './season-to-change.ts';
import { readWeeks } from './season-weeks.ts';

const points = z
  .string()
  .trim()
  .regex(/^\d{0,3}$/, 'Write the points, or leave it empty.')
  .transform((text) => (text === '' ? null : Number(text)))
  .refine((value) => value === null || value <= 300, 'Write at most 300.')
  .default(null);

const choiceOrNone = (message: string) =>
  z.union([z.literal('').transform(() => null), z.uuid(message)]).default(null);

/** A game as a form sends it. The kickoff is the time of day at the venue; an empty key is made. */
export const gameInput = z
  .object({
    week: z.coerce
      .number('Write the number of the week.')
      .int('Write a whole number.')
      .min(0, 'Write 0 or more.')
      .max(30, 'Write at most 30.'),
    homeTeamId: z.uuid('Choose the home team.'),
    visitingTeamId: z.uuid('Choose the visiting team.'),
    kickoff: z
      .string()
      .regex(/^\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}$/, 'Write date and time of day, such as 2026-09-05 14:30.')
      .refine(
        (text) =>
          typedDay().safeParse(text.slice(0, 10)).success &&
          !Number.isNaN(Date.parse(`${text.replace(' ', 'T')}Z`)),
        'There is no such date or time.',
      )
      .transform((text) => text.replace('T', ' ')),
    venueId: choiceOrNone('Choose a venue from the list.'),
    crewId: choiceOrNone('Choose a crew from the list.'),
    key: typedText({ most: 100, tooLong: 'Write at most 100 characters.' }).default(''),
    filmLink: typedText({ most: 1000, tooLong: 'Write at most 1000 characters.' })
      .refine(
        (link) => link === '' || /^https?:\/\/\S+$/i.test(link),
        'Write an address that begins with https://, or leave it empty.',
      )
      .default(''),
    homePoints: points,
    visitorPoints: points,
  })
  .refine((game) => (game.homePoints === null) === (game.visitorPoints === null), {
    path: ['visitorPoints'],
    message: 'Write the points of both teams, or of neither.',
  })
  .refine((game) => game.homeTeamId !== game.visitingTeamId, {
    path: ['visitingTeamId'],
    message: 'The home team is also the visitor; choose two teams.',
  });
type GameInput = z.infer<typeof gameInput>;

/** A game as the form that corrects it shows it. `kickoff` is `2026-09-05T14:30` at the venue. */
interface GameAsEntered {
  readonly id: string;
  readonly seasonId: string;
  readonly key: string;
  readonly week: number;
  readonly kickoff: string;
  readonly homeTeamId: string;
  readonly visitingTeamId: string;
  readonly venueId: string;
  readonly crewId: string | null;
  readonly filmLink: string | null;
  /** The final score; null while nobody has entered it. */
  readonly homePoints: number | null;
  readonly visitorPoints: number | null;
}

const select = `
  SELECT g.id, g.season_id AS "seasonId", g.key, g.week, g.home_team_id AS "homeTeamId",
         g.visiting_team_id AS "visitingTeamId", g.venue_id AS "venueId", g.crew_id AS "crewId",
         g.film_link AS "filmLink", g.home_points AS "homePoints", g.visitor_points AS "visitorPoints",
         to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD"T"HH24:MI') AS kickoff
    FROM game g JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id`;

/** @throws Problem 404 when the conference has no such game. */
export async function findGame(db: Queryable, conferenceId: string, gameId: string): Promise<GameAsEntered> {
  const { rows } = await db.query<GameAsEntered>(`${select} WHERE g.conference_id = $1 AND g.id = $2`, [
    conferenceId,
    gameId,
  ]);
  if (!rows[0]) throw notFound('game');
  return rows[0];
}

/** The season's game with the latest kickoff: a new one is probably of its week. */
export async function latestGame(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<GameAsEntered | undefined> {
  const { rows } = await db.query<GameAsEntered>(
    `${select} WHERE g.conference_id = $1 AND g.season_id = $2 ORDER BY g.week DESC, g.kickoff DESC LIMIT 1`,
    [conferenceId, seasonId],
  );
  return rows[0];
}

/**
 * Adds a game to a season, or corrects the one of that id.
 * @returns its id. @throws Problem 409 naming the fields that are wrong, 404.
 */
export async function saveGame(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  input: GameInput,
  gameId?: string,
): Promise<string> {
  await lockSeasonToChange(client, conferenceId, seasonId, 'week');
  const before = gameId === undefined ? undefined : await findGame(client, conferenceId, gameId);
  const { home, visitor, venueId, zone, skipped, wrong } = await referredTo(
    client,
    conferenceId,
    seasonId,
    input,
  );
  if (venueId !== null && skipped) {
    wrong.push({
      field: 'kickoff',
      message: `Daylight saving time skips this time of day in ${zone}; write the time that clocks show at kickoff.`,
    });
  }
  const weeks = (await readWeeks(client, conferenceId, seasonId)).map(({ number }) => number);
  if (weeks.length > 0 && !weeks.includes(input.week)) {
    const message = `The season has weeks ${Math.min(...weeks)} to ${Math.max(...weeks)}; correct the number, or add the week on the Seasons page.`;
    wrong.push({ field: 'week', message });
  }
  const key =
    input.key || before?.key || (await freeKey(client, conferenceId, seasonId, input.week, visitor, home));
  const { rowCount } = await client.query(
    'SELECT FROM game WHERE conference_id = $1 AND season_id = $2 AND key = $3 AND id IS DISTINCT FROM $4::uuid',
    [conferenceId, seasonId, key, gameId ?? null],
  );
  if (rowCount !== 0) wrong.push({ field: 'key', message: 'Another game of the season has this key.' });
  if (wrong.length > 0) throw conflict('The game cannot be kept as it is.', wrong);
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO game (conference_id, id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id,
                       crew_id, film_link, home_points, visitor_points)
     VALUES ($1, COALESCE($2::uuid, gen_random_uuid()), $3, $4, $5, $6::timestamp AT TIME ZONE $7, $8, $9, $10, $11, $12,
             $13, $14)
     ON CONFLICT (conference_id, id) DO UPDATE
       SET key = excluded.key, week = excluded.week, kickoff = excluded.kickoff, home_team_id = excluded.home_team_id,
           visiting_team_id = excluded.visiting_team_id, venue_id = excluded.venue_id, crew_id = excluded.crew_id,
           film_link = excluded.film_link, home_points = excluded.home_points,
           visitor_points = excluded.visitor_points
     RETURNING id`,
    [
      conferenceId,
      gameId ?? null,
      seasonId,
      key,
      input.week,
      input.kickoff,
      zone,
      input.homeTeamId,
      input.visitingTeamId,
      venueId,
      input.crewId,
      input.filmLink || null,
      input.homePoints,
      input.visitorPoints,
    ],
  );
  const { id } = rows[0]!;
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: before === undefined ? 'game added' : 'game corrected',
    subjectKind: 'game',
    subjectId: id,
    before,
    after: await findGame(client, conferenceId, id),
  });
  return id;
}

/** What the form's choices mean; the venue is the home team's own where none is chosen. */
async function referredTo(client: Queryable, conferenceId: string, seasonId: string, input: GameInput) {
  const { rows } = await client.query<{
    home: string | null;
    visitor: string | null;
    venueId: string | null;
    zone: string | null;
    skipped: boolean | null;
    crew: boolean;
  }>(
    `SELECT h.name AS home, a.name AS visitor, v.id AS "venueId", v.time_zone AS zone,
            ($6::timestamp AT TIME ZONE v.time_zone) AT TIME ZONE v.time_zone <> $6::timestamp AS skipped,
            EXISTS (SELECT FROM crew c WHERE c.conference_id = $1 AND c.season_id = $2 AND c.id = $7::uuid) AS crew
       FROM (SELECT) one
       LEFT JOIN team h ON h.conference_id = $1 AND h.id = $3
       LEFT JOIN team a ON a.conference_id = $1 AND a.id = $4
       LEFT JOIN venue v ON v.conference_id = $1 AND v.id = COALESCE($5::uuid, h.venue_id)`,
    [
      conferenceId,
      seasonId,
      input.homeTeamId,
      input.visitingTeamId,
      input.venueId,
      input.kickoff,
      input.crewId,
    ],
  );
  const found = rows[0]!;
  const wrong: FieldProblem[] = [];
  if (found.home === null) wrong.push({ field: 'homeTeamId', message: 'Choose a team from the list.' });
  if (found.visitor === null)
    wrong.push({ field: 'visitingTeamId', message: 'Choose a team from the list.' });
  if (found.venueId === null && found.home !== null) {
    const message =
      input.venueId === null
        ? `${found.home} has no home venue; choose where the game is played.`
        : 'Choose a venue from the list.';
    wrong.push({ field: 'venueId', message });
  }
  if (input.crewId !== null && !found.crew) {
    wrong.push({ field: 'crewId', message: 'Choose a crew of this season from the list.' });
  }
  return { ...found, wrong, home: found.home ?? '', visitor: found.visitor ?? '' };
}

/** `W03-COP-LAR`: week, visitor, home; with a number behind it when the season has such a key already. */
async function freeKey(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  week: number,
  visitor: string,
  home: string,
): Promise<string> {
  const key = `W${String(week).padStart(2, '0')}-${short(visitor)}-${short(home)}`;
  const { rows } = await client.query<{ key: string }>(
    'SELECT key FROM game WHERE conference_id = $1 AND season_id = $2',
    [conferenceId, seasonId],
  );
  const taken = new Set(rows.map((row) => row.key));
  let number = 1;
  while (taken.has(number === 1 ? key : `${key}-${number}`)) number += 1;
  return number === 1 ? key : `${key}-${number}`;
}

const short = (team: string) =>
  team
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9]/g, '')
    .slice(0, 3)
    .toUpperCase() || 'X';
