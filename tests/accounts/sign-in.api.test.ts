// @module-tag long
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { makeLink } from '../../server/accounts/account-link.ts';
import { hashPassword } from '../../server/accounts/password.ts';
import type { Role } from '../../server/accounts/roles.ts';
import { delays } from '../../server/accounts/sign-in-limit.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { listening, signedInAgent, testPassword } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let conferenceId: string;
let person: TestPerson;
let passwordHash: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database, { TRUST_PROXY: 'on', PUBLIC_URL: 'https://grades.example.test' });
  await listening(app);
  passwordHash = await hashPassword(testPassword);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  await database.pool.query('DELETE FROM sign_in_attempt');
  conferenceId = await makeConference(database.pool, 'Lakeside Conference');
  person = await makePerson(database.pool, conferenceId, ['observer'], { passwordHash });
});

const signIn = (body: object, address = '192.0.2.1') =>
  supertest(app.server).post('/api/session').set('x-forwarded-for', address).send(body);
/** Somebody with these roles who signed in by the password. */
async function signedIn(roles: Role[]) {
  const who = await makePerson(database.pool, conferenceId, roles, { passwordHash });
  return { ...who, agent: await signedInAgent(app, who.email, testPassword) };
}
const postForm = (url: string, fields: object) => supertest(app.server).post(url).type('form').send(fields);
const tokenIn = (html: string, name: string) => new RegExp(`name="${name}" value="([^"]+)"`).exec(html)?.[1];

test('sign in, ask who I am, sign out (API)', async () => {
  const agent = supertest.agent(app.server);
  const { body, headers } = await agent
    .post('/api/session')
    .send({ email: ` ${person.email.toUpperCase()} `, password: testPassword })
    .expect(200);
  expect(headers['set-cookie']?.[0]).toMatch(
    /^crewmark_session=[\w-]{43}; Path=\/; Expires=.+; HttpOnly; SameSite=Lax$/,
  );
  expect(body).toEqual({
    conferenceId,
    conferenceName: 'Lakeside Conference',
    personId: person.personId,
    email: person.email,
    givenName: 'Test',
    familyName: 'Person',
    roles: ['observer'],
    csrfToken: expect.stringMatching(/^[\w-]{43}$/),
  });
  expect((await agent.get('/api/session').expect(200)).body).toEqual(body);
  await agent.delete('/api/session').expect(403);
  await agent.delete('/api/session').set('x-csrf-token', body.csrfToken).expect(204);
  await agent.get('/api/session').expect(401);
});

test('a wrong password, an unknown e-mail, no password yet and a deactivated account get one same answer', async () => {
  const bare = await makePerson(database.pool, conferenceId, ['official']);
  const gone = await makePerson(database.pool, conferenceId, ['official'], { passwordHash });
  await database.pool.query('UPDATE person SET active = false WHERE id = $1', [gone.personId]);
  const answers = await Promise.all([
    signIn({ email: person.email, password: 'wrong' }),
    signIn({ email: 'nobody@example.test', password: testPassword }),
    signIn({ email: bare.email, password: testPassword }),
    signIn({ email: gone.email, password: testPassword }),
  ]);
  for (const answer of answers) {
    expect(answer.status).toBe(401);
    expect(answer.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect(answer.headers['set-cookie']).toBeUndefined();
    expect(JSON.parse(answer.text)).toEqual(JSON.parse(answers[0]!.text));
  }
});

test('the sign-in page: errors are told in place, the e-mail stays, and one comes to where one wanted', async () => {
  const empty = await postForm('/sign-in', { email: '', password: '' }).expect(400);
  expect(empty.text).toContain('Write your e-mail address.');
  expect(empty.text).toContain('Write your password.');
  const wrong = await postForm('/sign-in', {
    email: person.email,
    password: 'no',
    next: '/people?x=1',
  }).expect(401);
  expect(wrong.text).toContain('do not fit any active account');
  expect(wrong.text).toContain(`value="${person.email}"`);
  expect(wrong.text).not.toContain('value="no"');
  const right = await postForm('/sign-in', {
    email: person.email,
    password: testPassword,
    next: '/people?x=1',
  });
  expect(right.status).toBe(303);
  expect(right.headers.location).toBe('/people?x=1');
});

test.each([
  'https://elsewhere.test/',
  '//elsewhere.test',
  '/\\elsewhere.test',
  '/..//elsewhere.test',
  '/%2e//elsewhere.test',
  'javascript:alert(1)',
  'x',
  '',
])('after signing in nobody is sent to another site: %j', async (next) => {
  const answer = await postForm('/sign-in', { email: person.email, password: testPassword, next });
  expect(answer.headers.location).toBe('/');
});

test('signing in gives a new session and ends the one the browser had', async () => {
  const agent = supertest.agent(app.server);
  const first = await agent.post('/api/session').send({ email: person.email, password: testPassword });
  const cookie = first.headers['set-cookie']![0]!.split(';')[0]!;
  await agent
    .post('/api/session')
    .set('x-csrf-token', first.body.csrfToken)
    .send({ email: person.email, password: testPassword })
    .expect(200);
  await supertest(app.server).get('/api/session').set('cookie', cookie).expect(401);
});

test('one e-mail and password in two conferences: the page asks which, the API wants its slug', async () => {
  const other = await makeConference(database.pool, 'Highland Conference');
  const namesake = await makePerson(database.pool, other, ['official'], {
    email: person.email,
    passwordHash,
  });
  const page = await postForm('/sign-in', {
    email: person.email,
    password: testPassword,
    next: '/my/account',
  });
  expect(page.status).toBe(200);
  expect(page.headers['set-cookie']).toBeUndefined();
  expect(page.text).toContain('Highland Conference');
  expect(page.text).toContain('Lakeside Conference');
  const token = tokenIn(page.text, 'token')!;
  const chosen = await postForm('/sign-in/conference', { token, next: '/my/account' }).expect(303);
  expect(chosen.headers.location).toBe('/my/account');
  const cookie = chosen.headers['set-cookie']![0]!.split(';')[0]!;
  const me = await supertest(app.server).get('/api/session').set('cookie', cookie);
  expect(me.body).toMatchObject({ conferenceId: other, personId: namesake.personId });
  await postForm('/sign-in/conference', { token }).expect(410);

  const asked = await signIn({ email: person.email, password: testPassword }).expect(409);
  expect(asked.text).toContain('Highland Conference');
  const { rows } = await database.pool.query('SELECT slug FROM conference WHERE id = $1', [conferenceId]);
  const right = await signIn({ email: person.email, password: testPassword, conference: rows[0].slug });
  expect(right.body.conferenceId).toBe(conferenceId);
  // With different passwords there is nothing to ask.
  await database.pool.query('UPDATE person SET password_hash = $1 WHERE id = $2', [
    await hashPassword('another good password'),
    namesake.personId,
  ]);
  expect((await signIn({ email: person.email, password: testPassword })).body.conferenceId).toBe(
    conferenceId,
  );
});

test('a choice of conference cannot be made with a link of another kind, and no password is set by it', async () => {
  const { token: reset } = await makeLink(database.pool, person, 'reset');
  await postForm('/sign-in/conference', { token: reset }).expect(410);
  const { token: choice } = await makeLink(database.pool, person, 'sign-in');
  await postForm(`/new-password/${choice}`, { password: 'x', repeated: 'x' }).expect(410);
  await supertest(app.server)
    .post('/api/account-links/use')
    .send({ token: choice, password: 'a wholly new password' })
    .expect(410);
});

/** Failures recorded until now become older by so much. */
const later = (seconds: number) =>
  database.pool.query(
    `UPDATE sign_in_attempt SET open_at = open_at - make_interval(secs => $1),
                                forgotten_at = forgotten_at - make_interval(secs => $1)`,
    [seconds],
  );
const guess = (address = '192.0.2.1') => signIn({ email: person.email, password: 'wrong' }, address);

test('after five failures an e-mail has to wait at that address, each time longer, even with the right password', async () => {
  for (let i = 0; i < delays.pair.free; i++) await guess().expect(401);
  const limited = await signIn({ email: person.email, password: testPassword }).expect(429);
  expect(Number(limited.headers['retry-after'])).toBeGreaterThan(20);
  expect(limited.text).toMatch(/Try again in [23]\d seconds, or ask your coordinator/);
  const page = await postForm('/sign-in', { email: person.email, password: testPassword })
    .set('x-forwarded-for', '192.0.2.1')
    .expect(429);
  expect(page.text).toContain('Try again in');
});

test('each further failure doubles the wait, up to its longest; then a day later all is forgotten', async () => {
  for (let i = 0; i < delays.pair.free; i++) await guess().expect(401);
  for (const wait of [30, 60, 120, 240, 480, 900, 900]) {
    const limited = await guess().expect(429);
    expect(Number(limited.headers['retry-after'])).toBeGreaterThan(wait * 0.8);
    expect(Number(limited.headers['retry-after'])).toBeLessThanOrEqual(wait);
    await later(wait);
    await guess().expect(401);
  }
  await later(24 * 3600);
  for (let i = 0; i < delays.pair.free; i++) await guess().expect(401);
  await guess().expect(429);
});

test('others are not held up, and a refused attempt does not lengthen the wait', async () => {
  for (let i = 0; i < delays.pair.free; i++) await guess().expect(401);
  for (let i = 0; i < 20; i++) await guess().expect(429);
  const other = await makePerson(database.pool, conferenceId, ['observer'], { passwordHash });
  await signIn({ email: other.email, password: testPassword }).expect(200);
  await signIn({ email: person.email, password: testPassword }, '192.0.2.2').expect(200);
  await later(30);
  await guess().expect(401);
});

test('guesses from many addresses are slowed down together, and the owner signs in on a device of theirs all the same', async () => {
  const device = supertest.agent(app.server);
  const right = () =>
    device.post('/api/session').set('x-forwarded-for', '192.0.2.1').send({
      email: person.email,
      password: testPassword,
    });
  const { body } = await right().expect(200);
  await device.delete('/api/session').set('x-csrf-token', body.csrfToken).expect(204);
  // From the owner's own address too, as behind the router of a press box.
  for (let i = 0; i < delays.email.free; i++) await guess(`192.0.2.${i % 10}`).expect(401);
  await guess('192.0.2.200').expect(429);
  await signIn({ email: person.email, password: testPassword }, '192.0.2.201').expect(429);
  const again = await right().expect(200);
  const cookies = again.headers['set-cookie'] as unknown as string[];
  expect(cookies.find((cookie) => cookie.startsWith('crewmark_device='))).toMatch(
    /^crewmark_device=[\w-]{43}; Path=\/; Expires=.+; HttpOnly; SameSite=Lax$/,
  );
  // The attackers are where they were.
  await guess('192.0.2.202').expect(429);
});

test('a device is known for whom it signed in only, is counted itself, and is strange after a new password', async () => {
  const device = supertest.agent(app.server);
  const from = (email: string, password: string) =>
    device.post('/api/session').set('x-forwarded-for', '192.0.2.7').send({ email, password });
  const other = await makePerson(database.pool, conferenceId, ['observer'], { passwordHash });
  const first = await from(person.email, testPassword).expect(200);
  await device.delete('/api/session').set('x-csrf-token', first.body.csrfToken).expect(204);
  for (let i = 0; i < delays.pair.free; i++) await from(other.email, 'wrong').expect(401);
  await from(other.email, testPassword).expect(429);
  for (let i = 0; i < delays.device.free; i++) await from(person.email, 'wrong').expect(401);
  await from(person.email, testPassword).expect(429);
  await later(30);
  await from(person.email, testPassword).expect(200);

  const { token } = await makeLink(database.pool, person, 'reset');
  await supertest(app.server)
    .post('/api/account-links/use')
    .send({ token, password: 'a wholly new password' })
    .expect(200);
  for (let i = 0; i < delays.pair.free; i++) await from(person.email, 'wrong').expect(401);
  await from(person.email, 'a wholly new password').expect(429);
  const { rows } = await database.pool.query('SELECT count(*)::int FROM known_device WHERE person_id = $1', [
    person.personId,
  ]);
  expect(rows).toEqual([{ count: 1 }]); // the one that used the link
});

test('a right password clears the count', async () => {
  for (let round = 0; round < 3; round++) {
    for (let i = 0; i < 4; i++) await guess().expect(401);
    await signIn({ email: person.email, password: testPassword }).expect(200);
  }
});

test('many guesses at once do not slip through', async () => {
  const answers = await Promise.all(
    Array.from({ length: 25 }, (_, i) => signIn({ email: person.email, password: `guess ${i}` })),
  );
  expect(answers.filter((answer) => answer.status === 401)).toHaveLength(delays.pair.free);
  expect(answers.filter((answer) => answer.status === 429)).toHaveLength(20);
});

test('one address that tries many e-mails has to wait; an IPv6 neighbour in the same /64 too', async () => {
  await database.pool.query('DELETE FROM sign_in_attempt');
  await signIn({ email: 'a0@example.test', password: 'x' }, '2001:db8:1:2::1').expect(401);
  const { rows } = await database.pool.query("SELECT key FROM sign_in_attempt WHERE key LIKE 'network:%'");
  expect(rows).toHaveLength(1);
  await database.pool.query(
    "UPDATE sign_in_attempt SET failures = $1, open_at = now() + interval '1 minute' WHERE key = $2",
    [delays.network.free, rows[0].key],
  );
  await signIn({ email: 'a1@example.test', password: 'x' }, '2001:db8:1:2:ffff::9').expect(429);
  await signIn({ email: 'a1@example.test', password: 'x' }, '2001:db8:1:3::1').expect(401);
});

test('behind a proxy the address is the one the proxy saw, not the one the client claims', async () => {
  for (const claimed of ['198.51.100.1', '198.51.100.2', '198.51.100.3']) {
    await signIn({ email: `${claimed}@example.test`, password: 'x' }, `${claimed}, 192.0.2.1`).expect(401);
  }
  const { rows } = await database.pool.query(
    "SELECT failures FROM sign_in_attempt WHERE key LIKE 'network:%'",
  );
  expect(rows).toEqual([{ failures: 3 }]);
});

test('what is typed into the sign-in form is not kept in the table of attempts', async () => {
  await signIn({ email: 'my secret password', password: 'x' }).expect(401);
  const { rows } = await database.pool.query('SELECT key FROM sign_in_attempt');
  expect(JSON.stringify(rows)).not.toContain('secret');
});

test('an invitation: looked at, refused with reasons, used once, and one is signed in', async () => {
  const invited = await makePerson(database.pool, conferenceId, ['official'], { givenName: 'Wilma' });
  const { token } = await makeLink(database.pool, invited, 'invitation');
  const url = `/invitation/${token}`;
  expect((await supertest(app.server).get(url).expect(200)).text).toContain('Welcome, Wilma');
  expect((await postForm(url, { password: 'one', repeated: 'two' }).expect(400)).text).toContain(
    'not the same',
  );
  expect((await postForm(url, { password: 'short', repeated: 'short' }).expect(400)).text).toContain(
    'at least 15 characters (this has 5)',
  );
  const chosen = 'a password of my own';
  const both = await Promise.all([
    postForm(url, { password: chosen, repeated: chosen }),
    postForm(url, { password: chosen, repeated: chosen }),
  ]);
  expect(both.map((answer) => answer.status).sort()).toEqual([303, 410]);
  const agent = await signedInAgent(app, invited.email, chosen);
  expect((await agent.get('/api/session')).body.personId).toBe(invited.personId);
  expect((await supertest(app.server).get(url).expect(410)).text).toContain('no longer works');
  const { rows } = await database.pool.query('SELECT action FROM audit_entry WHERE subject_id = $1', [
    invited.personId,
  ]);
  expect(rows).toEqual([{ action: 'accepted the invitation' }]);
});

test('a reset link signs the person out everywhere, and old, replaced and made-up links do not work', async () => {
  const { agent, ...who } = await signedIn(['observer']);
  const { token: replaced } = await makeLink(database.pool, who, 'reset');
  const { token } = await makeLink(database.pool, who, 'reset');
  const use = (value: string) =>
    supertest(app.server)
      .post('/api/account-links/use')
      .send({ token: value, password: 'a wholly new password' });
  await use(replaced).expect(410);
  await use('made-up').expect(410);
  await supertest(app.server).get(`/invitation/${token}`).expect(410); // the other kind's page
  await use(token).expect(200);
  await agent.get('/api/session').expect(401);
  await signIn({ email: who.email, password: testPassword }).expect(401);
  await signIn({ email: who.email, password: 'a wholly new password' }).expect(200);
  const { token: old } = await makeLink(database.pool, who, 'reset');
  await database.pool.query("UPDATE account_link SET expires_at = now() - interval '1 second'");
  await use(old).expect(410);
  expect(JSON.stringify((await database.pool.query('SELECT * FROM account_link')).rows)).not.toContain(old);
});

test('changing the password: the present one is needed, other devices are signed out, this one stays', async () => {
  const { agent, ...who } = await signedIn(['official']);
  const elsewhere = await signedInAgent(app, who.email, testPassword);
  const change = (currentPassword: string, newPassword: string) =>
    agent.put('/api/session/password').send({ currentPassword, newPassword });
  const wrong = await change('not it', 'a wholly new password').expect(400);
  expect(JSON.parse(wrong.text).errors).toEqual([
    { field: 'currentPassword', message: 'This is not your present password.' },
  ]);
  expect(JSON.parse((await change(testPassword, 'short').expect(400)).text).errors[0].field).toBe(
    'newPassword',
  );
  await change(testPassword, 'a wholly new password').expect(200);
  await agent.get('/api/session').expect(200);
  await elsewhere.get('/api/session').expect(401);
});

test('my account page: change the password, and sign out on other devices', async () => {
  const { agent, ...who } = await signedIn(['official']);
  const elsewhere = await signedInAgent(app, who.email, testPassword);
  expect((await agent.get('/my/account').expect(200)).text).toContain('on 1 other device');
  await agent.post('/my/account/other-sessions').expect(303);
  await elsewhere.get('/api/session').expect(401);
  expect((await agent.get('/my/account?done=others')).text).toContain('Signed out on every other device.');
  const post = (fields: object) => agent.post('/my/account/password').type('form').send(fields);
  const bad = await post({ currentPassword: 'x', newPassword: 'y', repeated: 'z' }).expect(400);
  expect(bad.text).toContain('not the same');
  const good = {
    currentPassword: testPassword,
    newPassword: 'a wholly new password',
    repeated: 'a wholly new password',
  };
  const done = await post(good).expect(303);
  expect(done.headers.location).toBe('/my/account?done=password');
  await agent.get('/my/account').expect(200);
});

test('signing out on a page ends the session', async () => {
  const { agent } = await signedIn(['official']);
  await agent.post('/sign-out').expect(303).expect('location', '/sign-in');
  await agent.get('/api/session').expect(401);
});
