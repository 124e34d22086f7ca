// @module-tag long
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { demoSeason } from '../support/demo-season.ts';
import { type SignedInAgent, signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
const demo = demoSeason();

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

test('seasons, games, teams and crews read back what was imported', async () => {
  const [season] = (await coordinator.get('/api/seasons')).body;
  expect(season).toMatchObject({ id: database.seasonId, name: demo.conference.season });
  const games = (await coordinator.get(`/api/seasons/${season.id}/games`)).body;
  expect(games.map((game: { key: string }) => game.key).sort()).toEqual(
    demo.games.map(({ key }) => key).sort(),
  );
  const week = (await coordinator.get(`/api/seasons/${season.id}/games?week=3`)).body;
  expect(week.length).toBe(demo.games.filter((game) => game.week === 3).length);
  expect((await coordinator.get('/api/teams')).body).toHaveLength(10);
  const crews = (await coordinator.get(`/api/seasons/${season.id}/crews`)).body;
  expect(crews).toHaveLength(8);
  for (const crew of crews) expect(crew.officials).toHaveLength(8);
});

test('one game comes with the crew that really worked it', async () => {
  const [game] = (await coordinator.get(`/api/seasons/${database.seasonId}/games`)).body;
  const { workingCrew } = (await coordinator.get(`/api/games/${game.id}`)).body;
  expect(workingCrew.map((member: { position: string }) => member.position)).toEqual([
    'referee',
    'umpire',
    'center judge',
    'head linesman',
    'line judge',
    'side judge',
    'field judge',
    'back judge',
  ]);
});

test('a wrong id or week is refused by name, and an official cannot read crews', async () => {
  const wrong = await coordinator.get('/api/seasons/nonsense/games');
  expect(wrong.status).toBe(400);
  expect(JSON.parse(wrong.text).errors[0].field).toBe('params.seasonId');
  const week = await coordinator.get(`/api/seasons/${database.seasonId}/games?week=99`);
  expect(JSON.parse(week.text).errors[0].field).toBe('querystring.week');
  const official = await signedInAgent(app, database.signIns.official, demoPassword);
  expect((await official.get(`/api/seasons/${database.seasonId}/crews`)).status).toBe(403);
  expect((await supertest(app.server).get('/api/seasons')).status).toBe(401);
});
