// @module-tag long
import { execFile } from 'node:child_process';
import { promisify } from 'node:util';
import supertest from 'supertest';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { program } from '../support/program.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());

const run = async (...args: string[]) =>
  promisify(execFile)('node', [...program('server/accounts/new-conference.ts'), ...args], {
    env: { ...process.env, DATABASE_URL: database.url, PUBLIC_URL: 'https://grades.example.test' },
  }).then(
    ({ stdout }) => ({ code: 0, out: stdout }),
    (error) => ({ code: error.code as number, out: error.stderr as string }),
  );
const coordinator = ['--given', 'Maren', '--family', 'Okafor', '--email', 'Maren@Example.test'];

test('a conference is opened, its coordinator gets in by the printed link and invites others', async () => {
  const { code, out } = await run('--name', 'Lakeshore Conference', ...coordinator);
  expect(code).toBe(0);
  const token = /https:\/\/grades\.example\.test\/invitation\/([\w-]{43})/.exec(out)![1]!;
  const app = await testApp(database);
  const agent = supertest.agent(app.server);
  const { body } = await agent
    .post('/api/account-links/use')
    .send({ token, password: 'whistle under wet boots' })
    .expect(200);
  expect(body).toMatchObject({ conferenceName: 'Lakeshore Conference', roles: ['coordinator'] });
  await agent
    .post('/api/people')
    .set('x-csrf-token', body.csrfToken)
    .send({ email: 'a@example.test', givenName: 'A', familyName: 'B', roles: ['observer'] })
    .expect(201);
  await app.close();
});

test('what is wrong or missing is told by its option, and nothing is opened', async () => {
  const missing = await run('--name', 'Other', '--time-zone', 'Mars/Olympus', '--email', 'x');
  expect(missing.code).toBe(1);
  for (const option of ['--time-zone: an IANA name', '--given: ', '--family: ', '--email: ']) {
    expect(missing.out).toContain(option);
  }
  const taken = await run('--name', 'Again', '--slug', 'lakeshore-conference', ...coordinator);
  expect(taken.code).toBe(1);
  expect(taken.out).toContain('choose another with --slug');
  const { rows } = await database.pool.query('SELECT count(*)::int AS n FROM conference');
  expect(rows[0].n).toBe(1);
});
