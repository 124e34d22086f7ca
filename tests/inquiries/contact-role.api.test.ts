// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// The fourth role: one team each, no other role beside it, and of the conference only the games of that team.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let teams: { id: string; name: string }[];
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 3);
  await database.pool.query("INSERT INTO team (conference_id, name) VALUES ($1, 'Bystanders')", [
    game.conferenceId,
  ]);
  coordinator = await inSessionOf(app, { ...game, personId: game.coordinatorId });
  teams = (await coordinator.get('/api/teams')).body;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const ivo = (more: object) => ({
  email: 'ivo.castellane@team.test',
  givenName: 'Ivo',
  familyName: 'Castellane',
  roles: ['team contact'],
  ...more,
});

test('a contact is invited for exactly one team, and has no other role', async () => {
  const without = await coordinator.post('/api/people').send(ivo({}));
  expect([without.status, without.body.errors]).toEqual([
    400,
    [{ field: 'teamId', message: 'Choose the team that they speak for.' }],
  ]);
  const nowhere = await coordinator.post('/api/people').send(ivo({ teamId: game.gameId }));
  expect([nowhere.status, nowhere.body.errors[0].field]).toEqual([400, 'teamId']);
  const both = await coordinator
    .post('/api/people')
    .send(ivo({ roles: ['official', 'team contact'], teamId: teams[0]!.id }));
  expect([both.status, both.body.errors[0].message]).toEqual([
    400,
    expect.stringContaining('A team’s contact has no other role'),
  ]);
  const made = await coordinator.post('/api/people').send(ivo({ teamId: teams[0]!.id }));
  expect([made.status, made.body.person.team]).toEqual([201, { id: teams[0]!.id, name: teams[0]!.name }]);
  const moved = await coordinator
    .patch(`/api/people/${made.body.person.id}`)
    .send({ roles: ['team contact'], teamId: teams[1]!.id });
  expect([moved.status, moved.body.team.name]).toEqual([200, teams[1]!.name]);
  const left = await coordinator.patch(`/api/people/${made.body.person.id}`).send({ roles: ['official'] });
  expect(left.body.team).toBeNull();
});

test('the page of a person keeps what was typed when the team is missing, and names it', async () => {
  const form = (more: object) =>
    coordinator
      .post('/people/invite')
      .type('form')
      .send({ ...ivo({ email: 'una.brackwell@team.test', givenName: 'Una' }), ...more });
  const refused = await form({});
  expect([refused.status, refused.text.includes('Choose the team that they speak for.')]).toEqual([
    409,
    true,
  ]);
  expect(refused.text).toContain('value="una.brackwell@team.test"');
  expect((await form({ teamId: teams[0]!.id })).status).toBe(200);
});

test('the file of people brings contacts with their teams, gives them back, and refuses what does not fit', async () => {
  const send = (...lines: string[]) =>
    coordinator
      .post('/api/imports/staff')
      .type('text/csv')
      .send(['email,given name,family name,roles,team', ...lines].join('\n'));
  const refused = await send(
    'a@team.test,Asta,Ravelin,team contact,',
    `b@team.test,Bram,Ravelin,team contact; observer,${teams[0]!.name}`,
    `c@team.test,Cora,Ravelin,observer,${teams[0]!.name}`,
    'd@team.test,Dov,Ravelin,team contact,Nobody at all',
  );
  expect(
    refused.body.outcome.problems.map(({ line, column }: Record<string, unknown>) => [line, column]),
  ).toEqual([
    [2, 'team'],
    [3, 'roles'],
    [4, 'team'],
    [5, 'team'],
  ]);
  const brought = await send(`a@team.test,Asta,Ravelin,team contact,${teams[0]!.name}`);
  expect([brought.status, brought.body.added]).toEqual([200, 1]);
  const given = await coordinator.get('/api/exports/staff');
  expect(given.text).toContain(`a@team.test,Asta,Ravelin,team contact,${teams[0]!.name}`);
  const again = await send(`a@team.test,Asta,Ravelin,team contact,${teams[1]!.name}`);
  expect([again.body.added, again.body.changed]).toEqual([0, 1]);
});

test('a contact comes to one page with the games of their team, without crews, and no season to choose', async () => {
  const { rows } = await database.pool.query(
    `SELECT h.id AS home, b.id AS bystander, h.name FROM game g JOIN team h ON h.conference_id = g.conference_id AND h.id = g.home_team_id
       JOIN team b ON b.conference_id = g.conference_id AND b.name = 'Bystanders' WHERE g.id = $1`,
    [game.gameId],
  );
  const contactOf = async (teamId: string, email: string) => {
    const { body } = await coordinator.post('/api/people').send(ivo({ teamId, email }));
    return inSessionOf(app, { ...game, personId: body.person.id });
  };
  const contact = await contactOf(rows[0].home, 'home@team.test');
  expect((await contact.get('/')).headers.location).toBe('/my/inquiries');
  const page = await contact.get('/my/inquiries');
  expect([page.status, page.text.includes(`<strong>${rows[0].name}</strong>`)]).toEqual([200, true]);
  expect(page.text).toContain('data-label="Visitor"');
  expect(page.text).not.toContain('season-switch');
  const other = await contactOf(rows[0].bystander, 'bystander@team.test');
  expect((await other.get('/my/inquiries')).text).toContain('has no game in the schedule yet');
  for (const path of ['/desk', '/rubric', '/api/seasons', '/api/teams', `/games/${game.gameId}/plays`])
    expect([path, [403, 404].includes((await contact.get(path)).status)]).toEqual([path, true]);
});
