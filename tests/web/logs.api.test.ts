// @module-tag long
import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { policies } from '../../server/accounts/policy.ts';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { errorForLog } from '../../server/web/error-for-log.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// What people wrote never reaches a log: errors of every kind are forced with a marker in them, and the log is searched.

const marker = 'quillfeather';
const lines: string[] = [];
let database: TestDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
let conferenceId: string;

/** Errors that carry what somebody wrote, as libraries and the server really throw them. */
const throwing: Record<string, () => Promise<unknown>> = {
  // PostgreSQL: in `detail`
  'unique violation': () =>
    database.pool.query(
      `INSERT INTO person (conference_id, email, given_name, family_name)
       SELECT $1, $2, 'A', 'B' FROM generate_series(1, 2)`,
      [conferenceId, `${marker}@example.test`],
    ),
  // in `detail`, the whole row
  'check violation': () =>
    database.pool.query(`UPDATE person SET given_name = $1, mail_wanted = 'never'`, [marker]),
  // in `message`
  'wrong syntax': () => database.pool.query('SELECT $1::uuid', [marker]),
  // in `where`: the row that COPY was reading, and in `message`
  'within a function': () =>
    database.pool.query(
      `DO $$ BEGIN RAISE EXCEPTION 'no % here', '${marker}' USING DETAIL = '${marker}', HINT = '${marker}'; END $$`,
    ),
  // The ORM repeats its arguments in `message`, and the server's words in `meta`.
  'the ORM': () =>
    database.prisma.conference.update({
      where: { id: conferenceId },
      data: { name: marker, crewSize: marker as never },
    }),
  'the ORM, of the server': () => database.prisma.$queryRawUnsafe(`SELECT '${marker}'::uuid`),
  'a transaction': () => inTransaction(database.pool, (client) => client.query('SELECT $1::int', [marker])),
  'a parser': async () => JSON.parse(`{"a": ${marker}}`),
  'an error of errors': async () => {
    throw new AggregateError([new Error(marker)], marker, { cause: new Error(`because ${marker}`) });
  },
  'a message like a stack': async () => {
    throw new Error(`x\n    at ${marker} (/${marker}.ts:1:1)`);
  },
  'a mail server': async () => {
    throw Object.assign(new Error(`550 no ${marker}`), {
      response: marker,
      rejected: [marker],
      command: marker,
    });
  },
  'no error at all': async () => {
    throw marker;
  },
};

const addressOf = (name: string) => `/api/throws/${name.replaceAll(/\W+/g, '-')}`;

beforeAll(async () => {
  database = await testDatabase();
  app = await buildApp(database, readConfig({ LOG_LEVEL: 'trace' }), { write: (line) => lines.push(line) });
  for (const [name, run] of Object.entries(throwing)) {
    app.get(addressOf(name), { config: { policy: policies.open } }, run);
  }
  await app.ready();
  conferenceId = await makeConference(database.pool);
  coordinator = await inSessionOf(app, await makePerson(database.pool, conferenceId, ['coordinator']));
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(() => {
  lines.length = 0;
});

const logged = () => lines.map((line) => JSON.parse(line) as Record<string, unknown>);
const requests = () => logged().filter(({ msg }) => msg === 'request');
const nothingWritten = () => expect(lines.join('').toLowerCase()).not.toContain(marker);

test.each(Object.keys(throwing))('%s: the log says what and where, not what was written', async (name) => {
  // The error really carries the marker: without this the search would prove nothing.
  const thrown = await throwing[name]!().then(
    () => undefined,
    (error) => error,
  );
  const all = JSON.stringify(thrown, Object.getOwnPropertyNames(thrown instanceof Object ? thrown : {}));
  expect(`${all} ${thrown} ${thrown.stack}`).toContain(marker);

  const answer = await app.inject(addressOf(name));
  expect(answer.statusCode).toBe(500);
  if (thrown instanceof Error) {
    app.log.error(thrown);
    app.log.error(thrown, `so it says: ${thrown.message}`);
    app.log.warn({ err: thrown });
    app.log.warn({ err: thrown }, thrown.message);
  }
  nothingWritten();
  expect(answer.body).not.toContain(marker);
  const failed = logged().find(({ msg }) => msg === 'request failed')!;
  expect(failed).toMatchObject({ level: 50, route: addressOf(name) });
  expect(failed.requestId).toBe(answer.headers['x-request-id']);
  if (thrown instanceof Error) {
    expect((failed.err as { stack: string }).stack).toMatch(/^at .+:\d+:\d+/);
  }
});

test('of a database’s error the code and the names of table and constraint stay', async () => {
  const error = await throwing['unique violation']!().catch((thrown) => thrown);
  expect(errorForLog(error)).toMatchObject({
    code: '23505',
    severity: 'ERROR',
    table: 'person',
    constraint: 'person_conference_id_email_key',
  });
});

test('an unforeseen error of the database under a real form', async () => {
  const owner = new (await import('pg')).default.Client({ connectionString: database.url });
  await owner.connect();
  await owner.query(`
    CREATE FUNCTION stumble() RETURNS trigger LANGUAGE plpgsql AS $$
      BEGIN RAISE EXCEPTION 'cannot keep %', NEW.given_name USING DETAIL = NEW.email; END $$;
    CREATE TRIGGER stumble BEFORE INSERT ON person FOR EACH ROW EXECUTE FUNCTION stumble();`);
  const body = {
    email: `${marker}@example.test`,
    givenName: marker,
    familyName: marker,
    roles: ['observer'],
  };
  const answer = await coordinator.post('/api/people').send(body).expect(500);
  await owner.query('DROP TRIGGER stumble ON person');
  await owner.end();
  nothingWritten();
  const failed = logged().find(({ msg }) => msg === 'request failed')!;
  expect(failed).toMatchObject({ route: '/api/people', err: { code: 'P0001' } });
  expect(failed.requestId).toBe(answer.headers['x-request-id']);
});

test('one line for each request: method, route, status, time and id, and nothing of its address, headers or body', async () => {
  const person = randomUUID();
  const send = supertest(app.server);
  const tokenLike = `crewmark_${marker}${'x'.repeat(40)}`;
  await coordinator.get(`/people?find=${marker}`).expect(200);
  await coordinator
    .get(`/people/${person}`)
    .set('x-request-id', marker)
    .set('user-agent', marker)
    .expect(404);
  await coordinator.post('/people/invite').type('form').send({ givenName: marker }).expect(400);
  await coordinator
    .post('/api/people')
    .set('content-type', 'application/json')
    .send(`{"a": ${marker}}`)
    .expect(400);
  await coordinator
    .post('/api/people')
    .send({ [marker]: marker })
    .expect(400);
  await send.get(`/${marker}`).expect(404);
  await send.get(`/invitation/${marker}`).expect(410);
  await send.get(`/api/people?token=${tokenLike}`).expect(400);
  await send
    .post('/sign-in')
    .type('form')
    .send({ email: `${marker}@x.test`, password: marker })
    .expect(401);
  await send.get(`/people/%zz${marker}`);
  await send.options(`/${marker}`);
  nothingWritten();
  expect(lines.join('')).not.toContain(person);
  const told = requests().map(({ method, route, status }) => [method, route, status].join(' '));
  expect(told.slice(0, 9)).toEqual([
    'GET /people 200',
    'GET /people/:personId 404',
    'POST /people/invite 400',
    'POST /api/people 400',
    'POST /api/people 400',
    'GET none 404',
    'GET /invitation/:token 410',
    'GET /api/people 400',
    'POST /sign-in 401',
  ]);
  for (const line of requests()) {
    expect(Object.keys(line).sort()).toEqual(
      ['level', 'method', 'ms', 'msg', 'pid', 'requestId', 'route', 'status', 'time'].sort(),
    );
    expect(line.ms).toBeTypeOf('number');
  }
  expect(new Set(requests().map(({ requestId }) => requestId)).size).toBe(requests().length);
  // What was wrong with a request is its sender's own affair: nothing but the one line each.
  expect(logged().filter(({ msg }) => msg !== 'request' && msg !== undefined)).toEqual([]);
});
