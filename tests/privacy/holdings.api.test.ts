import { afterAll, beforeAll, expect, test } from 'vitest';
import { columnsOf, holdings } from '../../server/privacy/holdings.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());

test('every table and column of the database is said to hold something of a person, or nothing', async () => {
  const { rows } = await database.pool.query<{ table: string; columns: string[] }>(
    `SELECT c.table_name AS table, array_agg(c.column_name::text ORDER BY c.column_name) AS columns
       FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
      WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE' AND c.table_name <> '_prisma_migrations'
      GROUP BY c.table_name`,
  );
  const there = Object.fromEntries(rows.map(({ table, columns }) => [table, [...columns].sort()]));
  const said = Object.fromEntries(
    Object.entries(holdings).map(([table, holding]) => [table, columnsOf(holding).sort()]),
  );
  expect(said).toEqual(there);
});
