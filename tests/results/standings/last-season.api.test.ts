// @module-tag long
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { Draws } from '../../../seed-demo/draws.ts';
import { type OneGame, oneGame } from '../../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { makeUmpires, releaseUmpires } from '../../support/umpires.ts';

/** Two seasons of sixteen umpires, of whom two came new to the second; the second is two games each so far. */
let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let nextId: string;
const officials: string[] = [];
const draws = new Draws(9, 'two seasons of umpires');

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 14);
  const { conferenceId } = game;
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
  officials.push(...(await makeUmpires(database, conferenceId, 18)));
  await database.pool.query('UPDATE season SET minimum_games = 1, minimum_opportunities = 1');
  const skill = officials.map(() => draws.normal(0, 1));
  await releaseUmpires(
    database,
    game,
    { ...game, key: 'first' },
    officials.slice(0, 16),
    skill.slice(0, 16),
    8,
  );
  await coordinator
    .post(`/seasons/${game.seasonId}/next`)
    .type('form')
    .send({ name: 'The second season', firstDay: '2032-08-30', weeks: '9', firstWeek: '1' })
    .expect(303);
  const { rows } = await database.pool.query<{ id: string; version: string }>(
    `SELECT s.id, v.id AS version FROM season s JOIN rubric_version v ON v.season_id = s.id
      WHERE s.name = 'The second season'`,
  );
  nextId = rows[0]!.id;
  await releaseUmpires(
    database,
    game,
    { seasonId: nextId, rubricVersionId: rows[0]!.version, key: 'second' },
    officials.slice(2),
    skill.slice(2),
    2,
  );
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const standings = async () => (await coordinator.get(`/api/seasons/${nextId}/standings`).expect(200)).body;
type Line = { personId: string; raw: number; adjusted: { grade: number; standardError: number } };
const keep = (lastSeason: string, status = 200) =>
  coordinator.put(`/api/seasons/${nextId}/standings/last-season`).send({ lastSeason }).expect(status);
const words = async (agent: SignedInAgent, address: string) =>
  parseHTML((await agent.get(address).expect(200)).text)
    .document.querySelector('main')!
    .textContent!.replaceAll(/\s+/g, ' ');

test('only if the coordinator says so, the season before makes grades surer; pages and the official’s own say it', async () => {
  // By one model, so that what differs is the season before.
  await coordinator.put(`/api/seasons/${nextId}/standings/model`).send({ model: 'counts' }).expect(200);
  const alone = await standings();
  expect(alone.lastSeason).toBeNull();
  const about = `/seasons/${nextId}/officials/${officials[5]}/grade`;
  const official = await inSessionOf(app, { conferenceId: game.conferenceId, personId: officials[5]! });
  expect(await words(official, about)).not.toContain('this grade also rests on');
  await keep('taken in');
  const both = await standings();
  expect(both.lastSeason).toMatchObject({
    seasonId: game.seasonId,
    officials: 14,
    newcomers: 2,
    reason: null,
  });
  expect(both.lastSeason.correlation).toBeGreaterThan(0.4);
  const errorOf = (lines: Line[], who: readonly string[]) =>
    who.reduce((sum, id) => sum + lines.find((line) => line.personId === id)!.adjusted.standardError, 0) /
    who.length;
  const stayed = officials.slice(2, 16);
  expect(errorOf(both.lines, stayed)).toBeLessThan(0.95 * errorOf(alone.lines, stayed));
  const newcomers = officials.slice(16);
  expect(errorOf(both.lines, newcomers)).toBeGreaterThan(0.95 * errorOf(alone.lines, newcomers));
  // Grades as marked are this season's.
  expect(both.lines.map(({ raw }: Line) => raw).sort()).toEqual(
    alone.lines.map(({ raw }: Line) => raw).sort(),
  );
  expect(await words(coordinator, `/seasons/${nextId}/standings?position=umpire`)).toMatch(
    /what 14 officials showed in .* is taken in beside this season's reports.*The 2 others are graded by this season alone.*stayed is estimated at 0\.\d\d/,
  );
  expect(await words(official, about)).toContain('this grade also rests on what you showed in');
  expect(await words(coordinator, `/seasons/${nextId}/officials/${officials[5]}/why`)).toMatch(
    /By this season alone/,
  );
});

test('the season before counted anew is taken in anew; a closed season keeps the setting', async () => {
  const first = await standings();
  await database.pool.query(
    `UPDATE opportunity_count SET not_met = not_met + 4 WHERE person_id = $1 AND report_id IN (SELECT id FROM report WHERE season_id = $2)`,
    [officials[5], game.seasonId],
  );
  const gradeOf = (of: { lines: Line[] }) =>
    of.lines.find(({ personId }) => personId === officials[5])!.adjusted.grade;
  expect(gradeOf(await standings())).toBeLessThan(gradeOf(first));
  await database.pool.query("UPDATE season SET state = 'running' WHERE id = $1", [nextId]);
  await database.pool.query("UPDATE season SET state = 'closed', closed_at = now() WHERE id = $1", [nextId]);
  await keep('left out', 409);
});

test('settings offer it only where there is a season before; what is no choice is refused by name', async () => {
  expect(await words(coordinator, `/seasons/${game.seasonId}/settings`)).not.toContain(
    'What adjusted grades rest on',
  );
  expect(await words(coordinator, `/seasons/${nextId}/settings`)).toContain('What adjusted grades rest on');
  const refused = await coordinator
    .put(`/api/seasons/${game.seasonId}/standings/last-season`)
    .send({ lastSeason: 'always' })
    .expect(400);
  expect(JSON.stringify(refused.body)).toContain('lastSeason must be one of: left out, taken in');
  await coordinator
    .put(`/api/seasons/${game.seasonId}/standings/last-season`)
    .send({ lastSeason: 'taken in' })
    .expect(200);
  const { body } = await coordinator.get(`/api/seasons/${game.seasonId}/standings`).expect(200);
  expect(body.lastSeason).toBeNull();
});
