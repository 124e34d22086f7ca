import type pg from 'pg';
import type { Database } from '../database/database.ts';
import type { Person as PersonRow, Prisma, Venue as VenueRow } from '../database/generated/client.ts';
import { type Position, positions } from '../football/positions.ts';

type Db = Pick<pg.Pool, 'query'>;
type Named = { id: string; name: string };
export type Venue = Omit<VenueRow, 'conferenceId'>;
type Person = Pick<PersonRow, 'id' | 'givenName' | 'familyName'>;
type CrewMember = { position: Position; official: Person };
type Game = {
  id: string;
  key: string;
  week: number;
  /** ISO 8601 in UTC. */
  kickoff: string;
  home: Named;
  visitor: Named;
  venue: Venue;
  crew: Named | null;
  /** Null while nobody has entered it. */
  finalScore: { home: number; visitor: number } | null;
  plays: number;
};

const venueObject = `jsonb_build_object('id', v.id, 'name', v.name, 'place', v.place, 'latitude', v.latitude,
                       'longitude', v.longitude, 'timeZone', v.time_zone)`;
const personObject = `jsonb_build_object('id', p.id, 'givenName', p.given_name, 'familyName', p.family_name)`;

const seasonSettings = {
  id: true,
  name: true,
  crewSize: true,
  minimumGames: true,
  minimumOpportunities: true,
  postseasonPlaces: true,
} satisfies Prisma.SeasonSelect;
type SeasonSettings = Prisma.SeasonGetPayload<{ select: typeof seasonSettings }>;

/** The conference's seasons, newest first. */
export function readSeasons(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<SeasonSettings[]> {
  return prisma.season.findMany({
    where: { conferenceId },
    orderBy: [{ createdAt: 'desc' }, { name: 'desc' }],
    select: seasonSettings,
  });
}

/** Games in the order of kickoff: of a season, of one of its weeks, or one game. */
export async function readGames(
  db: Db,
  conferenceId: string,
  which: { seasonId?: string; week?: number; gameId?: string },
): Promise<Game[]> {
  const { rows } = await db.query<Omit<Game, 'kickoff'> & { kickoff: Date }>(
    `SELECT g.id, g.key, g.week, g.kickoff,
            jsonb_build_object('id', g.home_team_id, 'name', teams.home) AS home,
            jsonb_build_object('id', g.visiting_team_id, 'name', teams.visitor) AS visitor,
            ${venueObject} AS venue,
            CASE WHEN g.home_points IS NOT NULL
                 THEN jsonb_build_object('home', g.home_points, 'visitor', g.visitor_points) END AS "finalScore",
            CASE WHEN c.id IS NOT NULL THEN jsonb_build_object('id', c.id, 'name', c.name) END AS crew,
            (SELECT count(*)::int FROM play p
              WHERE p.conference_id = g.conference_id AND p.game_id = g.id AND p.removed_at IS NULL) AS plays
       FROM game g
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       LEFT JOIN crew c ON c.conference_id = g.conference_id AND c.id = g.crew_id
      WHERE g.conference_id = $1 AND ($2::uuid IS NULL OR g.season_id = $2) AND ($3::int IS NULL OR g.week = $3)
        AND ($4::uuid IS NULL OR g.id = $4)
      ORDER BY g.week, g.kickoff, g.key`,
    [conferenceId, which.seasonId ?? null, which.week ?? null, which.gameId ?? null],
  );
  return rows.map((row) => ({ ...row, kickoff: row.kickoff.toISOString() }));
}

/** The conference's teams with the venue where each plays at home, by name. */
export function readTeams(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
): Promise<(Named & { venue: Venue | null })[]> {
  return prisma.team.findMany({
    where: { conferenceId },
    orderBy: { name: 'asc' },
    select: { id: true, name: true, venue: { omit: { conferenceId: true } } },
  });
}

/** Who really worked a game, in the trade's order of positions. */
export async function readWorkingCrew(db: Db, conferenceId: string, gameId: string): Promise<CrewMember[]> {
  const { rows } = await db.query<CrewMember>(
    `SELECT w.position, ${personObject} AS official
       FROM working_crew_member w JOIN person p ON p.conference_id = w.conference_id AND p.id = w.person_id
      WHERE w.conference_id = $1 AND w.game_id = $2 ORDER BY array_position($3::text[], w.position)`,
    [conferenceId, gameId, positions],
  );
  return rows;
}

export async function readCrews(
  db: Db,
  conferenceId: string,
  seasonId: string,
): Promise<(Named & { officials: CrewMember[] })[]> {
  const { rows } = await db.query(
    `SELECT c.id, c.name,
            COALESCE(jsonb_agg(jsonb_build_object('position', m.position, 'official', ${personObject})
                               ORDER BY array_position($3::text[], m.position)) FILTER (WHERE m.position IS NOT NULL),
                     '[]') AS officials
       FROM crew c
       LEFT JOIN crew_member m ON m.conference_id = c.conference_id AND m.crew_id = c.id
       LEFT JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
      WHERE c.conference_id = $1 AND c.season_id = $2 GROUP BY c.id, c.name ORDER BY c.name`,
    [conferenceId, seasonId, positions],
  );
  return rows;
}
