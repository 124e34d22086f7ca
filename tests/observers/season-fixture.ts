import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import type { TestDatabase } from '../support/test-database.ts';

/** A conference with a season of two played weeks and one to come, small enough to know by heart. */
export interface SeasonFixture {
  conferenceId: string;
  seasonId: string;
  teams: string[];
  crews: string[];
  /** Three weeks of two games; week 1 is reported on. */
  games: { id: string; week: number }[];
  observers: TestPerson[];
  officials: TestPerson[];
}

const positions = ['referee', 'umpire', 'head linesman', 'line judge'];

/**
 * Four teams on one meridian, a degree of latitude (about 69 miles) apart from 36 to 39 north, each at its own venue;
 * two crews of four; three observers who live where the first three venues are.
 */
export async function makeSeason(database: TestDatabase): Promise<SeasonFixture> {
  const db = database.pool;
  const one = async (sql: string, values: unknown[]): Promise<string> =>
    (await db.query(sql, values)).rows[0].id;
  const conferenceId = await makeConference(db);
  const seasonId = await one(
    'INSERT INTO season (conference_id, name, crew_size) VALUES ($1, $2, 4) RETURNING id',
    [conferenceId, '2026'],
  );
  const teams: string[] = [];
  const venues: string[] = [];
  for (let n = 0; n < 4; n += 1) {
    const venue = await one(
      `INSERT INTO venue (conference_id, name, latitude, longitude, time_zone)
       VALUES ($1, $2, $3, -90, 'America/Chicago') RETURNING id`,
      [conferenceId, `Field ${n}`, 36 + n],
    );
    venues.push(venue);
    teams.push(
      await one('INSERT INTO team (conference_id, name, venue_id) VALUES ($1, $2, $3) RETURNING id', [
        conferenceId,
        `Team ${n}`,
        venue,
      ]),
    );
  }
  const officials: TestPerson[] = [];
  const crews: string[] = [];
  for (let n = 0; n < 2; n += 1) {
    const crew = await one(
      'INSERT INTO crew (conference_id, season_id, name) VALUES ($1, $2, $3) RETURNING id',
      [conferenceId, seasonId, `Crew ${n}`],
    );
    crews.push(crew);
    for (const position of positions) {
      const official = await makePerson(db, conferenceId, ['official'], { familyName: `${position} ${n}` });
      officials.push(official);
      await db.query(
        'INSERT INTO crew_member (conference_id, crew_id, position, person_id) VALUES ($1, $2, $3, $4)',
        [conferenceId, crew, position, official.personId],
      );
    }
  }
  const games: SeasonFixture['games'] = [];
  for (let week = 1; week <= 3; week += 1)
    for (let slot = 0; slot < 2; slot += 1)
      games.push({
        week,
        id: await one(
          `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id, crew_id)
           VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id`,
          [
            conferenceId,
            seasonId,
            `W${week}-${slot}`,
            week,
            `2027-09-${String(4 + 7 * (week - 1)).padStart(2, '0')}T18:00:00Z`,
            teams[2 * slot],
            teams[2 * slot + 1],
            venues[2 * slot],
            crews[(slot + week) % 2],
          ],
        ),
      });
  const observers: TestPerson[] = [];
  for (let n = 0; n < 3; n += 1) {
    const observer = await makePerson(db, conferenceId, ['observer'], {
      givenName: 'Observer',
      familyName: `N${n}`,
    });
    observers.push(observer);
    await db.query(
      'UPDATE person SET home_latitude = $3, home_longitude = -90 WHERE conference_id = $1 AND id = $2',
      [conferenceId, observer.personId, 36 + n],
    );
    await db.query(
      'INSERT INTO observer_profile (conference_id, person_id, weekly_limit) VALUES ($1, $2, 1)',
      [conferenceId, observer.personId],
    );
  }
  for (const [slot, game] of games.filter(({ week }) => week === 1).entries()) {
    await db.query(
      `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer) VALUES ($1, $2, $3, 'in person', 'accepted')`,
      [conferenceId, game.id, observers[slot]?.personId],
    );
    await db.query(
      'INSERT INTO report (conference_id, season_id, game_id, observer_id) VALUES ($1, $2, $3, $4)',
      [conferenceId, seasonId, game.id, observers[slot]?.personId],
    );
  }
  return { conferenceId, seasonId, teams, crews, games, observers, officials };
}
