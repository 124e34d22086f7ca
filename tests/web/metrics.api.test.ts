// @module-tag long
import { execFileSync } from 'node:child_process';
import type { FastifyInstance } from 'fastify';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// What /metrics gives is read by the parser of Prometheus' own client for Python (Debian's python3-prometheus-client).

interface Family {
  name: string;
  type: string;
  help: string;
  samples: [name: string, labels: Record<string, string>, value: number][];
}

function parsed(text: string): Family[] {
  const script = `
import json, sys
from prometheus_client.parser import text_string_to_metric_families
print(json.dumps([dict(name=f.name, type=f.type, help=f.documentation,
                       samples=[[s.name, s.labels, s.value if s.value < 1e300 else 1e300] for s in f.samples])
                  for f in text_string_to_metric_families(sys.stdin.read())]))`;
  return JSON.parse(
    execFileSync('/usr/bin/python3', ['-c', script], {
      input: text,
      stdio: ['pipe', 'pipe', 'pipe'],
    }).toString(),
  );
}

let database: TestDatabase;
let app: FastifyInstance;
let mail: MailServer;
let game: OneGame;
let coordinator: SignedInAgent;
let observer: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url });
  game = await oneGame(database.pool, 5);
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  observer = await as(game.observerId);
});
afterAll(async () => {
  await app.close();
  await mail.close();
  await database.drop();
});

async function scraped() {
  const answer = await app.inject('/metrics');
  expect(answer.statusCode).toBe(200);
  // The text format's own name: Prometheus documentation, "Exposition formats".
  expect(answer.headers['content-type']).toBe('text/plain; version=0.0.4; charset=utf-8');
  const families = parsed(answer.body);
  const value = (name: string, labels: Record<string, string> = {}) =>
    families
      .flatMap(({ samples }) => samples)
      .find(
        ([sample, has]) =>
          sample === name && Object.entries(labels).every(([label, wanted]) => has[label] === wanted),
      )?.[2];
  return { families, value, text: answer.body };
}

test('the parser takes all of it, and refuses what is broken', async () => {
  const { families, text } = await scraped();
  expect(families.length).toBeGreaterThan(15);
  for (const { name, type, help } of families) {
    expect([name, ['counter', 'gauge', 'histogram', 'summary'].includes(type)]).toEqual([name, true]);
    expect([name, help.length > 5]).toEqual([name, true]);
  }
  expect(() => parsed(text.replace('} ', ' '))).toThrow();
  const names = families.map(({ name }) => name);
  expect(new Set(names).size).toBe(names.length);
  expect(names).toEqual(
    expect.arrayContaining(['process_resident_memory_bytes', 'nodejs_eventloop_lag_seconds']),
  );
});

test('requests are counted and timed by route, never by address', async () => {
  const before = await scraped();
  const person = game.observerId;
  for (let i = 0; i < 3; i++) await app.inject('/health');
  await coordinator.get(`/api/people/${person}`).expect(200);
  await app.inject('/none-such');
  const after = await scraped();
  const more = (labels: Record<string, string>) =>
    (after.value('crewmark_http_requests_total', labels) ?? 0) -
    (before.value('crewmark_http_requests_total', labels) ?? 0);
  expect(more({ method: 'GET', route: '/health', status: '2xx' })).toBe(3);
  expect(more({ method: 'GET', route: '/api/people/:personId', status: '2xx' })).toBe(1);
  expect(more({ method: 'GET', route: 'none', status: '4xx' })).toBe(1);
  expect(after.text).not.toContain(person);
  // A histogram: buckets that only grow, the last of which holds all (same page, "Histograms and summaries").
  const health = { route: '/health' };
  const buckets = after.families
    .find(({ name }) => name === 'crewmark_http_request_duration_seconds')!
    .samples.filter(([name, { route }]) => name.endsWith('_bucket') && route === health.route)
    .map(([, , value]) => value);
  expect(buckets).toEqual([...buckets].sort((a, b) => a - b));
  expect(buckets.at(-1)).toBe(after.value('crewmark_http_request_duration_seconds_count', health));
});

test('database, queues, saves of marks, mail and computing', async () => {
  const before = await scraped();
  expect(before.value('crewmark_database_connections', { state: 'most' })).toBe(20);
  expect(before.value('crewmark_database_connections', { state: 'idle' })).toBeGreaterThan(0);
  expect(before.value('crewmark_jobs_waiting', { job: 'letters' })).toBe(0);

  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`).expect(200)).body;
  const mark = {
    ...{ kind: 'put mark', id: uuidv7(), basedOn: null, markId: uuidv7(), playId: game.playIds[2] },
    ...{ position: 'umpire', dutyKey: 'none such', finding: 'missed' },
  };
  await observer
    .post(`/api/reports/${reportId}/changes`)
    .send({ changes: [mark, { kind: 'nonsense' }] })
    .expect(200);

  await database.pool.query(
    `WITH made AS (
       INSERT INTO letter_batch (conference_id, season_id, kind, paper, issued_on, created_by)
       VALUES ($1, $2, 'mid-season', 'Letter', current_date, $3) RETURNING conference_id, id)
     INSERT INTO letter_job (conference_id, batch_id, person_id) SELECT conference_id, id, $4 FROM made`,
    [game.conferenceId, game.seasonId, game.coordinatorId, game.crew.umpire],
  );
  expect((await scraped()).value('crewmark_jobs_waiting', { job: 'letters' })).toBe(1);

  app.letterWork.wake();
  await app.letterWork.idle();

  const [sent, refused] = Object.values(game.crew);
  const address = await database.pool.query('SELECT email FROM person WHERE id = $1', [refused]);
  mail.refuse.set(address.rows[0].email, { code: 550, words: 'no such user' });
  for (const id of [sent, refused]) await coordinator.post(`/people/${id}/send-invitation`).expect(303);
  await app.outbox.idle();
  await app.calculator.start();

  const after = await scraped();
  expect(after.value('crewmark_mark_changes_total', { result: 'refused' })).toBeGreaterThan(0);
  expect(after.value('crewmark_mail_total', { result: 'sent' })).toBeGreaterThan(0);
  expect(after.value('crewmark_mail_total', { result: 'given up' })).toBe(1);
  expect(
    after.value('crewmark_job_duration_seconds_count', { job: 'grading', result: 'done' }),
  ).toBeGreaterThan(0);
  expect(after.value('crewmark_jobs_waiting', { job: 'letters' })).toBe(0);
  expect(
    after.value('crewmark_job_duration_seconds_count', { job: 'letter', result: 'done' }),
  ).toBeGreaterThan(0);
});

test('who may read it: the machine itself by default, else who brings METRICS_TOKEN', async () => {
  const get = (asked: FastifyInstance, remoteAddress: string, headers: Record<string, string> = {}) =>
    asked.inject({ url: '/metrics', remoteAddress, headers });
  expect((await get(app, '::1')).statusCode).toBe(200);
  expect((await get(app, '::1', { host: '[::1]:3000' })).statusCode).toBe(200);
  for (const refused of [
    await get(app, '203.0.113.9'),
    await get(app, '127.0.0.1', { 'x-forwarded-for': '127.0.0.1' }),
    await get(app, '127.0.0.1', { 'x-forwarded-for': '' }),
    await get(app, '127.0.0.1', { 'x-forwarded-proto': 'https' }),
    // A proxy that adds no header, or a page of elsewhere whose name was made to lead here.
    await get(app, '127.0.0.1', { host: 'grades.example.test' }),
    await get(app, '127.0.0.1', { host: 'localhost.example.test' }),
    await get(app, '203.0.113.9', { authorization: 'Bearer x' }),
  ]) {
    expect(refused.statusCode).toBe(403);
    expect(refused.json().detail).toContain('set METRICS_TOKEN');
  }
  const METRICS_TOKEN = 'a-scraper-of-this-network';
  const closed = await testApp(database, { METRICS_TOKEN });
  try {
    const { token } = (await coordinator.post('/api/tokens').send({ name: 'x', role: 'coordinator' })).body;
    for (const headers of [{}, { authorization: 'Bearer wrong' }, { authorization: `Bearer ${token}` }]) {
      const refused = await get(closed, '127.0.0.1', headers as Record<string, string>);
      expect([refused.statusCode, refused.headers['www-authenticate']]).toEqual([
        401,
        'Bearer realm="Crewmark"',
      ]);
    }
    const right = await get(closed, '203.0.113.9', { authorization: `Bearer ${METRICS_TOKEN}` });
    expect(right.statusCode).toBe(200);
  } finally {
    await closed.close();
  }
});
