// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { newestEntries } from '../../server/accounts/audit/audit-reading.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { readCrews, readGames } from '../../server/schedule/schedule-store.ts';
import { openSeason } from '../../server/schedule/season-states.ts';
import { setWeeks, weeksFrom } from '../../server/schedule/season-weeks.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// Venues, teams, crews and games entered and corrected one by one on their pages.

let database: TestDatabase;
let app: FastifyInstance;
let conferenceId: string;
let seasonId: string;
let agent: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});
beforeEach(async () => {
  conferenceId = await makeConference(database.pool);
  ({ agent } = await personSignedIn(app, conferenceId, ['coordinator']));
  seasonId = await inTransaction(database.pool, (client) =>
    openSeason(client, { conferenceId, personId: null }, { name: '2031', crewSize: 4 }),
  );
});

const send = (url: string, form: object) => agent.post(url).type('form').send(form);
const field = {
  name: 'Quarry Field',
  place: 'Stonebridge',
  coordinates: '41.5, -93.5',
  timeZone: 'America/Denver',
};
const idOf = async (table: 'venue' | 'team' | 'crew' | 'game', name: string, column = 'name') => {
  const { rows } = await database.pool.query<{ id: string }>(
    `SELECT id FROM ${table} WHERE conference_id = $1 AND ${column} = $2`,
    [conferenceId, name],
  );
  return rows[0]?.id;
};
const lastAct = async () => (await newestEntries(database.pool, conferenceId, { most: 1 }))[0]!;

async function twoTeams() {
  await send('/venues/add', field).expect(303);
  const venueId = (await idOf('venue', 'Quarry Field'))!;
  await send('/teams/add', { name: 'Herons', venueId }).expect(303);
  await send('/teams/add', { name: 'Badgers' }).expect(303);
  return { venueId, herons: (await idOf('team', 'Herons'))!, badgers: (await idOf('team', 'Badgers'))! };
}

describe('venues and teams', () => {
  test('are added, listed and corrected', async () => {
    const { venueId, herons } = await twoTeams();
    const list = (await agent.get('/teams').expect(200)).text;
    for (const text of ['Quarry Field', 'Stonebridge', '41.5, -93.5', 'Herons', 'Badgers']) {
      expect(list).toContain(text);
    }
    expect((await agent.get(`/venues/${venueId}`)).text).toContain('value="41.5, -93.5"');
    await send(`/venues/${venueId}`, { ...field, name: 'Quarry Park' }).expect(303);
    expect(await lastAct()).toMatchObject({
      action: 'venue corrected',
      before: { name: 'Quarry Field' },
      after: { name: 'Quarry Park' },
    });
    await send(`/teams/${herons}`, { name: 'Grey Herons', venueId: '' }).expect(303);
    expect(await lastAct()).toMatchObject({ action: 'team corrected', after: { venueId: null } });
    expect(await idOf('team', 'Herons')).toBeUndefined();
  });

  test('a new venue is proposed in the conference’s zone; the next form says what was added', async () => {
    expect((await agent.get('/venues/add')).text).toContain('value="America/Chicago"');
    const answer = await send('/venues/add', { ...field, next: 'another' }).expect(303);
    expect((await agent.get(answer.headers.location!)).text).toContain('Added: Quarry Field.');
  });

  test('what is wrong is said beside its field, and what was typed stays', async () => {
    const wrong = await send('/venues/add', { ...field, coordinates: 'up the hill', timeZone: 'CST' });
    expect(wrong.status).toBe(400);
    expect(wrong.text).toContain('value="up the hill"');
    expect(wrong.text).toMatch(/id="wrong-coordinates">Write degrees north and east/);
    await twoTeams();
    const twice = await send('/venues/add', field);
    expect(twice.status).toBe(409);
    expect(twice.text).toMatch(/id="wrong-name">There is a venue of this name already/);
    expect((await send('/teams/add', { name: ' ' })).text).toMatch(
      /id="wrong-name">Write the name of the team/,
    );
    expect((await agent.get('/teams/add')).text).not.toContain('There is no venue yet');
  });

  test('of another conference are not there', async () => {
    const { venueId } = await twoTeams();
    const other = await personSignedIn(app, await makeConference(database.pool), ['coordinator']);
    await other.agent.get(`/venues/${venueId}`).expect(404);
    await other.agent.post(`/venues/${venueId}`).type('form').send(field).expect(404);
    await other.agent.post('/teams/add').type('form').send({ name: 'Ours', venueId }).expect(404);
  });
});

describe('crews', () => {
  const positions = ['referee', 'umpire', 'head linesman', 'line judge'];
  const officials = (count: number) =>
    Promise.all(Array.from({ length: count }, () => makePerson(database.pool, conferenceId, ['official'])));
  const seats = (people: { personId: string }[]) =>
    Object.fromEntries(people.map(({ personId }, at) => [`member-${positions[at]}`, personId]));
  const crews = () => readCrews(database.pool, conferenceId, seasonId);

  test('without officials a crew can be named, and the page says where officials come from', async () => {
    const { text } = await agent.get(`/seasons/${seasonId}/crews/add`).expect(200);
    expect(text).toContain('There are no officials to choose from yet');
    expect(text).toContain('value="Crew 1"');
    await send(`/seasons/${seasonId}/crews/add`, { name: 'Crew 1' }).expect(303);
    expect((await agent.get('/crews').redirects(2)).text).toContain('0 of 4');
  });

  test('are added and corrected with their members; two may change places', async () => {
    const people = await officials(4);
    await send(`/seasons/${seasonId}/crews/add`, { name: 'North', ...seats(people) }).expect(303);
    const id = (await idOf('crew', 'North'))!;
    const [one, two, ...rest] = people;
    await send(`/seasons/${seasonId}/crews/${id}`, { name: 'North', ...seats([two!, one!, ...rest]) }).expect(
      303,
    );
    const [crew] = await crews();
    expect(crew!.officials.map((member) => member.official.id)).toEqual(
      [two!, one!, ...rest].map(({ personId }) => personId),
    );
    expect(await lastAct()).toMatchObject({
      action: 'crew corrected',
      before: { referee: one!.personId },
      after: { referee: two!.personId },
    });
    expect((await agent.get(`/seasons/${seasonId}/crews`)).text).toContain('4 officials');
  });

  test('nobody works two positions, and only officials work', async () => {
    const [one] = await officials(1);
    const observer = await makePerson(database.pool, conferenceId, ['observer']);
    const answer = await send(`/seasons/${seasonId}/crews/add`, {
      name: 'Kept name',
      'member-referee': one!.personId,
      'member-umpire': one!.personId,
      'member-line judge': observer.personId,
    });
    expect(answer.status).toBe(409);
    expect(answer.text).toContain('Already the referee of this crew');
    expect(answer.text).toContain('Choose an official from the list.');
    expect(answer.text).toContain('value="Kept name"');
    expect(await crews()).toHaveLength(0);
  });
});

describe('games', () => {
  const games = () => readGames(database.pool, conferenceId, { seasonId });

  test('without venues and teams the page says what it lacks and leads there', async () => {
    const { text } = await agent.get('/games/add').redirects(2).expect(200);
    expect(text).toContain('A game needs a venue, and there is none yet');
    expect(text).toContain('href="/teams/add"');
    const answer = await send(`/seasons/${seasonId}/games/add`, { week: '2' });
    expect(answer.status).toBe(400);
    expect(answer.text).toMatch(/id="wrong-homeTeamId">Choose the home team/);
  });

  test('are added at the home team’s venue, in its time zone, with a key of their own', async () => {
    const { herons, badgers, venueId } = await twoTeams();
    const game = { week: '3', kickoff: '2031-09-20T19:00', homeTeamId: herons, visitingTeamId: badgers };
    await send(`/seasons/${seasonId}/games/add`, { ...game, next: 'another' }).expect(303);
    await send(`/seasons/${seasonId}/games/add`, game).expect(303);
    // Denver is six hours behind UTC in September.
    expect(await games()).toMatchObject([
      {
        key: 'W03-BAD-HER',
        week: 3,
        kickoff: '2031-09-21T01:00:00.000Z',
        venue: { id: venueId },
        crew: null,
      },
      { key: 'W03-BAD-HER-2' },
    ]);
    expect((await agent.get(`/seasons/${seasonId}/games/add`)).text).toMatch(/name="week"[^>]*value="3"/);
  });

  test('are corrected: everything shows as it was entered, and is kept as it is now', async () => {
    const { herons, badgers } = await twoTeams();
    const game = { week: '3', kickoff: '2031-09-20T19:00', homeTeamId: herons, visitingTeamId: badgers };
    await send(`/seasons/${seasonId}/games/add`, game).expect(303);
    const [before] = await games();
    const form = (await agent.get(`/games/${before!.id}/change`).expect(200)).text;
    expect(form).toContain('value="2031-09-20T19:00"');
    expect(form).toContain('value="W03-BAD-HER"');
    const change = { ...game, kickoff: '2031-09-20T18:30', homeTeamId: badgers, visitingTeamId: herons };
    const lost = await send(`/games/${before!.id}/change`, change);
    expect(lost.status).toBe(409);
    expect(lost.text).toContain('Badgers has no home venue; choose where the game is played.');
    await send(`/games/${before!.id}/change`, { ...change, venueId: before!.venue.id }).expect(303);
    expect(await games()).toMatchObject([
      { id: before!.id, key: 'W03-BAD-HER', home: { name: 'Badgers' }, kickoff: '2031-09-21T00:30:00.000Z' },
    ]);
    expect(await lastAct()).toMatchObject({
      action: 'game corrected',
      before: { kickoff: '2031-09-20T19:00' },
      after: { kickoff: '2031-09-20T18:30' },
    });
  });

  test('a closed season takes neither game nor crew; a season with weeks takes games of those', async () => {
    const { herons, badgers } = await twoTeams();
    const game = { week: '3', kickoff: '2031-09-20T19:00', homeTeamId: herons, visitingTeamId: badgers };
    await inTransaction(database.pool, (client) =>
      setWeeks(client, conferenceId, seasonId, weeksFrom('2031-09-01', 2)),
    );
    const late = await send(`/seasons/${seasonId}/games/add`, game);
    expect(late.text).toMatch(/id="wrong-week">The season has weeks 1 to 2;/);
    await send(`/seasons/${seasonId}/games/add`, { ...game, week: '2' }).expect(303);
    await database.pool.query(
      "UPDATE season SET state = 'closed', closed_at = now() WHERE conference_id = $1 AND id = $2",
      [conferenceId, seasonId],
    );
    const closed = await send(`/seasons/${seasonId}/games/add`, { ...game, week: '1' });
    expect(closed.status).toBe(409);
    expect(closed.text).toMatch(/id="wrong-week">Season 2031 is closed: it can only be read./);
    expect((await send(`/seasons/${seasonId}/crews/add`, { name: 'Late' })).text).toMatch(
      /id="wrong-name">Season 2031 is closed/,
    );
    expect(await games()).toHaveLength(1);
  });

  test('what cannot be is refused beside its field', async () => {
    const { herons, badgers, venueId } = await twoTeams();
    const game = { week: '3', kickoff: '2031-09-20T19:00', homeTeamId: herons, visitingTeamId: badgers };
    const refused = async (change: object, field: string, says: RegExp) => {
      const answer = await send(`/seasons/${seasonId}/games/add`, { ...game, ...change });
      expect([400, 409]).toContain(answer.status);
      expect(answer.text).toMatch(new RegExp(`id="wrong-${field}">${says.source}`));
    };
    await refused({ visitingTeamId: herons }, 'visitingTeamId', /The home team is also the visitor/);
    await refused({ week: '' }, 'week', /Write/);
    await refused({ kickoff: '20 September' }, 'kickoff', /Write date and time of day/);
    // Clocks in Denver go from 2:00 to 3:00 on 14 March 2032.
    await refused({ kickoff: '2032-03-14T02:30' }, 'kickoff', /Daylight saving time skips/);
    await refused({ crewId: venueId }, 'crewId', /Choose a crew of this season/);
    await refused({ filmLink: 'javascript:alert(1)' }, 'filmLink', /Write an address that begins with https/);
    expect(await games()).toHaveLength(0);
    await send(`/seasons/${seasonId}/games/add`, { ...game, key: 'opener' }).expect(303);
    await refused({ key: 'opener' }, 'key', /Another game of the season has this key/);
  });
});
