// @module-tag long
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { Webhook } from 'standardwebhooks';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { makeConference, makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type Receiver, receiver } from './receiver.ts';

// The pages and the API on which a coordinator adds addresses and looks after them; pages are held against the HTML
// standard by html-validate.

const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
const page = '/settings/webhooks';

let database: TestDatabase;
let app: FastifyInstance;
let site: Receiver;
let conferenceId: string;
let coordinator: SignedInAgent;
let stranger: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database, { WEBHOOKS_TO_LOOPBACK: 'on', PUBLIC_URL: 'https://grades.example.test' });
  site = await receiver();
});
afterAll(async () => {
  await app.close();
  await site.close();
  await database.drop();
});
beforeEach(async () => {
  site.arrived.length = 0;
  site.answer = { status: 204 };
  conferenceId = await makeConference(database.pool);
  await database.pool.query(`INSERT INTO season (conference_id, name) VALUES ($1, '2031')`, [conferenceId]);
  coordinator = await inSessionOf(app, await makePerson(database.pool, conferenceId, ['coordinator']));
  const elsewhere = await makeConference(database.pool);
  stranger = await inSessionOf(app, await makePerson(database.pool, elsewhere, ['coordinator']));
});

async function valid(html: string): Promise<string> {
  const { results } = await validator.validateString(html);
  expect(
    results.flatMap(({ messages }) => messages.map(({ message, line }) => `${line}: ${message}`)),
  ).toEqual([]);
  return html;
}
const shown = async (address: string) => valid((await coordinator.get(address).expect(200)).text);
const send = (address: string, fields: object = {}) => coordinator.post(address).type('form').send(fields);
const add = async (fields: object = {}) => {
  const made = await send(page, {
    address: site.address,
    events: ['report.released', 'reply.ruled'],
    ...fields,
  });
  expect(made.status).toBe(200);
  await valid(made.text);
  return {
    secret: /value="(whsec_[\w+/]{43}=)"/.exec(made.text.replaceAll('&#x3D;', '='))![1]!,
    one: `${page}/${/settings\/webhooks\/([0-9a-f-]{36})/.exec(made.text)![1]}`,
  };
};
const trail = async () =>
  (
    await database.pool.query(
      `SELECT action, before, after FROM audit_entry WHERE conference_id = $1 AND subject_kind = 'webhook' ORDER BY number`,
      [conferenceId],
    )
  ).rows;

test('added, tried, changed, given another secret, paused, let go on and removed, each told by the trail', async () => {
  expect(await shown('/setup')).toBeTruthy();
  expect(await shown(page)).toContain('There are none.');
  const { secret, one } = await add();
  // Shown that once.
  for (const address of [page, one]) expect(await shown(address)).not.toContain('whsec_');

  await send(`${one}/test`).expect(303).expect('location', `${one}?done=test#sent`);
  const [arrived] = site.arrived;
  new Webhook(secret).verify(arrived!.body, arrived!.headers);
  const tried = await shown(`${one}?done=test`);
  expect(tried).toMatch(/A test was sent[\s\S]+<span class="tag good">delivered<\/span>[\s\S]+204/);

  await send(one, { address: `${site.address}/new?key=SECRETKEY`, events: 'reply.written' }).expect(303);
  expect(await shown(one)).toContain('new?key&#x3D;SECRETKEY');
  const replaced = await send(`${one}/secret`).expect(200);
  await valid(replaced.text);
  expect(replaced.text).toMatch(/whsec_[\s\S]+3 days from now/);
  expect(replaced.text).not.toContain(secret.replaceAll('=', '&#x3D;'));
  expect(await shown(one)).toContain('>Send again<span');
  await send(`${one}/pause`).expect(303);
  const paused = await shown(`${one}?done=pause`);
  expect(paused).toContain('Paused: what happens waits');
  // Nothing is sent there meanwhile, so nothing offers it.
  expect(paused).not.toMatch(/>(Send again|Try now)<span/);
  const refused = await send(`${one}/test`).expect(409);
  expect(await valid(refused.text)).toContain('It is paused, and nothing is sent: let it go on first.');
  await send(`${one}/go-on`).expect(303);
  await send(`${one}/remove`).expect(303);
  expect(await shown(`${page}?done=removed`)).toContain('There are none.');
  await coordinator.get(one).expect(404);

  const [first, second] = [site.address, `${site.address}/new`];
  const made = { address: first, events: ['report.released', 'reply.ruled'] };
  const changed = { address: second, events: ['reply.written'] };
  const [before, after] = [null, null];
  expect(await trail()).toEqual([
    { action: 'made a webhook', before, after: made },
    { action: 'changed a webhook', before: made, after: changed },
    { action: 'replaced the secret of a webhook', before, after },
    { action: 'paused a webhook', before, after },
    { action: 'let a webhook go on', before, after },
    { action: 'removed a webhook', before: changed, after },
  ]);
  await shown('/trail');
});

test('what was typed wrongly is told beside its field, and nothing of it is lost', async () => {
  const wrong = await send(page, { address: 'http://www.example.org/hook', events: 'reply.ruled' }).expect(
    400,
  );
  expect(await valid(wrong.text)).toContain('The address must begin with https://.');
  expect(wrong.text).toContain('value="http://www.example.org/hook"');
  expect(wrong.text).toMatch(/value="reply\.ruled" checked/);
  const none = await send(page, { address: site.address }).expect(400);
  expect(await valid(none.text)).toContain('Choose at least one event.');
  const { one } = await add();
  const twice = await send(page, { address: site.address, events: 'reply.ruled' }).expect(400);
  expect(await valid(twice.text)).toContain('This address is in the list; change it there.');
  const inside = await send(one, { address: 'https://10.1.2.3/', events: 'reply.ruled' }).expect(400);
  expect(await valid(inside.text)).toContain('This address lies inside a network');
  for (let number = 2; number <= 10; number += 1) await add({ address: `${site.address}/${number}` });
  const many = await send(page, { address: `${site.address}/11`, events: 'reply.ruled' }).expect(409);
  expect(await valid(many.text)).toContain(
    'There are 10 webhooks, as many as there can be: remove one first.',
  );
  const other = await send(one, { address: `${site.address}/2`, events: 'reply.ruled' }).expect(400);
  expect(await valid(other.text)).toContain('This address is in the list');
});

test('what was given up is listed with what was answered; one is sent again, the others are left', async () => {
  const { one } = await add();
  const webhookId = one.split('/').at(-1);
  const { rows } = await database.pool.query<{ id: string }>(
    `INSERT INTO webhook_delivery (conference_id, webhook_id, event, facts, state, attempts, status, error, answer, settled_at)
     SELECT $1, $2, 'report.released', jsonb_build_object('seasonId', $2::uuid, 'gameId', $2::uuid, 'reportId', $2::uuid),
            'given up', 10, 500, 'It answered 500', '<script>alert(1)</script>', now() FROM generate_series(1, 3)
     RETURNING id`,
    [conferenceId, webhookId],
  );
  const listed = await shown(one);
  expect(listed).toContain('3 deliveries were given up after three days.');
  expect(listed).toContain('&lt;script&gt;alert(1)&lt;/script&gt;');
  expect(await shown(page)).toContain('in trouble');
  await send(`${one}/deliveries/${rows[0]!.id}/again`).expect(303);
  expect(site.arrived.map(({ headers }) => headers['webhook-id'])).toEqual([rows[0]!.id]);
  await send(`${one}/let-be`).expect(303);
  expect(await shown(one)).not.toContain('given up after');
  const api = (await coordinator.get(`/api/webhooks/${webhookId}/deliveries?limit=2`).expect(200)).body;
  expect(api).toHaveLength(2);
  await coordinator.post(`/api/webhooks/${webhookId}/deliveries/${rows[1]!.id}/again`).expect(202);
  await app.webhooks.idle();
  expect(site.arrived).toHaveLength(2);
});

test('by the API: refusals name the field; another conference’s are not there; a token may, and the trail names it', async () => {
  for (const [body, field] of [
    [{ address: 'https://10.0.0.1/', events: ['reply.ruled'] }, 'body.address'],
    [{ address: 'https://www.example.org/', events: [] }, 'body.events'],
    [{ address: 'https://www.example.org/', events: ['reply.ruled', 'reply.ruled'] }, 'body.events'],
    [{ address: 'https://www.example.org/', events: ['report.read'] }, 'body.events.0'],
  ] as const) {
    const refused = await coordinator.post('/api/webhooks').send(body).expect(400);
    expect(JSON.parse(refused.text).errors[0].field).toBe(field);
  }
  const { token } = (
    await coordinator.post('/api/tokens').send({ name: 'site', role: 'coordinator' }).expect(201)
  ).body;
  const made = await app.inject({
    ...{ method: 'POST', url: '/api/webhooks', headers: { authorization: `Bearer ${token}` } },
    payload: { address: site.address, events: ['reply.ruled'] },
  });
  expect(made.statusCode).toBe(201);
  const { id } = made.json();
  const { rows } = await database.pool.query(
    `SELECT token ->> 'name' AS name FROM audit_entry WHERE conference_id = $1 AND subject_id = $2`,
    [conferenceId, id],
  );
  expect(rows).toEqual([{ name: 'site' }]);
  const path = `/api/webhooks/${id}`;
  await stranger.patch(path).send({ paused: true }).expect(404);
  await stranger.delete(path).expect(404);
  await stranger.post(`${path}/secret`).expect(404);
  await stranger.post(`${path}/test`).expect(404);
  await stranger.get(`${path}/deliveries`).expect(404);
  for (const act of ['', '/pause', '/test', '/secret', '/remove', '/again', '/let-be'])
    await stranger
      .post(`${page}/${id}${act}`)
      .type('form')
      .send({ address: 'https://www.example.org/', events: 'reply.ruled' })
      .expect(404);
  expect((await stranger.get('/api/webhooks').expect(200)).body).toEqual([]);
  expect((await coordinator.get('/api/webhooks').expect(200)).body).toMatchObject([
    { id, address: site.address, events: ['reply.ruled'], state: 'works' },
  ]);
});
