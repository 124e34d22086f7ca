// @module-tag rest
import { type ChildProcess, spawn } from 'node:child_process';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { hashPassword } from '../../server/accounts/password.ts';
import { connect, type Database } from '../../server/database/database.ts';
import { startDebianPostgres, startPgBouncer } from '../support/debian-postgres.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { program } from '../support/program.ts';
import { testPassword } from '../support/signed-in.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';
import { type Receiver, receiver } from '../webhooks/receiver.ts';

// Two processes of the program behind one PostgreSQL and one PgBouncer that hands out a connection for a transaction
// only: four connections to the server for all of them. Both are started at once on an empty database.

const stops: (() => Promise<unknown>)[] = [];
let mail: MailServer;
let site: Receiver;
let direct: Database;
let seasons: TwoSeasons;
let one: Process;
let other: Process;

interface Process {
  readonly address: string;
  readonly said: () => string;
  get(path: string, cookie?: string): Promise<Response>;
}

beforeAll(async () => {
  const debian = await startDebianPostgres();
  stops.push(() => debian.stop());
  const admin = new pg.Client({ connectionString: debian.url });
  await admin.connect();
  await admin.query('CREATE DATABASE shared');
  await admin.end();
  const pooler = await startPgBouncer(debian.url, true);
  stops.push(() => pooler.stop());
  mail = await mailServer();
  stops.push(() => mail.close());
  site = await receiver();
  stops.push(() => site.close());
  const at = (url: string) => Object.assign(new URL(url), { pathname: '/shared' }).href;
  [one, other] = (await Promise.all([start(at(pooler.url)), start(at(pooler.url))])) as [Process, Process];
  direct = connect(at(debian.url));
  stops.push(() => direct.close());
  seasons = await twoSeasons(direct.pool);
  await direct.pool.query('UPDATE person SET password_hash = $1', [await hashPassword(testPassword)]);
});
afterAll(async () => {
  for (const stop of stops.reverse()) await stop();
});

async function start(databaseUrl: string): Promise<Process> {
  const child: ChildProcess = spawn(process.execPath, program('server/start.ts'), {
    env: {
      ...process.env,
      DATABASE_URL: databaseUrl,
      DEMO: 'off',
      PORT: '0',
      SMTP_URL: mail.url,
      WEBHOOKS_TO_LOOPBACK: 'on',
      PUBLIC_URL: 'http://grades.example.test',
    },
  });
  stops.push(async () => {
    if (child.exitCode !== null) return;
    const gone = new Promise((resolve) => child.once('close', resolve));
    child.kill('SIGKILL');
    await gone;
  });
  let output = '';
  const address = await new Promise<string>((resolve, reject) => {
    for (const stream of [child.stdout!, child.stderr!])
      stream.on('data', (chunk) => {
        output += chunk;
        const found = /ready at (http\S+)/.exec(output)?.[1];
        if (found) resolve(found);
      });
    child.once('close', () => reject(new Error(`ended before it was ready: ${output}`)));
  });
  return {
    address,
    said: () => output,
    get: (path, cookie = '') => fetch(`${address}${path}`, { headers: { cookie } }),
  };
}

async function signIn(process: Process): Promise<{ cookie: string; csrfToken: string }> {
  const { rows } = await direct.pool.query<{ email: string }>('SELECT email FROM person WHERE id = $1', [
    seasons.coordinatorId,
  ]);
  const answer = await fetch(`${process.address}/api/session`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ email: rows[0]!.email, password: testPassword }),
  });
  expect(answer.status).toBe(200);
  const cookies = answer.headers.getSetCookie().map((cookie) => cookie.split(';')[0]!);
  return {
    cookie: cookies.join('; '),
    csrfToken: ((await answer.json()) as { csrfToken: string }).csrfToken,
  };
}

/** How many gradings both have done, and the first alone. */
async function gradings(): Promise<{ both: number; first: number }> {
  const counts = await Promise.all(
    [one, other].map(async (process) => {
      const text = await (await process.get('/metrics')).text();
      const found = text.match(/^crewmark_job_duration_seconds_count\{job="grading".*\} (\d+)$/gm) ?? [];
      return found.reduce((sum, line) => sum + Number(line.split(' ').at(-1)), 0);
    }),
  );
  return { both: counts[0]! + counts[1]!, first: counts[0]! };
}

test('they know the pooler, and a session begun on one holds on the other until it is ended there', async () => {
  for (const process of [one, other]) expect(process.said()).toContain('A pooler is in front');
  const { cookie, csrfToken } = await signIn(one);
  const seen = await other.get('/api/session', cookie);
  expect(((await seen.json()) as { csrfToken: string }).csrfToken).toBe(csrfToken);
  const ended = await fetch(`${other.address}/api/session`, {
    method: 'DELETE',
    headers: { cookie, 'x-csrf-token': csrfToken },
  });
  expect(ended.ok).toBe(true);
  expect((await one.get('/api/session', cookie)).status).toBe(401);
});

test('a result is found once, whichever is asked, again and again', async () => {
  const { cookie } = await signIn(one);
  const change = () => direct.pool.query('UPDATE season SET input_revision = input_revision + 1');
  const ask = async (process: Process) => {
    const answer = await process.get(`/api/seasons/${seasons.first.id}/standings`, cookie);
    return [answer.status, await answer.json()];
  };
  await Promise.all([one, other].map(ask));
  await change();
  const before = await gradings();
  await ask(one);
  const alone = (await gradings()).both - before.both;
  expect(alone).toBeGreaterThan(0);
  const rounds = 6;
  const begun = await gradings();
  for (let round = 0; round < rounds; round += 1) {
    await change();
    const answers = await Promise.all([one, other, one, other, one, other, other, one].map(ask));
    expect(answers[0]![0]).toBe(200);
    for (const answer of answers) expect(answer).toEqual(answers[0]);
  }
  expect((await gradings()).both - begun.both).toBe(rounds * alone);
});

test('letters asked for at one are made once by whoever comes first, and every mail is sent once', async () => {
  const { cookie, csrfToken } = await signIn(other);
  const asked = await fetch(`${one.address}/api/seasons/${seasons.first.id}/letter-batches`, {
    method: 'POST',
    headers: { cookie, 'x-csrf-token': csrfToken, 'content-type': 'application/json' },
    body: JSON.stringify({ kind: 'mid-season' }),
  });
  expect(asked.status).toBe(202);
  const waiting = async (sql: string) => (await direct.pool.query<{ n: number }>(sql)).rows[0]!.n;
  const patient = { timeout: 300_000, interval: 200 };
  await expect
    .poll(() => waiting("SELECT count(*)::int AS n FROM letter_job WHERE state = 'waiting'"), patient)
    .toBe(0);
  const { rows: jobs } = await direct.pool.query(
    'SELECT j.state, l.edition FROM letter_job j LEFT JOIN letter l ON l.id = j.letter_id',
  );
  expect(jobs.length).toBeGreaterThan(3);
  for (const job of jobs) expect(job).toEqual({ state: 'made', edition: 1 });
  expect(await waiting("SELECT count(*)::int AS n FROM letter WHERE kind = 'mid-season'")).toBe(jobs.length);

  await expect
    .poll(
      () =>
        waiting("SELECT count(*)::int AS n FROM message WHERE mail = 'waiting' AND next_attempt <= now()"),
      patient,
    )
    .toBe(0);
  const sent = await waiting("SELECT count(*)::int AS n FROM message WHERE mail = 'sent'");
  expect(sent).toBeGreaterThan(3);
  expect(mail.arrived).toHaveLength(sent);
  expect(new Set(mail.arrived.map(({ messageId }) => messageId)).size).toBe(sent);
  expect(await waiting('SELECT coalesce(max(attempts), 0)::int AS n FROM message')).toBeLessThanOrEqual(1);
});

test('every event is sent to each address once', async () => {
  const { conferenceId, coordinatorId } = seasons;
  const events = 30;
  await direct.pool.query(
    `WITH w AS (
       INSERT INTO webhook (conference_id, address, events, secret, created_by)
       SELECT $1, $2 || n, '[]', 'whsec_' || repeat('A', 44), $3 FROM generate_series(1, 2) n RETURNING id)
     INSERT INTO webhook_delivery (conference_id, webhook_id, event, facts)
     SELECT $1, w.id, 'report.released', '{}' FROM w, generate_series(1, $4) n`,
    [conferenceId, site.address, coordinatorId, events],
  );
  await expect
    .poll(
      async () =>
        (await direct.pool.query(`SELECT count(*)::int AS n FROM webhook_delivery WHERE state = 'delivered'`))
          .rows[0].n,
    )
    .toBe(2 * events);
  expect(site.arrived).toHaveLength(2 * events);
  expect(new Set(site.arrived.map(({ headers }) => headers['webhook-id'])).size).toBe(2 * events);
  // Both together tried no oftener.
  const tries = await Promise.all(
    [one, other].map(async (process) => {
      const text = await (await process.get('/metrics')).text();
      return Number(/^crewmark_webhook_tries_total\{result="delivered"\} (\d+)$/m.exec(text)![1]);
    }),
  );
  expect(tries[0]! + tries[1]!).toBe(2 * events);
});

test('nothing is left on a connection that the pooler hands to the next', async () => {
  await expect
    .poll(async () => (await direct.pool.query("SELECT FROM pg_locks WHERE locktype = 'advisory'")).rowCount)
    .toBe(0);
  const { rows } = await direct.pool.query(
    `SELECT count(*)::int AS n FROM pg_stat_activity
      WHERE application_name = 'crewmark' AND pid <> pg_backend_pid() AND state <> 'idle'`,
  );
  expect(rows[0].n).toBe(0);
});
