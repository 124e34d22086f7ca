// @module-tag long
import { readdirSync, readFileSync } from 'node:fs';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { recountGames } from '../../server/reports/review/corrections.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { type GameFigures, gameFromMarks } from '../support/game-from-marks.ts';

let database: DemoDatabase;
beforeAll(async () => {
  database = await demoDatabase();
});
afterAll(() => database?.drop());

type Row = GameFigures;
const figures = `person_id, position, duty_key, opportunities, not_met, not_counted, differed, model, cost_none,
                 cost_yards, cost_possession, cost_score`;
const kept = async (gameId?: string) =>
  (
    await database.pool.query<Row>(
      `SELECT game_id, ${figures} FROM game_count WHERE $1::uuid IS NULL OR game_id = $1
        ORDER BY game_id, person_id, position, duty_key`,
      [gameId ?? null],
    )
  ).rows;

const doubleGames = async () =>
  (
    await database.pool.query<{ id: string; version: string }>(
      `SELECT game_id AS id, min(rubric_version_id::text) AS version FROM report WHERE state = 'released'
        GROUP BY game_id HAVING count(*) = 2 ORDER BY game_id`,
    )
  ).rows;

const recounted = (gameId: string, versionId: string) => gameFromMarks(database, gameId, versionId);

test('games seen twice are what their plays and marks give', async () => {
  const games = await doubleGames();
  expect(games.length).toBeGreaterThan(10);
  let missed = 0;
  for (const { id, version } of games) {
    const expected = await recounted(id, version);
    const order = (row: Row) => `${row.person_id} ${row.position} ${row.duty_key}`;
    const found = (await kept(id)).sort((a, b) => (order(a) < order(b) ? -1 : 1));
    expect(found).toEqual(expected);
    missed += expected.reduce((sum, row) => sum + Number(row.not_met), 0);
  }
  expect(missed).toBeGreaterThan(300);
});

test('games seen once are what their report counts', async () => {
  const { rows } = await database.pool.query(
    `SELECT count(*)::int AS rows, count(*) FILTER (WHERE (g.opportunities, g.not_met, g.not_counted, g.model, g.person_id)
              IS DISTINCT FROM (c.opportunities, c.not_met, c.not_counted, c.model, c.person_id))::int AS others
       FROM report r
       JOIN opportunity_count c ON c.report_id = r.id AND c.opportunities > 0
       LEFT JOIN game_count g ON g.game_id = r.game_id AND g.position = c.position AND g.duty_key = c.duty_key
      WHERE r.state = 'released'
        AND NOT EXISTS (SELECT FROM report o WHERE o.game_id = r.game_id AND o.id <> r.id AND o.state = 'released')`,
  );
  expect(rows[0].rows).toBeGreaterThan(5000);
  expect(rows[0].others).toBe(0);
});

test('no game counts without a released report, and all with one do', async () => {
  const { rows } = await database.pool.query(
    `SELECT (SELECT count(DISTINCT game_id)::int FROM game_count) AS counted,
            (SELECT count(DISTINCT game_id)::int FROM report WHERE state = 'released') AS released`,
  );
  expect(rows[0].counted).toBe(rows[0].released);
});

test('a play log corrected is followed, and counted again is the same', async () => {
  const [game] = await doubleGames();
  const before = await kept(game!.id);
  const { rows } = await database.pool.query<{ id: string }>(
    `SELECT p.id FROM play p JOIN observation o ON o.play_id = p.id JOIN report r ON r.id = o.report_id
      WHERE p.game_id = $1 AND r.state = 'released' AND o.finding = 'missed' AND p.removed_at IS NULL
      ORDER BY p.number LIMIT 1`,
    [game!.id],
  );
  const acting = { conferenceId: database.conferenceId, personId: null };
  const recount = (reason: string) =>
    inTransaction(database.pool, (client) => recountGames(client, acting, [game!.id], reason));
  await recount('Looked at again');
  expect(await kept(game!.id)).toEqual(before);
  await database.pool.query('UPDATE play SET removed_at = now() WHERE id = $1', [rows[0]!.id]);
  await recount('It never was');
  const after = await kept(game!.id);
  expect(after).not.toEqual(before);
  const order = (row: Row) => `${row.person_id} ${row.position} ${row.duty_key}`;
  expect(after.sort((a, b) => (order(a) < order(b) ? -1 : 1))).toEqual(
    await recounted(game!.id, game!.version),
  );
  await database.pool.query('UPDATE play SET removed_at = NULL WHERE id = $1', [rows[0]!.id]);
  await recount('It was, after all');
  expect(await kept(game!.id)).toEqual(before);
});

test('what the migration fills in for seasons from before is the same', async () => {
  const before = await kept();
  const folder = readdirSync('prisma/migrations').find((name) => name.endsWith('_game_counted_once'))!;
  const statements = readFileSync(`prisma/migrations/${folder}/migration.sql`, 'utf8')
    .split(/;\n/)
    .filter((statement) => statement.includes('INSERT INTO game_count'));
  expect(statements).toHaveLength(2);
  await database.pool.query('DELETE FROM game_count');
  for (const statement of statements) await database.pool.query(statement);
  expect(await kept()).toEqual(before);
});
