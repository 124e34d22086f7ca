// @module-tag rest
import { type ChildProcess, execFile, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import { Webhook } from 'standardwebhooks';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { noteEvent } from '../../server/webhooks/note-event.ts';
import { newSecret } from '../../server/webhooks/signature.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { program } from '../support/program.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';
import { type Receiver, receiver } from './receiver.ts';

// The program itself, killed while a receiver has yet to answer, and started again. The receiver speaks TLS with a
// certificate made here, which the program is told to trust.

let database: TestDatabase;
let site: Receiver;
let certificate: string;
const running: ChildProcess[] = [];
const secret = newSecret();
let conferenceId: string;

beforeAll(async () => {
  database = await testDatabase();
  const folder = await folderInRun('receiver');
  certificate = path.join(folder, 'cert.pem');
  await promisify(execFile)('openssl', [
    ...['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes', '-days', '2'],
    ...['-subj', '/CN=localhost', '-addext', 'subjectAltName=DNS:localhost'],
    ...['-keyout', path.join(folder, 'key.pem'), '-out', certificate],
  ]);
  const key = await readFile(path.join(folder, 'key.pem'), 'utf8');
  site = await receiver({ key, cert: await readFile(certificate, 'utf8') });
  conferenceId = await makeConference(database.pool);
  const { personId } = await makePerson(database.pool, conferenceId, ['coordinator']);
  await database.pool.query(
    `INSERT INTO webhook (conference_id, address, events, secret, created_by)
     VALUES ($1, $2, '["report.released"]', $3, $4)`,
    [conferenceId, site.address, secret, personId],
  );
});
afterAll(async () => {
  await Promise.all(running.map(kill));
  await site.close();
  await database.drop();
});

async function kill(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, 'close');
  child.kill('SIGKILL');
  await gone;
}

function start(): ChildProcess {
  const child = spawn(process.execPath, program('server/start.ts'), {
    env: {
      ...process.env,
      ...{ DATABASE_URL: database.url, DEMO: 'off', PORT: '0', PUBLIC_URL: 'http://grades.example.test' },
      ...{ WEBHOOKS_TO_LOOPBACK: 'on', NODE_EXTRA_CA_CERTS: certificate },
    },
    stdio: 'ignore',
  });
  running.push(child);
  return child;
}

const id = '00000000-0000-4000-8000-000000000001';
const delivery = async () =>
  (await database.pool.query('SELECT id, state, attempts FROM webhook_delivery')).rows[0];

test('killed before the answer, the event is sent again by the next process under the same id', async () => {
  site.answer = 'nothing';
  await inTransaction(database.pool, (client) =>
    noteEvent(client, conferenceId, 'report.released', { seasonId: id, gameId: id, reportId: id }),
  );
  const first = start();
  await site.arrivals(1);
  await kill(first);
  expect(await delivery()).toMatchObject({ state: 'waiting', attempts: 1 });

  site.answer = { status: 200 };
  start();
  // Its lease, half a minute, is over.
  await database.pool.query('UPDATE webhook_delivery SET next_attempt = now()');
  await database.pool.query('UPDATE webhook SET in_hand_until = now()');
  await site.arrivals(2);
  await expect.poll(delivery).toMatchObject({ state: 'delivered', attempts: 2 });
  const [one, again] = site.arrived;
  expect(again!.headers['webhook-id']).toBe(one!.headers['webhook-id']);
  expect(again!.body).toBe(one!.body);
  for (const { body, headers } of site.arrived) new Webhook(secret).verify(body, headers);
});
