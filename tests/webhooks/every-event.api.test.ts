// @module-tag long
import { createConfig, lintFromString } from '@redocly/openapi-core';
import type { FastifyInstance } from 'fastify';
import { Webhook } from 'standardwebhooks';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { z } from 'zod';
import { inTransaction } from '../../server/database/transaction.ts';
import { releaseReport } from '../../server/reports/filing/review-steps.ts';
import { bodySchema, type EventName, eventNames } from '../../server/webhooks/events.ts';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type Arrived, type Receiver, receiver } from './receiver.ts';

// A report from its filing to a ruling, each step done as its person does it; what a conference's site is told of it
// comes to a real HTTP server on loopback.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let site: Receiver;
let coordinator: SignedInAgent;
let observer: SignedInAgent;
let umpire: SignedInAgent;
const publicUrl = 'https://grades.example.test';
let secret: string;
let webhookId: string;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database, { PUBLIC_URL: publicUrl, WEBHOOKS_TO_LOOPBACK: 'on' });
  game = await oneGame(database.pool, 10);
  site = await receiver();
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  observer = await as(game.observerId);
  umpire = await as(game.crew.umpire!);
  const made = await coordinator
    .post('/api/webhooks')
    .send({ address: site.address, events: eventNames })
    .expect(201);
  ({ id: webhookId, secret } = made.body);
});
afterAll(async () => {
  await app.close();
  await site.close();
  await database.drop();
});

interface DescribedPost {
  readonly requestBody: {
    readonly content: {
      readonly 'application/json': {
        readonly schema: z.core.JSONSchema.JSONSchema;
        readonly example: unknown;
      };
    };
  };
  readonly parameters: readonly { readonly name: string }[];
}

let seen = 0;

/** What came since the last time. */
async function came(): Promise<readonly Arrived[]> {
  app.webhooks.wake();
  await app.webhooks.idle();
  const arrived = site.arrived.slice(seen);
  seen = site.arrived.length;
  return arrived;
}

/** That one event came, as it is described, with nothing that a mark, a person or a text could be known by. */
async function told(event: EventName): Promise<Record<string, string>> {
  const arrived = await came();
  expect(arrived).toHaveLength(1);
  const { body, headers } = arrived[0]!;
  const sent = bodySchema(event)
    .extend({ data: z.strictObject(bodySchema(event).shape.data.shape) })
    .parse(new Webhook(secret).verify(body, headers));
  expect(Math.abs(Date.parse(sent.timestamp) - Date.now())).toBeLessThan(60_000);
  const people = [game.coordinatorId, game.observerId, game.secondObserverId, ...Object.values(game.crew)];
  for (const secretWord of [
    ...people,
    ...game.playIds,
    'Test',
    'Late',
    'ground',
    'missed',
    'umpire',
    'withdrawn',
  ])
    expect([secretWord, body.includes(secretWord)]).toEqual([secretWord, false]);
  return sent.data as Record<string, string>;
}

async function reportWithMark(agent: SignedInAgent) {
  const { reportId } = (await agent.post(`/api/games/${game.gameId}/reports`).expect(200)).body;
  const markId = uuidv7();
  const mark = {
    ...{ kind: 'put mark', id: uuidv7(), basedOn: null, markId, playId: game.playIds[2], position: 'umpire' },
    ...{ dutyKey: everybodysDuty.key, finding: 'missed', comment: 'Late to the pile.' },
  };
  await agent
    .post(`/api/reports/${reportId}/changes`)
    .send({ changes: [mark] })
    .expect(200);
  return { reportId: reportId as string, markId };
}

test('a site is told of a release, an answer and a ruling, each once, and of nothing else', async () => {
  const { reportId, markId } = await reportWithMark(observer);
  await coordinator
    .post(`/games/${game.gameId}/crew`)
    .type('form')
    .send(Object.fromEntries(Object.entries(game.crew).map(([position, id]) => [`member-${position}`, id])))
    .expect(303);
  await observer.post(`/api/reports/${reportId}/file`).expect(200);
  await coordinator.post(`/reports/${reportId}/accept`).expect(303);
  expect(await came()).toEqual([]);

  await coordinator.post(`/reports/${reportId}/release`).expect(303);
  const { conferenceId, seasonId, gameId } = game;
  const ids = { conferenceId, seasonId, gameId, reportId };
  const report = `${publicUrl}/api/reports/${reportId}`;
  expect(await told('report.released')).toEqual({ ...ids, page: `${publicUrl}/reports/${reportId}`, report });
  await coordinator.get(`/reports/${reportId}`).expect(200);
  await coordinator.get(`/api/reports/${reportId}`).expect(200);

  const replied = await umpire
    .post(`/api/observations/${markId}/reply`)
    .send({ text: 'I had to give ground.' });
  const { replyId } = replied.body;
  const page = `${publicUrl}/replies/${replyId}`;
  expect(await told('reply.written')).toEqual({ ...ids, replyId, page, report });
  await umpire.post(`/api/observations/${markId}/reply`).send({ text: 'Again.' }).expect(409);
  await coordinator.get(`/replies/${replyId}`).expect(200);

  await coordinator.post(`/api/replies/${replyId}/ruling`).send({ ruling: 'withdrawn' }).expect(200);
  expect(await told('reply.ruled')).toEqual({ ...ids, replyId, page, report });
  expect(await came()).toEqual([]);
});

test('a release that fails tells nothing, nor does one that is brought in from earlier', async () => {
  const second = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.secondObserverId });
  const { reportId } = await reportWithMark(second);
  await second.post(`/api/reports/${reportId}/file`).expect(200);
  await coordinator.post(`/reports/${reportId}/accept`).expect(303);
  const acting = { conferenceId: game.conferenceId, personId: game.coordinatorId };
  const release = (at?: Date) =>
    inTransaction(database.pool, async (client) => {
      await releaseReport(client, { ...acting, ...(at && { at }) }, reportId);
      const { rowCount } = await client.query('SELECT FROM webhook_delivery WHERE event = $1', [
        'report.released',
      ]);
      if (!at) throw new Error(`the step fails with ${rowCount}`);
    });
  await expect(release()).rejects.toThrow('the step fails with 2');
  expect(await came()).toEqual([]);
  await release(new Date('2031-09-20T12:00:00Z'));
  expect(await came()).toEqual([]);
});

test('a test says that it is one, and is tried once', async () => {
  const send = () => coordinator.post(`/api/webhooks/${webhookId}/test`).expect(202);
  const { deliveryId } = (await send()).body;
  const [arrived] = await came();
  expect(arrived!.headers['webhook-id']).toBe(deliveryId);
  expect(
    bodySchema('webhook.test').parse(new Webhook(secret).verify(arrived!.body, arrived!.headers)).data,
  ).toEqual({
    conferenceId: game.conferenceId,
    page: `${publicUrl}/settings/webhooks/${webhookId}`,
  });
  site.answer = { status: 500 };
  await send();
  await came();
  const list = (await coordinator.get(`/api/webhooks/${webhookId}/deliveries`).expect(200)).body;
  expect(list.filter(({ event }: { event: string }) => event === 'webhook.test')).toMatchObject([
    { state: 'given up', attempts: 1, status: 500 },
    { state: 'delivered', attempts: 1, status: 204 },
  ]);
  // Nobody has to be told of what they see: the address is not in trouble for it.
  expect((await coordinator.get('/api/webhooks').expect(200)).body).toMatchObject([
    { waiting: 0, givenUp: 0 },
  ]);
  expect((await coordinator.get('/desk').expect(200)).text).not.toContain('Webhook to');
  site.answer = { status: 204 };
});

test('the API’s description has each event with a body as it came, and breaks none of the recommended rules', async () => {
  const description = (await app.inject('/api/openapi.json')).body;
  const { webhooks } = JSON.parse(description);
  expect(Object.keys(webhooks).sort()).toEqual([...eventNames, 'webhook.test'].sort());
  for (const [event, { post }] of Object.entries<{ post: DescribedPost }>(webhooks)) {
    const { schema, example } = post.requestBody.content['application/json'];
    expect(bodySchema(event as EventName).parse(example)).toEqual(example);
    const came = site.arrived.find(({ body }) => JSON.parse(body).type === event)!;
    const sent = z.fromJSONSchema(schema).parse(JSON.parse(came.body));
    expect(sent).toEqual(JSON.parse(came.body));
    expect(post.parameters.map(({ name }) => name)).toEqual(
      Object.keys(came.headers).filter((name) => name.startsWith('webhook-')),
    );
  }
  const config = await createConfig({ extends: ['recommended'] });
  const problems = await lintFromString({ source: description, absoluteRef: 'openapi.json', config });
  expect(problems.map(({ ruleId, location }) => `${ruleId} ${location[0]?.pointer}`)).toEqual([]);
});
