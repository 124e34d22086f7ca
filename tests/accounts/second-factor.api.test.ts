// @module-tag long
import type { FastifyInstance } from 'fastify';
import jsQR from 'jsqr';
import supertest from 'supertest';
import { afterAll, afterEach, beforeAll, beforeEach, expect, test, vi } from 'vitest';
import { makeLink } from '../../server/accounts/account-link.ts';
import { findFromOutside } from '../../server/accounts/from-outside.ts';
import { hashPassword } from '../../server/accounts/password.ts';
import { codeAt } from '../../server/accounts/second-factor/one-time-code.ts';
import { resetSecondFactorFromOutside } from '../../server/accounts/second-factor/second-factor-store.ts';
import { delays } from '../../server/accounts/sign-in-limit.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent, testPassword } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let passwordHash: string;
let conferenceId: string;
let coordinator: TestPerson;

/** The server's clock, in the middle of a step; the database's goes on as it does. */
const middle = Math.floor(Date.now() / 30_000) * 30_000 + 15_000;
let now = middle;
const setClock = (at: number) => {
  now = at;
  vi.setSystemTime(at);
};

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  passwordHash = await hashPassword(testPassword);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  vi.useFakeTimers({ toFake: ['Date'] });
  setClock(middle);
  await database.pool.query('DELETE FROM sign_in_attempt');
  conferenceId = await makeConference(database.pool);
  coordinator = await makePerson(database.pool, conferenceId, ['coordinator'], { passwordHash });
});
afterEach(() => vi.useRealTimers());

const page = '/my/account/second-factor';
const post = (agent: SignedInAgent, url: string, fields: object) => agent.post(url).type('form').send(fields);
const textOf = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');

/** Sets up a second factor on the pages. */
async function enrolled(person: TestPerson) {
  const agent = await inSessionOf(app, person);
  await agent.post(`${page}/begin`).expect(303);
  const shown = await agent.get(page).expect(200);
  const secret = /class="key-text">([A-Z2-7 ]+)</.exec(shown.text)![1]!.replaceAll(' ', '');
  const kept = await post(agent, `${page}/confirm`, { code: codeAt(secret, now), password: testPassword });
  expect([kept.status, textOf(kept.text)]).toEqual([200, expect.stringContaining('shown this once')]);
  const codes = [...kept.text.matchAll(/<code>([a-z2-7-]{19})<\/code>/g)].map(([, code]) => code!);
  setClock(now + 30_000); // the code that confirmed it is used up
  return { agent, secret, codes, shown: shown.text };
}
const signIn = (body: object = {}) =>
  supertest(app.server)
    .post('/api/session')
    .send({ email: coordinator.email, password: testPassword, ...body });
const problemOf = ({ text }: { text: string }) => JSON.parse(text) as { detail: string; errors?: object[] };
/** What the coordinator was told last of their second factor. */
const lastTold = async () =>
  (
    await database.pool.query(
      `SELECT facts FROM message WHERE person_id = $1 AND kind = 'second factor' ORDER BY happened_at DESC LIMIT 1`,
      [coordinator.personId],
    )
  ).rows[0]?.facts;
const actions = async () =>
  (
    await database.pool.query<{ action: string }>(
      'SELECT action FROM audit_entry WHERE conference_id = $1 ORDER BY number',
      [conferenceId],
    )
  ).rows.map(({ action }) => action);

test('set up on the pages: a wrong code says what to do, ten codes are shown once, other sessions end', async () => {
  const elsewhere = await inSessionOf(app, coordinator);
  const agent = await inSessionOf(app, coordinator);
  expect((await agent.get('/my/account')).text).toContain('Set up a second factor');
  await agent.post(`${page}/begin`).expect(303).expect('location', page);
  const shown = await agent.get(page).expect(200);
  const secret = /class="key-text">([A-Z2-7 ]+)</.exec(shown.text)![1]!.replaceAll(' ', '');
  const confirm = (code: string, password = testPassword) =>
    post(agent, `${page}/confirm`, { code, password });

  expect(textOf((await confirm('000000', 'not it').expect(400)).text)).toContain(
    'This is not your password.',
  );
  expect(textOf((await confirm('12').expect(400)).text)).toContain('This code does not fit.');
  const far = await confirm(codeAt(secret, now + 5 * 60_000)).expect(400);
  expect(textOf(far.text)).toContain('The phone’s clock is about 5 minutes ahead of this server’s');
  expect(far.text).toContain(secret.slice(0, 4)); // the key is still there
  // Until then it bars nothing.
  await signIn().expect(200);

  const kept = await confirm(codeAt(secret, now)).expect(200);
  const codes = [...kept.text.matchAll(/<code>([a-z2-7-]{19})<\/code>/g)].map(([, code]) => code!);
  expect(new Set(codes).size).toBe(10);
  await elsewhere.get('/api/session').expect(401);
  const after = await agent.get(page).expect(200);
  expect(textOf(after.text)).toContain('10 are left');
  for (const shownOnce of [secret, ...codes]) expect(after.text).not.toContain(shownOnce);
  const { rows } = await database.pool.query('SELECT code_hash FROM recovery_code');
  for (const code of codes) expect(JSON.stringify(rows)).not.toContain(code.replaceAll('-', ''));
  expect(await actions()).toEqual(['set up a second factor']);
  expect(await lastTold()).toEqual({ what: 'set up', by: 'Test Person' });
});

test('what a camera reads from the square is the key: read by jsQR, an independent reader', async () => {
  const { secret, shown } = await enrolled(coordinator);
  const svg = /aria-label="The key as a square for a camera">(<svg.*?<\/svg>)/s.exec(shown)![1]!;
  const size = Number(/viewBox="0 0 (\d+)/.exec(svg)![1]);
  const scale = 2;
  const across = size * scale;
  const pixels = new Uint8ClampedArray(across * across * 4).fill(255);
  const unit = Number(/h(\d+)v/.exec(svg)?.[1] ?? 10);
  for (const [, x, y] of svg.matchAll(/M(\d+),(\d+)h\d+v/g)) {
    for (let dy = 0; dy < unit * scale; dy++)
      for (let dx = 0; dx < unit * scale; dx++) {
        const at = ((Number(y) * scale + dy) * across + Number(x) * scale + dx) * 4;
        pixels.set([0, 0, 0, 255], at);
      }
  }
  const read = new URL(jsQR.default(pixels, across, across)!.data);
  expect(read.searchParams.get('secret')).toBe(secret);
});

test('signing in by the API: the code is asked for only once the password was right', async () => {
  const { secret } = await enrolled(coordinator);
  await signIn({ password: 'wrong', code: codeAt(secret, now) }).expect(401);
  const asked = await signIn().expect(401);
  expect(problemOf(asked).errors).toEqual([{ field: 'code', message: expect.stringContaining('is needed') }]);
  expect(asked.headers['set-cookie']).toBeUndefined();
  const wrong = await signIn({ code: '000000' }).expect(400);
  expect(problemOf(wrong).detail).toContain('check that the phone’s clock is set by the network');
  await signIn({ code: codeAt(secret, now) }).expect(200);
});

test('a phone half a minute early or late works; one further off is told to look at its clock; no code works twice', async () => {
  const { secret } = await enrolled(coordinator);
  setClock(now + 60_000);
  const withPhone = (off: number) => signIn({ code: codeAt(secret, now + off * 1000) });
  await withPhone(-30).expect(200);
  expect(problemOf(await withPhone(-30).expect(400)).detail).toContain('was used already');
  await withPhone(30).expect(200);
  await withPhone(30).expect(400);
  // An older code than the newest taken is no use to whoever saw it either.
  await withPhone(0).expect(400);
  setClock(now + 300_000);
  for (const off of [-60, 60, 600])
    expect(problemOf(await withPhone(off).expect(400)).detail).toContain('clock is set by the network');
  await database.pool.query('DELETE FROM sign_in_attempt');
  await withPhone(0).expect(200);
});

test('two at once with one code: one comes in', async () => {
  const { secret, codes } = await enrolled(coordinator);
  for (const code of [codeAt(secret, now), codes[0]!]) {
    const both = await Promise.all([signIn({ code }), signIn({ code })]);
    expect(both.map(({ status }) => status).sort()).toEqual([200, 400]);
  }
});

test('the second step on pages: kept apart from the first, wrong codes in place, and one comes to where one wanted', async () => {
  const { secret } = await enrolled(coordinator);
  const form = (url: string, fields: object) => supertest(app.server).post(url).type('form').send(fields);
  const first = await form('/sign-in', { email: coordinator.email, password: testPassword, next: '/people' });
  expect(first.status).toBe(200);
  expect(first.headers['set-cookie']).toBeUndefined();
  const token = /name="token" value="([^"]+)"/.exec(first.text)![1]!;
  const step = (code: string) => form('/sign-in/second-step', { token, code, next: '/people' });
  const wrong = await step('123').expect(400);
  expect(textOf(wrong.text)).toContain('This code does not fit.');
  expect(wrong.text).toContain(`value="${token}"`);
  const right = await step(codeAt(secret, now)).expect(303);
  expect(right.headers.location).toBe('/people');
  expect(String(right.headers['set-cookie'])).toContain('crewmark_session=');
  setClock(now + 60_000);
  expect(textOf((await step(codeAt(secret, now)).expect(410)).text)).toContain('sign in once more');
  // The step's token opens nothing else.
  const again = await form('/sign-in', { email: coordinator.email, password: testPassword });
  const other = /name="token" value="([^"]+)"/.exec(again.text)![1]!;
  await form('/sign-in/conference', { token: other }).expect(410);
  await supertest(app.server).get(`/new-password/${other}`).expect(410);
});

test('guessing codes is slowed down, whoever knows the password', async () => {
  const { secret } = await enrolled(coordinator);
  const guess = () => signIn({ code: '000000' });
  for (let i = 0; i < delays.pair.free; i++) await guess().expect(400);
  const limited = await signIn({ code: codeAt(secret, now) }).expect(429);
  expect(Number(limited.headers['retry-after'])).toBeGreaterThan(20);
  expect(problemOf(limited).detail).toMatch(
    /^There were too many codes that did not fit\. Try again in [23]\d seconds/,
  );
});

test('a link for a new password does not go round the second factor', async () => {
  const { secret } = await enrolled(coordinator);
  const chosen = 'a wholly new password';
  const { token } = await makeLink(database.pool, coordinator, 'reset');
  const use = (body: object) =>
    supertest(app.server)
      .post('/api/account-links/use')
      .send({ token, ...body });
  await use({ password: chosen }).expect(401);
  await use({ password: 'short', code: codeAt(secret, now) }).expect(400);
  await signIn({ code: codeAt(secret, now) }).expect(200); // nothing of it was done, the code neither
  setClock(now + 30_000);
  await use({ password: chosen, code: codeAt(secret, now) }).expect(200);

  const { token: second } = await makeLink(database.pool, coordinator, 'reset');
  const onPage = await supertest(app.server)
    .post(`/new-password/${second}`)
    .type('form')
    .send({ password: testPassword, repeated: testPassword })
    .expect(200);
  expect(onPage.headers['set-cookie']).toBeUndefined();
  expect(textOf(onPage.text)).toContain('Second step');
});

test('a lost phone: a recovery code lets in once, however it is typed, and the trail says so', async () => {
  const { codes, agent } = await enrolled(coordinator);
  await signIn({ code: codes[3]!.toUpperCase().replaceAll('-', ' ') }).expect(200);
  expect(problemOf(await signIn({ code: codes[3] }).expect(400)).detail).toContain('was used already');
  await signIn({ code: 'aaaa-bbbb-cccc-dddd' }).expect(400);
  expect((await agent.get('/my/account')).text).toContain('9 of 10 recovery codes left');
  const renewed = await post(agent, `${page}/recovery-codes`, { code: codes[4] }).expect(200);
  expect(renewed.text.match(/<code>[a-z2-7-]{19}<\/code>/g)).toHaveLength(10);
  await signIn({ code: codes[5] }).expect(400);
  expect((await actions()).slice(1)).toEqual(['signed in with a recovery code', 'made new recovery codes']);
});

test('a lost phone without codes: another coordinator resets it, the person is told, their sessions end', async () => {
  const { agent } = await enrolled(coordinator);
  const other = await makePerson(database.pool, conferenceId, ['coordinator'], { givenName: 'Olive' });
  const helper = await inSessionOf(app, other);
  expect((await helper.get(`/people/${coordinator.personId}`)).text).toContain('Reset the second factor');
  await helper.post(`/people/${coordinator.personId}/second-factor/reset`).expect(303);
  await agent.get('/api/session').expect(401);
  await signIn().expect(200);
  expect(await lastTold()).toEqual({ what: 'reset', by: 'Olive Person' });
  expect((await actions()).at(-1)).toBe('reset the second factor');
  await helper.post(`/people/${coordinator.personId}/second-factor/reset`).expect(409);
  // Nobody resets their own, nor does who is no coordinator, nor one of another conference.
  await enrolled(coordinator);
  const self = await inSessionOf(app, coordinator);
  await self.post(`/people/${coordinator.personId}/second-factor/reset`).expect(409);
  const observer = await makePerson(database.pool, conferenceId, ['observer']);
  const stranger = await makePerson(database.pool, await makeConference(database.pool), ['coordinator']);
  const tries = async (who: TestPerson) =>
    (await inSessionOf(app, who)).post(`/people/${coordinator.personId}/second-factor/reset`);
  expect([(await tries(observer)).status, (await tries(stranger)).status]).toEqual([403, 404]);
  await signIn().expect(401);
});

test('the last coordinator is helped by the command on the server', async () => {
  const { agent } = await enrolled(coordinator);
  const reset = () =>
    inTransaction(database.pool, async (client) =>
      resetSecondFactorFromOutside(
        client,
        await findFromOutside(client, { email: coordinator.email, conference: undefined }),
      ),
    );
  expect(await reset()).toBe(true);
  await agent.get('/api/session').expect(401);
  await signIn().expect(200);
  expect((await actions()).at(-1)).toBe('reset the second factor by the command on the server');
  expect(await reset()).toBe(false);
});

test('set up by a double click: the second answer, which alone is seen, says how to come to recovery codes', async () => {
  const agent = await inSessionOf(app, coordinator);
  await agent.post(`${page}/begin`).expect(303);
  const shown = await agent.get(page).expect(200);
  const secret = /class="key-text">([A-Z2-7 ]+)</.exec(shown.text)![1]!.replaceAll(' ', '');
  const confirm = () => post(agent, `${page}/confirm`, { code: codeAt(secret, now), password: testPassword });
  const answers = await Promise.all([confirm(), confirm()]);
  expect(answers.map(({ status }) => status).sort()).toEqual([200, 409]);
  const second = textOf(answers.find(({ status }) => status === 409)!.text);
  expect(second).toContain('is set up already. If you have not seen its recovery codes, make new ones here');
  expect(second).toContain('10 are left');
});

test('reset between the two steps: the second says that the password alone lets in now', async () => {
  const { secret } = await enrolled(coordinator);
  const first = await supertest(app.server)
    .post('/sign-in')
    .type('form')
    .send({ email: coordinator.email, password: testPassword });
  const token = /name="token" value="([^"]+)"/.exec(first.text)![1]!;
  const person = { conferenceId, personId: coordinator.personId };
  await inTransaction(database.pool, (client) => resetSecondFactorFromOutside(client, person));
  const code = codeAt(secret, now);
  const late = await supertest(app.server).post('/sign-in/second-step').type('form').send({ token, code });
  expect([late.status, textOf(late.text)]).toEqual([
    400,
    expect.stringContaining('Sign in once more, with the password alone.'),
  ]);
  // A program that goes on sending a code is let in as well.
  await signIn({ code }).expect(200);
});

test('a code was taken while the server’s clock was a day ahead: one is told so, and a recovery code lets in', async () => {
  const { secret, codes } = await enrolled(coordinator);
  setClock(now + 86_400_000);
  await signIn({ code: codeAt(secret, now) }).expect(200);
  setClock(now - 86_400_000);
  const refused = await signIn({ code: codeAt(secret, now) }).expect(400);
  expect(problemOf(refused).detail).toContain('this server’s clock was ahead when one was last taken');
  await signIn({ code: codes[0] }).expect(200);
});

test('taking it away needs password and code; other sessions end', async () => {
  const { agent, secret } = await enrolled(coordinator);
  const elsewhere = await inSessionOf(app, coordinator);
  const remove = (fields: object) => post(agent, `${page}/remove`, fields);
  await remove({ code: codeAt(secret, now), password: 'not it' }).expect(400);
  await remove({ code: '1', password: testPassword }).expect(400);
  await signIn().expect(401);
  await remove({ code: codeAt(secret, now), password: testPassword }).expect(303);
  await signIn().expect(200);
  await elsewhere.get('/api/session').expect(401);
  await agent.get('/api/session').expect(200);
  expect((await actions()).at(-1)).toBe('removed the second factor');
  expect(await lastTold()).toEqual({ what: 'removed', by: 'Test Person' });
});

test('a conference that needs it: switched on only by who has one; who has none can do nothing but set it up', async () => {
  const other = await makePerson(database.pool, conferenceId, ['coordinator', 'observer'], { passwordHash });
  const without = await inSessionOf(app, other);
  const set = (agent: SignedInAgent, needed: string) =>
    post(agent, '/settings/keys/second-factor', { needed });
  expect(textOf((await set(without, 'yes').expect(409)).text)).toContain(
    'Set up your own second factor first',
  );
  const { agent } = await enrolled(coordinator);
  await set(agent, 'yes').expect(303);
  expect((await actions()).at(-1)).toBe('needs a second factor of coordinators');

  await without
    .get('/people?role=observer')
    .expect(303)
    .expect('location', `${page}?next=${encodeURIComponent('/people?role=observer')}`);
  for (const url of ['/my/games', '/api/people', '/api/my/messages', '/', '/my/account']) {
    const { status } = await without.get(url);
    expect([url, [302, 303, 403].includes(status)]).toEqual([url, true]);
  }
  const refused = await set(without, 'no').expect(403);
  expect(textOf(refused.text)).toContain(`Set it up on the page ${page}`);
  expect(refused.text).toContain(`href="${page}"`);
  expect((await without.get(page).expect(200)).text).not.toContain('href="/people"');
  await without.get('/api/session').expect(200);
  await enrolled(other);
  const now2 = await inSessionOf(app, other);
  await now2.get('/people').expect(200);

  // An observer needs none, but may have one.
  const observer = await makePerson(database.pool, conferenceId, ['observer'], { passwordHash });
  await (await inSessionOf(app, observer)).get('/my/games').expect(200);
  await enrolled(observer);
  await set(agent, 'no').expect(303);
});
