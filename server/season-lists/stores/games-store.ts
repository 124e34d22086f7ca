import type { Queryable } from '../../database/transaction.ts';
import { holdsAll } from '../search-words.ts';

export interface GameLine {
  readonly id: string;
  readonly week: number;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly title: string;
  readonly venue: string;
  readonly crew: string | null;
  readonly plays: number;
  readonly reports: readonly { readonly id: string; readonly observer: string; readonly state: string }[];
}

export const gameStates = ['no report', 'with the observer', 'to review', 'to release', 'released'] as const;
type GameState = (typeof gameStates)[number];

/** SQL: a game g is in a state, by the reports on it. */
const inState = `CASE $5
  WHEN 'no report' THEN NOT EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.game_id = g.id)
  ELSE EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.game_id = g.id AND r.state = ANY (CASE $5
         WHEN 'with the observer' THEN ARRAY['draft', 'returned'] WHEN 'to review' THEN ARRAY['filed']
         WHEN 'to release' THEN ARRAY['accepted'] ELSE ARRAY['released'] END)) END`;

const haystack = `concat_ws(' ', t.title, v.name, v.place, c.name, g.key, 'week ' || g.week,
  (SELECT string_agg(o.given_name || ' ' || o.family_name, ' ') FROM observer_assignment a
     JOIN person o ON o.conference_id = $1 AND o.id = a.observer_id
    WHERE a.conference_id = $1 AND a.game_id = g.id AND a.answer <> 'declined'))`;

/** What is asked of a season's games; null: any. */
interface GamesWanted {
  readonly week: number | null;
  readonly patterns: readonly string[];
  readonly state: GameState | null;
}

const found = `
  FROM game g
  JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
  JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
  LEFT JOIN crew c ON c.conference_id = $1 AND c.id = g.crew_id
 WHERE g.conference_id = $1 AND g.season_id = $2 AND ($3::int IS NULL OR g.week = $3)
   AND ${holdsAll(haystack, '$4')} AND ($5::text IS NULL OR ${inState})`;

const values = (conferenceId: string, seasonId: string, { week, patterns, state }: GamesWanted) => [
  conferenceId,
  seasonId,
  week,
  patterns,
  state,
];

export async function countGames(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  wanted: GamesWanted,
): Promise<number> {
  const { rows } = await db.query<{ count: number }>(
    `SELECT count(*)::int AS count ${found}`,
    values(conferenceId, seasonId, wanted),
  );
  return rows[0]!.count;
}

/** Games of a season in the order of kickoff, with their reports. */
export async function listGames(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  wanted: GamesWanted,
  { limit, offset }: { limit: number; offset: number },
): Promise<GameLine[]> {
  const { rows } = await db.query<GameLine>(
    `SELECT g.id, g.week, g.kickoff, v.time_zone AS "timeZone", t.title, v.name AS venue, c.name AS crew,
            (SELECT count(*)::int FROM play p
              WHERE p.conference_id = $1 AND p.game_id = g.id AND p.removed_at IS NULL) AS plays,
            COALESCE((SELECT jsonb_agg(jsonb_build_object('id', r.id, 'state', r.state,
                                         'observer', o.given_name || ' ' || o.family_name) ORDER BY o.family_name, r.id)
                        FROM report r JOIN person o ON o.conference_id = $1 AND o.id = r.observer_id
                       WHERE r.conference_id = $1 AND r.game_id = g.id), '[]') AS reports
       ${found}
      ORDER BY g.week, g.kickoff, g.key LIMIT $6 OFFSET $7`,
    [...values(conferenceId, seasonId, wanted), limit, offset],
  );
  return rows;
}

interface SeasonSum {
  /** Weeks that have games. */
  readonly weeks: readonly number[];
  /** Week and day (YYYY-MM-DD, at the venue) of each game. */
  readonly gameDays: readonly { readonly week: number; readonly day: string }[];
  readonly games: number;
  readonly unseen: number;
  readonly reports: Readonly<Partial<Record<string, number>>>;
}

/** A season's games and reports in figures. */
export async function readSeasonSum(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<SeasonSum> {
  const { rows } = await db.query<{ week: number; day: string; games: number; unseen: number }>(
    `SELECT g.week, (g.kickoff AT TIME ZONE v.time_zone)::date::text AS day, count(*)::int AS games,
            (count(*) FILTER (WHERE NOT EXISTS (SELECT FROM report r WHERE r.conference_id = $1
                                                   AND r.game_id = g.id)))::int AS unseen
       FROM game g JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
      WHERE g.conference_id = $1 AND g.season_id = $2 GROUP BY 1, 2 ORDER BY 1, 2`,
    [conferenceId, seasonId],
  );
  const states = await db.query<{ state: string; count: number }>(
    'SELECT state, count(*)::int AS count FROM report WHERE conference_id = $1 AND season_id = $2 GROUP BY state',
    [conferenceId, seasonId],
  );
  return {
    weeks: [...new Set(rows.map(({ week }) => week))],
    gameDays: rows,
    games: rows.reduce((sum, { games }) => sum + games, 0),
    unseen: rows.reduce((sum, { unseen }) => sum + unseen, 0),
    reports: Object.fromEntries(states.rows.map(({ state, count }) => [state, count])),
  };
}
