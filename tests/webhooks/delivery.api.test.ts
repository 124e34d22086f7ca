// @module-tag long
import { execFile } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import { type AddressInfo, createServer } from 'node:net';
import path from 'node:path';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import { Webhook } from 'standardwebhooks';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { connect, type Database } from '../../server/database/database.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { claimNext, settle } from '../../server/webhooks/delivery-queue.ts';
import { daysKept, removeOldDeliveries } from '../../server/webhooks/delivery-store.ts';
import { noteEvent } from '../../server/webhooks/note-event.ts';
import { post } from '../../server/webhooks/post.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { type Receiver, receiver } from './receiver.ts';

// Two servers with a pool each share the deliveries; they go to real HTTP servers on loopback.

let database: TestDatabase;
let second: Database;
let one: FastifyInstance;
let other: FastifyInstance;
let site: Receiver;
let conferenceId: string;
let coordinator: SignedInAgent;
let webhookId: string;
let secret: string;

beforeAll(async () => {
  database = await testDatabase();
  second = connect(database.url);
  const env = { WEBHOOKS_TO_LOOPBACK: 'on', PUBLIC_URL: 'https://grades.example.test' };
  one = await testApp(database, env);
  other = await testApp({ ...second }, env);
});
afterAll(async () => {
  await one.close();
  await other.close();
  await second.close();
  await database.drop();
});
beforeEach(async () => {
  await database.pool.query('DELETE FROM webhook');
  site = await receiver();
  conferenceId = await makeConference(database.pool);
  await database.pool.query(`INSERT INTO season (conference_id, name) VALUES ($1, '2031')`, [conferenceId]);
  const { personId } = await makePerson(database.pool, conferenceId, ['coordinator']);
  coordinator = await inSessionOf(one, { conferenceId, personId });
  ({ webhookId, secret } = await made(site.address));
  return () => site.close();
});

async function made(address: string) {
  const answer = await coordinator
    .post('/api/webhooks')
    .send({ address, events: ['report.released', 'reply.written'] })
    .expect(201);
  return { webhookId: answer.body.id as string, secret: answer.body.secret as string };
}

const id = '00000000-0000-4000-8000-000000000001';
const facts = { seasonId: id, gameId: id, reportId: id };
const happens = (event: 'report.released' | 'reply.written' | 'reply.ruled' = 'report.released') =>
  inTransaction(database.pool, (client) => noteEvent(client, conferenceId, event, facts));
const deliver = async (...apps: FastifyInstance[]) => {
  for (const app of apps) app.webhooks.wake();
  await Promise.all(apps.map((app) => app.webhooks.idle()));
};
const dueNow = async () => {
  await database.pool.query(`UPDATE webhook_delivery SET next_attempt = now() WHERE state = 'waiting'`);
  await database.pool.query('UPDATE webhook SET in_hand_until = NULL');
};
const rows = async (of = webhookId) =>
  (
    await database.pool.query(
      `SELECT id, event, state, attempts, status, error, answer,
              round(extract(epoch FROM next_attempt - now()))::int AS seconds
         FROM webhook_delivery WHERE webhook_id = $1 ORDER BY happened_at, id`,
      [of],
    )
  ).rows;
const webhook = async (of = webhookId) =>
  (await coordinator.get('/api/webhooks').expect(200)).body.find((each: { id: string }) => each.id === of);
const desk = async () => (await coordinator.get('/desk').expect(200)).text;

describe('at least once', () => {
  test('two servers that send at the same time send each event once, of addresses that want it', async () => {
    const elsewhere = await receiver();
    const { webhookId: ofElsewhere } = await made(elsewhere.address);
    for (let many = 0; many < 15; many += 1) await happens();
    await happens('reply.ruled');
    await deliver(one, other);
    await deliver(one, other);
    for (const each of [site, elsewhere]) {
      expect(each.arrived).toHaveLength(15);
      expect(new Set(each.arrived.map(({ headers }) => headers['webhook-id'])).size).toBe(15);
    }
    for (const of of [webhookId, ofElsewhere])
      for (const row of await rows(of))
        expect(row).toMatchObject({ state: 'delivered', attempts: 1, status: 204, error: null });
    await elsewhere.close();
  });

  test('an event is kept with what it tells, or not at all', async () => {
    await expect(
      inTransaction(database.pool, async (client) => {
        await noteEvent(client, conferenceId, 'report.released', facts);
        throw new Error('the step fails');
      }),
    ).rejects.toThrow('the step fails');
    await deliver(one);
    expect([site.arrived, await rows()]).toEqual([[], []]);
  });

  test('of a conference’s events another is told nothing', async () => {
    const theirs = await makeConference(database.pool);
    await inTransaction(database.pool, (client) => noteEvent(client, theirs, 'report.released', facts));
    await deliver(one);
    expect(site.arrived).toEqual([]);
  });

  test('what a process that died had in hand is taken over once its time is up, under the same id; its late word counts no more', async () => {
    await happens();
    const claimed = (await claimNext(second.pool))!;
    await happens();
    // Neither that one nor another to the same address.
    await deliver(one);
    expect(site.arrived).toEqual([]);
    await dueNow();
    await deliver(one);
    expect(site.arrived.map(({ headers }) => headers['webhook-id']).sort()).toEqual(
      (await rows()).map((row) => row.id).sort(),
    );
    const failed = { status: 500, error: 'It answered 500', answer: null, retryAfter: 0 };
    expect(await settle(second.pool, claimed, failed)).toBeNull();
    expect((await rows()).map(({ state, attempts }) => [state, attempts])).toEqual([
      ['delivered', 2],
      ['delivered', 1],
    ]);
  });

  test('sent again while it is in hand, it is not sent twice', async () => {
    site.answer = 'nothing';
    await happens();
    one.webhooks.wake();
    await site.arrivals(1);
    const [row] = await rows();
    await coordinator.post(`/api/webhooks/${webhookId}/deliveries/${row.id}/again`).expect(202);
    await deliver(other);
    expect(site.arrived).toHaveLength(1);
    site.letGo({ status: 200 });
    await deliver(one, other);
    expect(await rows()).toMatchObject([{ state: 'delivered', attempts: 1 }]);
    expect(site.arrived).toHaveLength(1);
  });

  test('an address that does not answer keeps no other waiting', async () => {
    site.answer = 'nothing';
    const elsewhere = await receiver();
    await made(elsewhere.address);
    for (let many = 0; many < 5; many += 1) await happens();
    one.webhooks.wake();
    await Promise.all([site.arrivals(1), elsewhere.arrivals(5)]);
    expect(site.arrived).toHaveLength(1);
    await site.close();
    site = await receiver();
    await one.webhooks.idle();
    expect((await rows())[0]).toMatchObject({ state: 'waiting', error: 'It ended the connection' });
    await elsewhere.close();
  });
});

describe('between conferences', () => {
  test('one whose addresses do not answer keeps no other waiting', async () => {
    site.answer = 'nothing';
    const more = [await receiver(), await receiver(), await receiver()];
    for (const each of more) {
      each.answer = 'nothing';
      await made(each.address);
    }
    await happens();
    const silent = [site, ...more];
    const theirs = await makeConference(database.pool);
    const { personId } = await makePerson(database.pool, theirs, ['coordinator']);
    const elsewhere = await receiver();
    const neighbour = await inSessionOf(one, { conferenceId: theirs, personId });
    await neighbour
      .post('/api/webhooks')
      .send({ address: elsewhere.address, events: ['report.released'] })
      .expect(201);
    await inTransaction(database.pool, (client) => noteEvent(client, theirs, 'report.released', facts));
    one.webhooks.wake();
    await elsewhere.arrivals(1);
    // Nothing of the first conference was answered yet, and it holds no more than two lanes.
    expect(silent.flatMap(({ arrived }) => arrived).length).toBeLessThanOrEqual(2);
    for (const each of silent) {
      each.answer = { status: 204 };
      each.letGo({ status: 204 });
    }
    await deliver(one);
    await deliver(one);
    for (const each of silent) expect(each.arrived).toHaveLength(1);
    for (const each of [...more, elsewhere]) await each.close();
  });
});

describe('signed', () => {
  test('the verifier of the specification takes what arrives; at a new try the id and the body are the same', async () => {
    site.answer = { status: 500 };
    await happens();
    await deliver(one);
    site.answer = { status: 200 };
    await dueNow();
    await deliver(one);
    const [first, again] = site.arrived;
    expect(site.arrived).toHaveLength(2);
    for (const { headers, body } of site.arrived) {
      expect(new Webhook(secret).verify(body, headers)).toEqual(JSON.parse(body));
      expect(headers).toMatchObject({ 'content-type': 'application/json', host: new URL(site.address).host });
      expect(headers['user-agent']).toMatch(/^Crewmark\/\d/);
    }
    expect([again!.headers['webhook-id'], again!.body]).toEqual([first!.headers['webhook-id'], first!.body]);
  });

  test('a replaced secret signs beside the new one for three days, one before that no more', async () => {
    const replace = async () =>
      (await coordinator.post(`/api/webhooks/${webhookId}/secret`).expect(200)).body.secret as string;
    const [middle, newest] = [await replace(), await replace()];
    const days = (Date.parse((await webhook()).earlierUntil) - Date.now()) / 86_400_000;
    expect(days).toBeGreaterThan(2.9);
    expect(days).toBeLessThanOrEqual(3);
    await happens();
    await deliver(one);
    const arrived = site.arrived[0]!;
    for (const known of [middle, newest]) new Webhook(known).verify(arrived.body, arrived.headers);
    expect(() => new Webhook(secret).verify(arrived.body, arrived.headers)).toThrow();
    await database.pool.query(`UPDATE webhook SET earlier_until = now() - interval '1 second'`);
    await happens();
    await deliver(one);
    const later = site.arrived[1]!;
    new Webhook(newest).verify(later.body, later.headers);
    expect(() => new Webhook(middle).verify(later.body, later.headers)).toThrow();
    await removeOldDeliveries(database.pool);
    const { rows: kept } = await database.pool.query('SELECT earlier_secret, earlier_until FROM webhook');
    expect(kept).toEqual([{ earlier_secret: null, earlier_until: null }]);
  });
});

describe('what was not taken', () => {
  test('is tried again later and later, then given up, which the coordinator’s desk tells; sent again, it starts anew', async () => {
    site.answer = { status: 503, body: '<h1>Under\u0000 repair</h1>\n'.repeat(100) };
    await happens();
    for (let tries = 1; tries < 10; tries += 1) {
      await deliver(one);
      const middle = Math.min(30 * 4 ** (tries - 1), 72_000);
      const [row] = await rows();
      expect(row).toMatchObject({ state: 'waiting', attempts: tries, status: 503, error: 'It answered 503' });
      expect(row.seconds).toBeGreaterThan(middle * 0.75);
      expect(row.seconds).toBeLessThan(middle * 1.25);
      await dueNow();
    }
    expect(await desk()).not.toContain('Webhook to');
    await deliver(one);
    const [row] = await rows();
    expect(row).toMatchObject({ state: 'given up', attempts: 10 });
    expect(row.answer).toHaveLength(200);
    expect(row.answer).toMatch(/^<h1>Under repair<\/h1> <h1>Under/);
    await dueNow();
    await deliver(one);
    expect(site.arrived).toHaveLength(10);
    const told = await desk();
    expect(told).toContain(`Webhook to ${new URL(site.address).host}`);
    expect(told).toContain('An event was not taken for three days. It answered 503.');

    site.answer = { status: 200 };
    await coordinator
      .post(`/settings/webhooks/${webhookId}/again`)
      .type('form')
      .send({ next: '/desk' })
      .expect(303)
      .expect('location', '/desk');
    await one.webhooks.idle();
    expect((await rows())[0]).toMatchObject({ state: 'delivered', attempts: 1, status: 200, answer: null });
    expect(new Set(site.arrived.map(({ headers }) => headers['webhook-id'])).size).toBe(1);
    expect(await desk()).not.toContain('Webhook to');
  });

  test('waits as long as the receiver asks for, in seconds or as a date', async () => {
    site.answer = { status: 429, headers: { 'retry-after': '3600' } };
    await happens();
    await deliver(one);
    expect((await rows())[0].seconds).toBeGreaterThan(3500);
    site.answer = { status: 429, headers: { 'retry-after': new Date(Date.now() + 7200_000).toUTCString() } };
    await dueNow();
    await deliver(one);
    expect((await rows())[0].seconds).toBeGreaterThan(7000);
  });

  test('gone (410) pauses it, the desk and the trail tell; what waits is sent when it goes on', async () => {
    site.answer = { status: 410 };
    await happens();
    await happens();
    await deliver(one);
    expect(site.arrived).toHaveLength(1);
    expect(await webhook()).toMatchObject({ state: 'gone', waiting: 2 });
    expect(await desk()).toContain('It answered 410, gone, and is paused');
    await happens();
    await dueNow();
    await deliver(one);
    expect(site.arrived).toHaveLength(1);
    const { rows: trail } = await database.pool.query(
      `SELECT actor_id AS actor, action, reason FROM audit_entry WHERE conference_id = $1 AND subject_id = $2
        ORDER BY number DESC LIMIT 1`,
      [conferenceId, webhookId],
    );
    expect(trail).toEqual([{ actor: null, action: 'paused a webhook', reason: 'It answered 410, gone.' }]);
    site.answer = { status: 200 };
    await coordinator.patch(`/api/webhooks/${webhookId}`).send({ paused: false }).expect(200);
    await deliver(one);
    expect(site.arrived).toHaveLength(4);
    expect(await webhook()).toMatchObject({ state: 'works', waiting: 0 });
    expect(await desk()).not.toContain('It answered 410');
  });

  test('a redirect is not followed', async () => {
    const elsewhere = await receiver();
    for (const status of [301, 302, 303, 307, 308]) {
      site.answer = { status, headers: { location: elsewhere.address } };
      await happens();
      await deliver(one);
      expect((await rows()).at(-1)).toMatchObject({
        ...{ state: 'waiting', status },
        error: `It answered ${status}, a redirect, which is not followed; write the address that it leads to`,
      });
    }
    expect(elsewhere.arrived).toEqual([]);
    await elsewhere.close();
  });

  test('paused by hand it waits; removed, what waits goes with it', async () => {
    await coordinator.patch(`/api/webhooks/${webhookId}`).send({ paused: true }).expect(200);
    await happens();
    await deliver(one);
    expect(await webhook()).toMatchObject({ state: 'paused', waiting: 1 });
    await coordinator.delete(`/api/webhooks/${webhookId}`).expect(204);
    expect(await rows()).toEqual([]);
    await happens();
    await deliver(one);
    expect(site.arrived).toEqual([]);
  });

  test('what is settled goes after a month, as what waits for a paused address; what was given up stays', async () => {
    for (let many = 0; many < 4; many += 1) await happens();
    const states = ['delivered', 'let be', 'given up', 'waiting'];
    for (const [at, { id: delivery }] of (await rows()).entries())
      await database.pool.query('UPDATE webhook_delivery SET state = $2 WHERE id = $1', [
        delivery,
        states[at],
      ]);
    const left = async () => (await rows()).map(({ state }) => state).sort();
    expect(await removeOldDeliveries(database.pool)).toBe(0);
    await database.pool.query(
      'UPDATE webhook_delivery SET happened_at = happened_at - make_interval(days => $1)',
      [daysKept],
    );
    expect(await removeOldDeliveries(database.pool)).toBe(2);
    expect(await left()).toEqual(['given up', 'waiting']);
    await coordinator.patch(`/api/webhooks/${webhookId}`).send({ paused: true }).expect(200);
    expect(await removeOldDeliveries(database.pool)).toBe(1);
    expect(await left()).toEqual(['given up']);
  });
});

describe('where nothing is sent', () => {
  test('where the setting does not allow it, this machine is refused when its name is looked up, at each delivery', async () => {
    const strict = await testApp(database);
    // Kept while it was allowed.
    await happens();
    await deliver(strict);
    expect((await rows())[0]).toMatchObject({
      ...{ state: 'waiting', status: null },
      error: expect.stringMatching(/^It lies inside a network or is this server itself/),
    });
    expect(site.arrived).toEqual([]);
    await coordinator
      .post('/api/webhooks')
      .send({ address: 'http://www.example.org/', events: ['report.released'] })
      .expect(400);
    await strict.close();
  });

  test.each([
    ['https://10.0.0.1/', true],
    ['https://169.254.169.254/latest/meta-data', true],
    ['https://[fd00:ec2::254]/', true],
    ['https://[::ffff:7f00:1]/', true],
    ['https://127.0.0.1:1/', false],
    ['https://[::1]:1/', false],
    ['https://localhost:1/', false],
    // Without TLS only this machine, whatever a name leads to.
    ['http://10.0.0.1/', true],
    ['http://1.1.1.1/', true],
  ])('%s is not even connected to', async (address, toLoopback) => {
    expect(await post(address, {}, '{}', toLoopback)).toEqual({
      ...{ status: null, answer: null, retryAfter: 0 },
      error: expect.stringMatching(/^It lies inside a network/),
    });
  });

  test('a name that is nobody’s, a port where nobody listens, an end without an answer', async () => {
    // .invalid is nobody's name for good (RFC 2606).
    const unknown = await post('https://webhook.invalid/', {}, '{}', false);
    expect(unknown.error).toMatch(/^Its name (is not known|could not be looked up) \(DNS\)$/);
    await site.close();
    expect((await post(site.address, {}, '{}', true)).error).toBe('Nobody listens there');
    site = await receiver();
  });

  test('an answer that is none of HTTP is told as such', async () => {
    const other = createServer((socket) =>
      socket.once('data', () => socket.end('220 mail.example.test\r\n')),
    );
    await new Promise<void>((resolve) => other.listen(0, '127.0.0.1', resolve));
    const { port } = other.address() as AddressInfo;
    const { error } = await post(`http://127.0.0.1:${port}/`, {}, '{}', true);
    expect(error).toMatch(/^What it answered is not HTTP, or its headers are too long \(HPE_/);
    await new Promise((resolve) => other.close(resolve));
  });

  test('no answer in time is none; an answer that never ends is its status', async () => {
    site.answer = 'nothing';
    expect((await post(site.address, {}, '{}', true, 0.3)).error).toBe('No answer within 0.3 seconds');
    site.answer = { status: 500, headers: { 'content-length': '1000' }, body: 'begun' };
    expect(await post(site.address, {}, '{}', true, 0.3)).toMatchObject({ status: 500, answer: 'begun' });
    site.answer = { status: 200, headers: { 'content-length': '1000' }, body: 'begun' };
    expect(await post(site.address, {}, '{}', true, 0.3)).toMatchObject({ status: 200, error: null });
  });

  test('a certificate that nobody vouches for is not trusted', async () => {
    const folder = await folderInRun('certificate');
    const file = (name: string) => path.join(folder, name);
    await promisify(execFile)('openssl', [
      ...['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes', '-days', '2'],
      ...['-subj', '/CN=localhost', '-addext', 'subjectAltName=DNS:localhost'],
      ...['-keyout', file('key.pem'), '-out', file('cert.pem')],
    ]);
    const [key, cert] = await Promise.all(
      ['key.pem', 'cert.pem'].map((name) => readFile(file(name), 'utf8')),
    );
    const secure = await receiver({ key: key!, cert: cert! });
    expect((await post(secure.address, {}, '{}', true)).error).toMatch(
      /^There is no TLS to trust \(DEPTH_ZERO/,
    );
    expect(secure.arrived).toEqual([]);
    await secure.close();
  });
});
