import pg from 'pg';
import { expect, test } from 'vitest';
import { databaseTrouble } from '../../server/database/trouble.ts';

const sqlState = (code: string) => Object.assign(new Error('from the server'), { code });

// Codes as in appendix A of the PostgreSQL manual, "PostgreSQL Error Codes".
test.each([
  ['57P01', 'away'],
  ['57P02', 'away'],
  ['57P03', 'away'],
  ['08006', 'away'],
  ['08P01', 'away'],
  ['53300', 'away'],
  ['53100', 'full'],
  ['ECONNREFUSED', 'away'],
  ['ECONNRESET', 'away'],
  ['ENOSPC', 'full'],
  ['23505', undefined],
  ['42501', undefined],
  ['22021', undefined],
])('%s is %s', (code, trouble) => {
  expect(databaseTrouble(sqlState(code))).toBe(trouble);
  expect(databaseTrouble(new Error('wrapped', { cause: sqlState(code) }))).toBe(trouble);
  expect(databaseTrouble(new AggregateError([sqlState(code)]))).toBe(trouble);
});

test('what the client library says without a code is known, too', async () => {
  const pool = new pg.Pool({ host: '127.0.0.1', port: 1 });
  await pool.end();
  const ended = await pool.query('SELECT 1').catch((error) => error);
  expect(databaseTrouble(ended)).toBe('away');
  expect(databaseTrouble(new Error('Connection terminated unexpectedly'))).toBe('away');
  expect(databaseTrouble(new Error('anything else'))).toBeUndefined();
  expect(databaseTrouble('a word')).toBeUndefined();
});
