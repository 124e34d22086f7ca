// @module-tag rest
import { execFile } from 'node:child_process';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { hashPassword } from '../../server/accounts/password.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { program } from '../support/program.ts';
import { testPassword } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let mail: MailServer;
let passwordHash: string;
let wilma: TestPerson;

const publicUrl = 'https://grades.example.test';
beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url, PUBLIC_URL: publicUrl });
  passwordHash = await hashPassword(testPassword);
});
afterAll(async () => {
  await app.close();
  await mail.close();
  await database.drop();
});
beforeEach(async () => {
  mail.arrived.length = 0;
  mail.refuse.clear();
  await database.pool.query('DELETE FROM sign_in_attempt');
  wilma = await inConference('Lakeshore Conference');
});

async function inConference(name: string, email?: string, hash: string | undefined = passwordHash) {
  const conferenceId = await makeConference(database.pool, name);
  return makePerson(database.pool, conferenceId, ['official'], {
    ...(email && { email }),
    ...(hash && { passwordHash: hash }),
  });
}
const ask = async (email: string, host = '127.0.0.1') => {
  const answer = await supertest(app.server)
    .post('/forgotten-password')
    .set('host', host)
    .type('form')
    .send({ email });
  await app.outbox.idle();
  return answer;
};
const linksIn = (text: string) =>
  [...text.matchAll(/\/(?:new-password|invitation)\/[\w-]{43}/g)].map(([link]) => link);
const choose = (link: string, password = 'four other wet whistles') =>
  supertest(app.server).post(link).type('form').send({ password, repeated: password });
const signIn = (email: string, password: string) =>
  supertest(app.server).post('/api/session').send({ email, password });

test('the answer is the same whether anybody has the address; who has it gets a link that works once', async () => {
  const known = await ask(` ${wilma.email.toUpperCase()} `);
  const unknown = await ask('nobody@example.test');
  expect(known.status).toBe(200);
  expect(known.text.replaceAll(wilma.email, '@')).toBe(unknown.text.replaceAll('nobody@example.test', '@'));
  expect(mail.arrived).toHaveLength(1);
  const { subject, text } = mail.to(wilma.email)[0]!;
  expect(subject).toBe('Lakeshore Conference: choose a new password');
  const [link] = linksIn(text!);
  expect(text).toContain(`${publicUrl}${link}`);
  const { rows } = await database.pool.query(
    'SELECT row_to_json(l)::text AS kept, extract(epoch FROM expires_at - created_at)::int AS seconds FROM account_link l WHERE person_id = $1',
    [wilma.personId],
  );
  expect(rows).toHaveLength(1);
  expect(rows[0].seconds).toBe(3600);
  expect(rows[0].kept).not.toContain(link!.split('/').at(-1));
  // The present password goes on working until another is chosen.
  await signIn(wilma.email, testPassword).expect(200);
  await choose(link!).expect(303);
  await choose(link!).expect(410);
  await signIn(wilma.email, testPassword).expect(401);
  await signIn(wilma.email, 'four other wet whistles').expect(200);
  const trail = await database.pool.query(
    'SELECT actor_id, action FROM audit_entry WHERE conference_id = $1 ORDER BY number',
    [wilma.conferenceId],
  );
  expect(trail.rows).toEqual([
    { actor_id: null, action: 'was mailed a link, having forgotten the password' },
    { actor_id: wilma.personId, action: 'set a new password by link' },
  ]);
  expect((await database.pool.query('SELECT FROM password_request')).rowCount).toBe(0);
});

test('the link does not follow the Host of the request, and dies after an hour or when asked again', async () => {
  await ask(wilma.email, 'elsewhere.test');
  const [first] = linksIn(mail.to(wilma.email)[0]!.text!);
  expect(mail.to(wilma.email)[0]!.text).not.toContain('elsewhere');
  await ask(wilma.email);
  const [second] = linksIn(mail.to(wilma.email)[1]!.text!);
  await choose(first!).expect(410);
  await database.pool.query('UPDATE account_link SET expires_at = now() WHERE person_id = $1', [
    wilma.personId,
  ]);
  await choose(second!).expect(410);
});

test('an address in two conferences gets one mail that names both, a link for each', async () => {
  const other = await inConference('Ridge Conference', wilma.email);
  await ask(wilma.email);
  const [sent, ...more] = mail.to(wilma.email);
  expect(more).toEqual([]);
  const text = sent!.text!.replace(/\s+/g, ' ');
  const links = linksIn(sent!.text!);
  expect(links).toHaveLength(2);
  const ridge = /Ridge Conference: \S+?(\/new-password\/[\w-]{43})/.exec(text)![1]!;
  expect(text).toMatch(/Lakeshore Conference: https/);
  await choose(ridge).expect(303);
  const { rows } = await database.pool.query<{ id: string; same: boolean }>(
    'SELECT id, password_hash = $2 AS same FROM person WHERE email = $1',
    [wilma.email, passwordHash],
  );
  expect(new Map(rows.map(({ id, same }) => [id, same]))).toEqual(
    new Map([
      [wilma.personId, true],
      [other.personId, false],
    ]),
  );
});

test('deactivated and never invited get nothing; invited without a password get a new invitation', async () => {
  await database.pool.query('UPDATE person SET active = false WHERE id = $1', [wilma.personId]);
  const never = await inConference('Ridge Conference', 'never@example.test', '');
  await ask(wilma.email);
  await ask(never.email);
  expect(mail.arrived).toEqual([]);
  await database.pool.query(
    `INSERT INTO account_link (token_hash, conference_id, person_id, purpose, expires_at)
     VALUES ('x', $1, $2, 'invitation', now() + interval '1 day')`,
    [never.conferenceId, never.personId],
  );
  await ask(never.email);
  const [link] = linksIn(mail.to(never.email)[0]!.text!);
  expect(link).toMatch(/^\/invitation\//);
  await choose(link!).expect(303);
});

test('too many requests have to wait, the same for an address that nobody has', async () => {
  for (const email of [wilma.email, 'nobody@example.test']) {
    for (let asked = 0; asked < 3; asked++) expect((await ask(email)).status).toBe(200);
    const refused = await ask(email);
    expect(refused.status).toBe(429);
    expect(refused.headers['retry-after']).toMatch(/^(5\d\d|600)$/);
    expect(refused.text).toContain('asked for too often');
  }
  expect(mail.arrived).toHaveLength(3);
});

test('a mail server that fails is tried again, and until then nothing has changed', async () => {
  mail.refuse.set('*', { code: 451, words: 'Later' });
  await ask(wilma.email);
  expect(
    (await database.pool.query('SELECT FROM account_link WHERE person_id = $1', [wilma.personId])).rowCount,
  ).toBe(0);
  mail.refuse.clear();
  await database.pool.query("UPDATE message SET next_attempt = now() WHERE mail = 'waiting'");
  app.outbox.wake();
  await app.outbox.idle();
  await choose(linksIn(mail.to(wilma.email)[0]!.text!)[0]!).expect(303);
});

test('what is no address is told beside the field; without a mail server the page leads to the coordinator', async () => {
  const wrong = await ask('wilma at lakeshore');
  expect(wrong.status).toBe(400);
  expect(wrong.text).toMatch(/Write an e-mail address[\s\S]+value="wilma at lakeshore"/);
  const other = await testApp(database);
  const { text } = await supertest(other.server).get('/forgotten-password').expect(200);
  expect(text).toContain('Ask your conference’s coordinator');
  expect(text).not.toContain('name="email"');
  await supertest(other.server)
    .post('/forgotten-password')
    .type('form')
    .send({ email: wilma.email })
    .expect(409);
  await other.close();
});

const command = async (...args: string[]) =>
  promisify(execFile)('node', [...program('server/accounts/reset-password.ts'), ...args], {
    env: { ...process.env, DATABASE_URL: database.url, PUBLIC_URL: publicUrl },
  }).then(
    ({ stdout }) => ({ code: 0, out: stdout }),
    (error) => ({ code: error.code as number, out: error.stderr as string }),
  );

test('the command lets a locked-out coordinator in by a link, and the trail says so', {
  tags: ['long'],
}, async () => {
  const { code, out } = await command('--email', wilma.email.toUpperCase());
  expect(code).toBe(0);
  expect(out).toContain('Lakeshore Conference');
  const [link] = linksIn(out);
  expect(out).toContain(`${publicUrl}${link}`);
  await choose(link!).expect(303);
  const { rows } = await database.pool.query(
    'SELECT actor_id, action FROM audit_entry WHERE conference_id = $1 ORDER BY number LIMIT 1',
    [wilma.conferenceId],
  );
  expect(rows).toEqual([{ actor_id: null, action: 'made a reset link by the command on the server' }]);

  await inConference('Ridge Conference', wilma.email);
  const several = await command('--email', wilma.email);
  expect(several.code).toBe(1);
  const slug = /--conference \((test-[\w-]+),/.exec(several.out)![1]!;
  expect((await command('--email', wilma.email, '--conference', slug)).code).toBe(0);
  expect((await command('--email', wilma.email, '--conference', 'none')).out).toContain(
    'in no conference "none"',
  );
  expect((await command('--email', 'nobody@example.test')).out).toContain('Nobody has the address');
  expect(await command()).toMatchObject({ code: 1, out: expect.stringContaining('npm run reset-password') });
});
