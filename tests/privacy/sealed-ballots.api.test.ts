// @module-tag long
import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { makePerson } from '../support/people.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { download } from '../support/unzipped.ts';

// A coordinator who gives somebody their data is still nobody to whom a ballot is open.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let member: { personId: string; agent: SignedInAgent };
let late: { personId: string; agent: SignedInAgent };
let official: { personId: string; agent: SignedInAgent };
const selectionId = randomUUID();
const finalId = randomUUID();

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 14);
  const { conferenceId, coordinatorId, seasonId } = game;
  coordinator = await inSessionOf(app, { conferenceId, personId: coordinatorId });
  member = await personSignedIn(app, conferenceId, ['observer']);
  late = await personSignedIn(app, conferenceId, ['observer']);
  official = await personSignedIn(app, conferenceId, ['official']);
  const rival = await makePerson(database.pool, conferenceId, ['official']);
  const { pool } = database;
  await pool.query(
    `INSERT INTO selection (conference_id, id, season_id, title, state, rules, weights, made_by)
     VALUES ($1, $2, $3, 'The final', 'sealed voting', '{}', '{}', $4)`,
    [conferenceId, selectionId, seasonId, coordinatorId],
  );
  await pool.query(
    `INSERT INTO selection_game (conference_id, id, selection_id, name, played_on, crew_size)
     VALUES ($1, $2, $3, 'Final', '2026-12-12', 4)`,
    [conferenceId, finalId, selectionId],
  );
  await pool.query(
    `INSERT INTO selection_member (conference_id, selection_id, person_id, kind, added_by, conflicts_declared_at, sealed_at)
     VALUES ($1, $2, $3, 'invited reader', $5, now(), now()), ($1, $2, $4, 'invited reader', $5, now(), NULL)`,
    [conferenceId, selectionId, member.personId, late.personId, coordinatorId],
  );
  await pool.query(
    `INSERT INTO selection_conflict (conference_id, selection_id, member_id, official_id, reason)
     VALUES ($1, $2, $3, $4, 'CONFLICTTOLD')`,
    [conferenceId, selectionId, late.personId, rival.personId],
  );
  await pool.query(
    `INSERT INTO selection_ballot (conference_id, selection_id, game_id, position, member_id, official_id, vote, note)
     VALUES ($1, $2, $3, 'umpire', $4, $6, 'against', 'SEALEDNOTE'), ($1, $2, $3, 'umpire', $5, $6, 'for', 'NEVERSEALED')`,
    [conferenceId, selectionId, finalId, member.personId, late.personId, official.personId],
  );
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const become = (state: string) =>
  database.pool.query(
    `UPDATE selection SET state = $2, closed_at = CASE WHEN $2 = 'closed' THEN now() END WHERE id = $1`,
    [selectionId, state],
  );
const secrets = ['SEALEDNOTE', 'NEVERSEALED', 'CONFLICTTOLD'];
/** Which of the secrets somebody's data hold, as one downloads them, and whether the ZIP says that some were left out. */
async function told(agent: SignedInAgent, address: string): Promise<[string[], boolean]> {
  const files = await download(agent, address);
  const data = files.get('data.json')!.toString();
  const said = files.get('README.txt')!.toString().includes('Withheld: ballots of a committee');
  return [secrets.filter((one) => data.includes(one)), said];
}
const given = ({ personId }: { personId: string }) => told(coordinator, `/people/${personId}/data.zip`);
const own = ({ agent }: { agent: SignedInAgent }) => told(agent, '/my/data.zip');

test('while ballots are sealed, only whoever wrote one finds it in their data', async () => {
  expect(await given(official)).toEqual([[], true]);
  expect(await given(member)).toEqual([[], true]);
  expect(await given(late)).toEqual([[], true]);
  expect(await own(official)).toEqual([[], false]);
  expect(await own(member)).toEqual([['SEALEDNOTE'], false]);
  expect(await own(late)).toEqual([['NEVERSEALED', 'CONFLICTTOLD'], false]);
});

test('opened, a coordinator gives what was counted; what was never sealed stays its member’s', async () => {
  await become('opened');
  expect(await given(official)).toEqual([['SEALEDNOTE'], true]);
  expect(await given(member)).toEqual([['SEALEDNOTE'], false]);
  expect(await given(late)).toEqual([['CONFLICTTOLD'], true]);
  expect(await own(official)).toEqual([[], false]);
  expect(await own(late)).toEqual([['NEVERSEALED', 'CONFLICTTOLD'], false]);
});

test('closed, an official’s own data hold what was counted of them', async () => {
  await become('closed');
  expect(await own(official)).toEqual([['SEALEDNOTE'], false]);
});
