import { integer, line, localDateTime, orderOfDates } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';
import { idsByName } from './references.ts';
import { checkSeasons, openFirstSeason } from './season-of-row.ts';

export const scheduleFormat = fileFormat({
  name: 'schedule',
  purpose: 'The games of a season. The season is opened first, on the Seasons page.',
  columns: {
    season: required('season', line(100), 'Write the season, such as 2026.'),
    week: required('week', integer(0, 30), 'Write the number of the week, 0 to 30.'),
    game: required(
      'game',
      line(100),
      'Write a short key that no other game of the season has, such as W01-LAR-COP.',
    ),
    kickoff: {
      ...required(
        'kickoff',
        localDateTime,
        'Write date and time of day at the venue, such as 2026-09-05 14:30 or 9/5/2026 2:30 PM.',
        ['kick-off', 'date and time', 'date/time'],
      ),
      asking: orderOfDates,
    },
    home: required('home', line(200), 'Write a team as in teams.csv.', ['home team']),
    visitor: required('visitor', line(200), 'Write a team as in teams.csv.', [
      'visiting team',
      'visitors',
      'away',
      'away team',
    ]),
    venue: required('venue', line(200), 'Write a venue as in venues.csv.'),
    crew: optional('crew', line(100), 'Write a crew as in crews.csv, or leave it empty.'),
    filmLink: optional('film link', line(1000), 'Write the address of the film, or leave it empty.'),
    homePoints: optional(
      'home points',
      integer(0, 300),
      'Write the final points of the home team, or leave it empty.',
    ),
    visitorPoints: optional(
      'visitor points',
      integer(0, 300),
      'Write the final points of the visiting team, or leave it empty.',
    ),
  },
  key: ['season', 'game'],
  check(row) {
    const found = [];
    if (row.home === row.visitor) {
      const problem = 'The home team is also the visitor.';
      found.push({ column: 'visitor' as const, problem, fix: 'Write two different teams.' });
    }
    if ((row.homePoints === null) !== (row.visitorPoints === null)) {
      const column = row.homePoints === null ? ('homePoints' as const) : ('visitorPoints' as const);
      const problem = 'A final score has the points of both teams.';
      found.push({ column, problem, fix: 'Write the points of both teams, or of neither.' });
    }
    return found;
  },
});

export const schedule = fileKind({
  format: scheduleFormat,
  staging: [
    { name: 'season', type: 'text' },
    { name: 'week', type: 'integer' },
    { name: 'game', type: 'text' },
    { name: 'kickoff', type: 'timestamp' },
    { name: 'home_id', type: 'uuid' },
    { name: 'visitor_id', type: 'uuid' },
    { name: 'venue_id', type: 'uuid' },
    { name: 'crew_id', type: 'uuid' },
    { name: 'film_link', type: 'text' },
    { name: 'home_points', type: 'integer' },
    { name: 'visitor_points', type: 'integer' },
  ],
  unique: [
    {
      columns: ['season', 'game'],
      heading: 'game',
      shows: 'game',
      says: 'has the same game of the same season',
    },
  ],
  async open(client, conferenceId) {
    const teams = await idsByName(client, conferenceId, 'team');
    const venues = await idsByName(client, conferenceId, 'venue');
    const { rows } = await client.query<{ season: string; name: string; id: string }>(
      `SELECT n.name AS season, c.name, c.id
         FROM crew c JOIN season n ON n.conference_id = c.conference_id AND n.id = c.season_id
        WHERE c.conference_id = $1`,
      [conferenceId],
    );
    const crews = new Map(rows.map((row) => [`${row.season}\n${row.name}`, row.id]));
    const seasonIsThere = await checkSeasons(client, conferenceId);
    return (row, tell) => {
      if (!seasonIsThere(row, tell, tell)) return undefined;
      const team = (column: 'home' | 'visitor') => {
        const id = teams.get(row[column]);
        if (id === undefined) {
          tell(
            column,
            row[column],
            'There is no team of this name.',
            'Write the team as in teams.csv, and import teams.csv first.',
          );
        }
        return id;
      };
      const home = team('home');
      const visitor = team('visitor');
      const venue = venues.get(row.venue);
      if (venue === undefined) {
        tell(
          'venue',
          row.venue,
          'There is no venue of this name.',
          'Write the venue as in venues.csv, and import venues.csv first.',
        );
      }
      const crew = row.crew === null ? null : crews.get(`${row.season}\n${row.crew}`);
      if (crew === undefined) {
        tell(
          'crew',
          row.crew ?? '',
          'There is no crew of this name in the season.',
          'Write the crew as in crews.csv, and import crews.csv first.',
        );
      }
      if (home === undefined || visitor === undefined || venue === undefined || crew === undefined)
        return undefined;
      return [
        row.season,
        row.week,
        row.game,
        row.kickoff,
        home,
        visitor,
        venue,
        crew,
        row.filmLink,
        row.homePoints,
        row.visitorPoints,
      ];
    };
  },
  /** A time of day that daylight saving time skips at the venue; a day outside the season's weeks, where they have days. */
  async check(client, conferenceId) {
    const { rows } = await client.query<{ line: number; kickoff: string; time_zone: string }>(
      `SELECT s.line, to_char(s.kickoff, 'YYYY-MM-DD HH24:MI') AS kickoff, v.time_zone
         FROM staged s JOIN venue v ON v.conference_id = $1 AND v.id = s.venue_id
        WHERE (s.kickoff AT TIME ZONE v.time_zone) AT TIME ZONE v.time_zone <> s.kickoff
        ORDER BY s.line`,
      [conferenceId],
    );
    const outside = await client.query<{
      line: number;
      kickoff: string;
      season: string;
      from: string;
      to: string;
    }>(
      `SELECT s.line, to_char(s.kickoff, 'YYYY-MM-DD HH24:MI') AS kickoff, s.season, w.from, w.to
         FROM staged s JOIN season n ON n.conference_id = $1 AND n.name = s.season
         CROSS JOIN LATERAL (SELECT min(first_day)::text AS from, max(last_day)::text AS to FROM season_week w
                              WHERE w.conference_id = $1 AND w.season_id = n.id) w
        WHERE s.kickoff::date < w.from::date OR s.kickoff::date > w.to::date
        ORDER BY s.line`,
      [conferenceId],
    );
    const days = outside.rows.map((row) => ({
      line: row.line,
      column: 'kickoff',
      value: row.kickoff,
      problem: `Season ${row.season} lasts from ${row.from} to ${row.to}; this day is outside its weeks.`,
      fix: 'Correct the date, or add the week on the Seasons page.',
    }));
    const skipped = rows.map((row) => ({
      line: row.line,
      column: 'kickoff',
      value: row.kickoff,
      problem: `Daylight saving time skips this time of day in ${row.time_zone}.`,
      fix: 'Write the time that clocks at the venue show at kickoff.',
    }));
    return [...skipped, ...days];
  },
  async merge(client, conferenceId, present) {
    await openFirstSeason(client, conferenceId);
    return countMerged(
      client,
      `INSERT INTO game AS g
         (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id, crew_id, film_link,
          home_points, visitor_points)
       SELECT $1, n.id, s.game, s.week, s.kickoff AT TIME ZONE v.time_zone, s.home_id, s.visitor_id, s.venue_id,
              s.crew_id, s.film_link, s.home_points, s.visitor_points
         FROM staged s
         JOIN season n ON n.conference_id = $1 AND n.name = s.season
         JOIN venue v ON v.conference_id = $1 AND v.id = s.venue_id
       ON CONFLICT (conference_id, season_id, key) DO UPDATE
         SET week = excluded.week, kickoff = excluded.kickoff, home_team_id = excluded.home_team_id,
             visiting_team_id = excluded.visiting_team_id, venue_id = excluded.venue_id,
             crew_id = CASE WHEN $2 THEN excluded.crew_id ELSE g.crew_id END,
             film_link = CASE WHEN $3 THEN excluded.film_link ELSE g.film_link END,
             home_points = CASE WHEN $4 THEN excluded.home_points ELSE g.home_points END,
             visitor_points = CASE WHEN $4 THEN excluded.visitor_points ELSE g.visitor_points END
         WHERE (g.week, g.kickoff, g.home_team_id, g.visiting_team_id, g.venue_id) IS DISTINCT FROM
               (excluded.week, excluded.kickoff, excluded.home_team_id, excluded.visiting_team_id, excluded.venue_id)
            OR ($2 AND g.crew_id IS DISTINCT FROM excluded.crew_id)
            OR ($3 AND g.film_link IS DISTINCT FROM excluded.film_link)
            OR ($4 AND (g.home_points, g.visitor_points)
                       IS DISTINCT FROM (excluded.home_points, excluded.visitor_points))
       RETURNING (xmax = 0) AS added`,
      [
        conferenceId,
        present.has('crew'),
        present.has('filmLink'),
        present.has('homePoints') && present.has('visitorPoints'),
      ],
    );
  },
});
