import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import type { Cell } from '../csv/write-csv.ts';
import { exactTimecode, playCells } from '../files/plays.ts';

/** One kind of file read out of the database: its rows, in the names of the format's columns. */
interface ExportQuery {
  /**
   * `$1` is the conference. Where `bySeason`, `$2` is the season's id, or null for every season that is not closed:
   * what is closed could not be imported again.
   */
  sql: string;
  bySeason: boolean;
  /** Makes cells of a row where the row has not got them already. */
  cells?(row: Record<string, unknown>): Record<string, Cell>;
}

const inSeason = "n.conference_id = $1 AND (n.id = $2 OR ($2::uuid IS NULL AND n.state <> 'closed'))";

/** Of the kinds that `fileKinds` has, by name; a test asks for each. */
export const exportQueries: Readonly<Record<string, ExportQuery>> = {
  venues: {
    bySeason: false,
    sql: `SELECT name, NULLIF(place, '') AS place, latitude, longitude, time_zone AS "timeZone"
            FROM venue WHERE conference_id = $1 ORDER BY name`,
  },
  teams: {
    bySeason: false,
    sql: `SELECT t.name, v.name AS venue
            FROM team t LEFT JOIN venue v ON v.conference_id = t.conference_id AND v.id = t.venue_id
           WHERE t.conference_id = $1 ORDER BY t.name`,
  },
  // A person without a role cannot be written: a file of people says what they are there for.
  staff: {
    bySeason: false,
    sql: `SELECT p.email, p.given_name AS "givenName", p.family_name AS "familyName",
                 string_agg(r.role, '; ' ORDER BY r.role) AS roles,
                 max(t.name) FILTER (WHERE r.role = 'team contact') AS team, p.home_place AS "homePlace",
                 p.home_latitude AS "homeLatitude", p.home_longitude AS "homeLongitude"
            FROM person p
            JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
            LEFT JOIN team_contact c ON c.conference_id = p.conference_id AND c.person_id = p.id
            LEFT JOIN team t ON t.conference_id = c.conference_id AND t.id = c.team_id
           WHERE p.conference_id = $1
           GROUP BY p.conference_id, p.id ORDER BY p.family_name, p.given_name, p.email`,
  },
  crews: {
    bySeason: true,
    sql: `SELECT n.name AS season, c.name AS crew, m.position, p.email
            FROM season n
            JOIN crew c ON c.conference_id = n.conference_id AND c.season_id = n.id
            JOIN crew_member m ON m.conference_id = c.conference_id AND m.crew_id = c.id
            JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
           WHERE ${inSeason} ORDER BY n.name, c.name, m.position`,
  },
  schedule: {
    bySeason: true,
    sql: `SELECT n.name AS season, g.week, g.key AS game,
                 to_char(g.kickoff AT TIME ZONE v.time_zone, 'YYYY-MM-DD HH24:MI') AS kickoff,
                 t.home, t.visitor, v.name AS venue, c.name AS crew, g.film_link AS "filmLink",
                 g.home_points AS "homePoints", g.visitor_points AS "visitorPoints"
            FROM season n
            JOIN game g ON g.conference_id = n.conference_id AND g.season_id = n.id
            JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
            JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
            LEFT JOIN crew c ON c.conference_id = g.conference_id AND c.id = g.crew_id
           WHERE ${inSeason} ORDER BY n.name, g.week, g.kickoff, g.key`,
  },
  'working-crews': {
    bySeason: true,
    sql: `SELECT g.key AS game, w.position, p.email, n.name AS season
            FROM season n
            JOIN game g ON g.conference_id = n.conference_id AND g.season_id = n.id
            JOIN working_crew_member w ON w.conference_id = g.conference_id AND w.game_id = g.id
            JOIN person p ON p.conference_id = w.conference_id AND p.id = w.person_id
           WHERE ${inSeason} ORDER BY n.name, g.week, g.kickoff, g.key, w.position`,
  },
  plays: {
    bySeason: true,
    sql: `SELECT g.key AS game, n.name AS season, p.number, p.kind, p.spot, p.quarter, p.clock_seconds, p.down,
                 p.distance, p.facts, p.film_seconds AS "filmSeconds", NULLIF(p.note, '') AS note
            FROM season n
            JOIN game g ON g.conference_id = n.conference_id AND g.season_id = n.id
            JOIN play p ON p.conference_id = g.conference_id AND p.game_id = g.id AND p.removed_at IS NULL
           WHERE ${inSeason} ORDER BY n.name, g.week, g.kickoff, g.key, p.number`,
    cells: (row) => ({
      ...playCells(playOf(row as unknown as PlayColumns)),
      game: row.game as string,
      season: row.season as string,
      number: row.number as number,
      filmSeconds: row.filmSeconds === null ? null : exactTimecode(row.filmSeconds as number),
      note: row.note as string | null,
    }),
  },
  // An assignment that the coordinator took back is none any more.
  'observer-assignments': {
    bySeason: true,
    sql: `SELECT g.key AS game, p.email, a.how, a.answer, n.name AS season
            FROM season n
            JOIN game g ON g.conference_id = n.conference_id AND g.season_id = n.id
            JOIN observer_assignment a
              ON a.conference_id = g.conference_id AND a.game_id = g.id AND a.withdrawn_at IS NULL
            JOIN person p ON p.conference_id = a.conference_id AND p.id = a.observer_id
           WHERE ${inSeason} ORDER BY n.name, g.week, g.kickoff, g.key, p.email`,
  },
  'official-facts': {
    bySeason: true,
    sql: `SELECT n.name AS season, p.email, f.years_of_service AS "yearsOfService", f.rules_test_score AS "rulesTest",
                 CASE WHEN f.fitness_passed THEN 'yes' WHEN NOT f.fitness_passed THEN 'no' END AS "fitnessPassed",
                 to_char(f.fitness_until, 'YYYY-MM-DD') AS "fitnessUntil",
                 CASE WHEN f.good_standing THEN 'yes' WHEN NOT f.good_standing THEN 'no' END AS "goodStanding",
                 NULLIF(f.standing_reason, '') AS "standingReason",
                 CASE WHEN f.available THEN 'yes' WHEN NOT f.available THEN 'no' END AS available,
                 (SELECT string_agg(d.day, '; ' ORDER BY d.day) FROM jsonb_array_elements_text(f.days_away) AS d (day)) AS "daysAway",
                 f.postseasons_lately AS "postseasonsLately",
                 (SELECT string_agg(t.name, '; ' ORDER BY t.name) FROM official_tie o
                    JOIN team t ON t.conference_id = o.conference_id AND t.id = o.team_id
                   WHERE o.conference_id = f.conference_id AND o.person_id = f.person_id) AS ties
            FROM season n
            JOIN official_fact f ON f.conference_id = n.conference_id AND f.season_id = n.id
            JOIN person p ON p.conference_id = f.conference_id AND p.id = f.person_id
           WHERE ${inSeason} ORDER BY n.name, p.email`,
  },
  // Where nothing is noted the cell is empty, to be filled in.
  'clinic-attendance': {
    bySeason: true,
    sql: `SELECT n.name AS season, c.title AS clinic, to_char(c.held_on, 'YYYY-MM-DD') AS day, p.email,
                 NULLIF(a.state, 'open') AS attendance, NULLIF(a.note, '') AS note
            FROM season n
            JOIN clinic c ON c.conference_id = n.conference_id AND c.season_id = n.id
            JOIN clinic_attendance a ON a.conference_id = c.conference_id AND a.clinic_id = c.id
            JOIN person p ON p.conference_id = a.conference_id AND p.id = a.official_id
           WHERE ${inSeason} ORDER BY n.name, c.held_on, c.title, p.family_name, p.given_name, p.email`,
  },
};
