import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { verifyAudit } from '../../server/accounts/audit/audit-verification.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let conferenceId: string;
let coordinator: { personId: string; email: string; agent: SignedInAgent };
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database, { PUBLIC_URL: 'https://grades.example.test/' });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  await database.pool.query('DELETE FROM sign_in_attempt');
  conferenceId = await makeConference(database.pool);
  coordinator = await personSignedIn(app, conferenceId, ['coordinator']);
});

const wilma = {
  email: 'Wilma.Kestrel@Example.test',
  givenName: ' Wilma ',
  familyName: 'Kestrel',
  roles: ['official', 'observer', 'official'],
};
const invite = (body: object = wilma) => coordinator.agent.post('/api/people').send(body);
const auditOf = async (personId: string) =>
  (
    await database.pool.query(
      'SELECT actor_id, action, before, after FROM audit_entry WHERE subject_id = $1 ORDER BY number',
      [personId],
    )
  ).rows;

test('invite a person: listed as invited, with a link under the public address that works', async () => {
  const { body } = await invite().expect(201);
  expect(body.person).toEqual({
    id: expect.any(String),
    email: 'wilma.kestrel@example.test',
    givenName: 'Wilma',
    familyName: 'Kestrel',
    roles: ['observer', 'official'],
    team: null,
    state: 'invited',
    lastSeenAt: null,
  });
  expect(body.link.url).toMatch(/^https:\/\/grades\.example\.test\/invitation\/[\w-]{43}$/);
  const fortnight = Date.parse(body.link.expiresAt) - Date.now();
  expect(Math.abs(fortnight - 14 * 24 * 3600_000)).toBeLessThan(60_000);
  const token = body.link.url.split('/').at(-1);
  const used = await supertest(app.server)
    .post('/api/account-links/use')
    .send({ token, password: 'whistle under wet boots' })
    .expect(200);
  expect(used.body).toMatchObject({ personId: body.person.id, roles: ['observer', 'official'] });
  const list = await coordinator.agent.get('/api/people').expect(200);
  expect(list.body.map((person: { state: string }) => person.state)).toEqual(['active', 'active']);
  expect((await auditOf(body.person.id)).map((entry) => entry.action)).toEqual([
    'invited',
    'accepted the invitation',
  ]);
});

test('no link is made of the host that a request claims', async () => {
  const claimed = { ...wilma, email: 'wilma.second@example.test' };
  const { body } = await coordinator.agent
    .post('/api/people')
    .set('host', 'elsewhere.test')
    .set('x-forwarded-host', 'elsewhere.test')
    .send(claimed)
    .expect(201);
  expect(body.link.url).toMatch(/^https:\/\/grades\.example\.test\//);
});

test('wrong details are told by field; a taken e-mail is a conflict, but not in another conference', async () => {
  const wrong = await invite({
    email: 'wilma',
    givenName: ' ',
    familyName: 'K'.repeat(101),
    roles: [],
  }).expect(400);
  const { errors } = JSON.parse(wrong.text);
  expect(errors.map((error: { field: string }) => error.field)).toEqual([
    'body.email',
    'body.givenName',
    'body.familyName',
    'body.roles',
  ]);
  expect(wrong.text).toContain('Write an e-mail address, such as name@example.org.');
  await invite().expect(201);
  const taken = await invite().expect(409);
  expect(JSON.parse(taken.text).errors[0].field).toBe('email');
  const elsewhere = await personSignedIn(app, await makeConference(database.pool), ['coordinator']);
  await elsewhere.agent.post('/api/people').send(wilma).expect(201);
});

test('change details and roles: kept, audited with before and after, and effective at once', async () => {
  const { agent, personId } = await personSignedIn(app, conferenceId, ['observer']);
  await agent.get('/api/people').expect(403);
  const change = (body: object) => coordinator.agent.patch(`/api/people/${personId}`).send(body);
  const changed = await change({ familyName: 'Plover', roles: ['observer', 'coordinator'] }).expect(200);
  expect(changed.body).toMatchObject({ familyName: 'Plover', roles: ['coordinator', 'observer'] });
  await agent.get('/api/people').expect(200);
  await change({ familyName: 'Plover' }).expect(200); // nothing new, so nothing to remember
  expect(await auditOf(personId)).toEqual([
    {
      actor_id: coordinator.personId,
      action: 'changed roles',
      before: expect.objectContaining({ familyName: 'Person', roles: ['observer'], active: true }),
      after: expect.objectContaining({
        familyName: 'Plover',
        roles: ['coordinator', 'observer'],
        active: true,
      }),
    },
  ]);
  await change({ email: coordinator.email }).expect(409);
  const client = await database.pool.connect();
  expect((await verifyAudit(client, conferenceId)).faults).toEqual([]);
  client.release();
});

test('deactivating signs out, stops links, and can be undone', async () => {
  const { agent, personId } = await personSignedIn(app, conferenceId, ['observer']);
  const { body: link } = await coordinator.agent.post(`/api/people/${personId}/link`).expect(201);
  await coordinator.agent.patch(`/api/people/${personId}`).send({ active: false }).expect(200);
  await agent.get('/api/session').expect(401);
  const token = link.url.split('/').at(-1);
  const use = { token, password: 'whistle under wet boots' };
  await supertest(app.server).post('/api/account-links/use').send(use).expect(410);
  await coordinator.agent.post(`/api/people/${personId}/link`).expect(409);
  const back = await coordinator.agent.patch(`/api/people/${personId}`).send({ active: true }).expect(200);
  expect(back.body.state).toBe('active');
  await supertest(app.server).post('/api/account-links/use').send(use).expect(410); // stays worthless
  expect((await auditOf(personId)).map((entry) => entry.action)).toEqual([
    'made a reset link',
    'deactivated',
    'activated',
  ]);
});

test('the last active coordinator cannot go, even when two remove each other at once', async () => {
  const own = `/api/people/${coordinator.personId}`;
  await coordinator.agent.patch(own).send({ active: false }).expect(409);
  await coordinator.agent
    .patch(own)
    .send({ roles: ['observer'] })
    .expect(409);
  const second = await personSignedIn(app, conferenceId, ['coordinator']);
  const answers = await Promise.all([
    coordinator.agent.patch(`/api/people/${second.personId}`).send({ roles: ['observer'] }),
    second.agent.patch(own).send({ active: false }),
  ]);
  expect(answers.filter((answer) => answer.status === 200)).toHaveLength(1);
  const { rows } = await database.pool.query(
    `SELECT count(*)::int AS left FROM person_role r JOIN person p ON p.id = r.person_id
      WHERE r.conference_id = $1 AND r.role = 'coordinator' AND p.active`,
    [conferenceId],
  );
  expect(rows[0].left).toBe(1);
});

test('a link is an invitation until there is a password, then a reset that lasts a day', async () => {
  const bare = await makePerson(database.pool, conferenceId, ['official']);
  expect((await coordinator.agent.get(`/api/people/${bare.personId}`)).body.state).toBe('not invited');
  const first = await coordinator.agent.post(`/api/people/${bare.personId}/link`).expect(201);
  expect(first.body.purpose).toBe('invitation');
  const second = await coordinator.agent.post(`/api/people/${bare.personId}/link`).expect(201);
  const use = (url: string) =>
    supertest(app.server)
      .post('/api/account-links/use')
      .send({ token: url.split('/').at(-1), password: 'whistle under wet boots' });
  await use(first.body.url).expect(410);
  await use(second.body.url).expect(200);
  const reset = await coordinator.agent.post(`/api/people/${bare.personId}/link`).expect(201);
  expect(reset.body.purpose).toBe('reset');
  expect(reset.body.url).toContain('/new-password/');
  expect(Date.parse(reset.body.expiresAt) - Date.now()).toBeLessThanOrEqual(24 * 3600_000);
});

test("another conference's people are not there: not listed, read, changed or given links", async () => {
  const elsewhere = await personSignedIn(app, await makeConference(database.pool), ['coordinator']);
  const url = `/api/people/${coordinator.personId}`;
  expect((await elsewhere.agent.get('/api/people')).body).toHaveLength(1);
  await elsewhere.agent.get(url).expect(404);
  await elsewhere.agent.patch(url).send({ active: false }).expect(404);
  await elsewhere.agent.post(`${url}/link`).expect(404);
  await elsewhere.agent.get(`/people/${coordinator.personId}`).expect(404);
  for (const act of ['link', 'deactivate', 'activate']) {
    await elsewhere.agent.post(`/people/${coordinator.personId}/${act}`).expect(404);
  }
});

test('the pages: invite with a mistake keeps what was typed, then shows the link once', async () => {
  const post = (url: string, fields: object) => coordinator.agent.post(url).type('form').send(fields);
  const wrong = await post('/people/invite', { ...wilma, email: 'wilma', roles: 'official' }).expect(400);
  expect(wrong.text).toContain('Write an e-mail address');
  expect(wrong.text).toContain('value="Kestrel"');
  expect(wrong.text).toMatch(/value="official" checked/);
  const made = await post('/people/invite', wilma).expect(200);
  const url = /value="(https:\/\/grades\.example\.test\/invitation\/[\w-]+)"/.exec(made.text)?.[1];
  expect(url).toBeDefined();
  const list = await coordinator.agent.get('/people').expect(200);
  expect(list.text).toContain('Kestrel, Wilma');
  expect(list.text).not.toContain(url!);
  const id = /href="\/people\/([0-9a-f-]{36})">Kestrel/.exec(list.text)![1]!;
  const person = await coordinator.agent.get(`/people/${id}`).expect(200);
  expect(person.text).toContain('They have not used their invitation yet.');
  const again = await post('/people/invite', wilma).expect(409);
  expect(again.text).toContain('belongs to someone of this conference already');

  await post(`/people/${id}`, { ...wilma, familyName: 'Plover' }).expect(
    'location',
    `/people/${id}?done=saved`,
  );
  await post(`/people/${id}`, { ...wilma, familyName: '' }).expect(400);
  await post(`/people/${id}/deactivate`, {}).expect(303);
  expect((await coordinator.agent.get(`/people/${id}`)).text).toContain('They cannot sign in.');
  expect((await coordinator.agent.get('/people?state=deactivated')).text).toContain('Plover, Wilma');
  expect((await coordinator.agent.get('/people?find=nobody')).text).toContain('Nobody fits');
  const last = await post(`/people/${coordinator.personId}/deactivate`, {}).expect(409);
  expect(last.text).toContain('without a coordinator');
});

test('what people write is shown as text, not run', async () => {
  await invite({ ...wilma, familyName: '<script>alert(1)</script>' }).expect(201);
  const { text } = await coordinator.agent.get('/people').expect(200);
  expect(text).not.toContain('<script>alert');
  expect(text).toContain('&lt;script&gt;alert(1)&lt;/script&gt;');
});
