// @module-tag rest
import { execFileSync } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import supertest from 'supertest';
import { afterAll, afterEach, beforeAll, expect, test, vi } from 'vitest';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { type Database, openDatabase } from '../../server/database/database.ts';
import { numberOfPlace } from '../../server/database/replica.ts';
import { startDebianPostgres, startReplicaOf } from '../support/debian-postgres.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { folderInRun } from '../support/test-run.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

// Debian's PostgreSQL and a streaming replica of it made by pg_basebackup. Its replay is held up by pg_wal_replay_pause
// (PostgreSQL manual, 9.28.4), so that it is known which of the two a page was read from: they differ.

const said: string[] = [];
let primary: Awaited<ReturnType<typeof startDebianPostgres>>;
let standby: Awaited<ReturnType<typeof startReplicaOf>> | undefined;
let onStandby: pg.Client;
let database: Database;
let app: FastifyInstance;
let seasons: TwoSeasons;
/** Two browsers of the coordinator: one changes things, the other only looks. */
let changing: SignedInAgent;
let looking: SignedInAgent;

beforeAll(async () => {
  primary = await startDebianPostgres();
  standby = await startReplicaOf(primary.url);
  database = await openDatabase(primary.url);
  seasons = await twoSeasons(database.pool);
  await readFrom(standby);
  await fewestGames(changing); // found, and kept
  await caughtUp();
});
afterEach(() => {
  vi.restoreAllMocks();
});
afterAll(async () => {
  await onStandby?.end().catch(() => {});
  await app?.close();
  await database?.close();
  await standby?.stop();
  await primary?.stop();
});

/** An application that reads from this replica, with two who are signed in, and a way to ask the replica itself. */
async function readFrom({ url }: NonNullable<typeof standby>): Promise<void> {
  onStandby = new pg.Client({ connectionString: url });
  onStandby.on('error', () => {});
  await onStandby.connect();
  app = await buildApp(
    database,
    readConfig({ LOG_LEVEL: 'info', DATABASE_URL: primary.url, READ_DATABASE_URL: url }),
    { write: (line) => said.push(line) },
  );
  await app.ready();
  const coordinator = { conferenceId: seasons.conferenceId, personId: seasons.coordinatorId };
  changing = await inSessionOf(app, coordinator);
  looking = await inSessionOf(app, coordinator);
}

async function caughtUp(): Promise<void> {
  const { rows } = await database.pool.query<{ place: string }>(
    'SELECT pg_current_wal_insert_lsn()::text AS place',
  );
  await database.pool.query('SELECT txid_current()'); // a commit more, so that all before it is written out and sent
  for (let tries = 0; ; tries += 1) {
    // A test before this one may have failed while replay was held up.
    if (tries > 600) throw new Error('The replica does not catch up.');
    const { rows: replayed } = await onStandby.query('SELECT pg_last_wal_replay_lsn()::text AS place');
    if (numberOfPlace(replayed[0].place)! >= numberOfPlace(rows[0]!.place)!) break;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  await app.replica!.look();
}

/** The season's least number of games, as the standings show it. */
async function fewestGames(agent: SignedInAgent): Promise<number> {
  const { body } = await agent.get(`/api/seasons/${seasons.first.id}/standings`).expect(200);
  return body.settings.minimumGames;
}

async function setFewestGames(minimumGames: number): Promise<void> {
  await changing
    .post(`/seasons/${seasons.first.id}/standings/settings`)
    .type('form')
    .send({ minimumGames, minimumOpportunities: 10, places: 2 })
    .expect(303);
}

const whole = (response: supertest.Response, done: (error: null, body: Buffer) => void) => {
  const pieces: Buffer[] = [];
  const stream = response as unknown as NodeJS.ReadableStream;
  stream.on('data', (piece) => pieces.push(piece));
  stream.on('end', () => done(null, Buffer.concat(pieces)));
};
async function textOf(pdf: Buffer): Promise<string> {
  const file = path.join(await folderInRun('replica'), 'a.pdf');
  await writeFile(file, pdf);
  return execFileSync('pdftotext', [file, '-'], { encoding: 'utf8' });
}

const ready = async () => (await supertest(app.server).get('/ready').expect(200)).body;

test('a place in the log is compared as the number it is, and what is none is not taken for one', () => {
  // "Internally, an LSN is a 64-bit integer": two hexadecimal numbers of up to 8 digits (PostgreSQL manual, 8.20).
  expect(numberOfPlace('16/B374D848')).toBe(0x16b374d848n);
  expect(numberOfPlace('1/0')! > numberOfPlace('0/FFFFFFFF')!).toBe(true);
  for (const none of ['', '0', '0/', '0/x', '0/123456789', "0/1'"])
    expect(numberOfPlace(none)).toBeUndefined();
});

test('it is read from, and while it is behind whoever changed something is shown the change', async () => {
  expect(await ready()).toEqual({ status: 'ready', replica: 'read from' });
  const before = await fewestGames(looking);
  await onStandby.query('SELECT pg_wal_replay_pause()');
  await setFewestGames(before + 1);
  // From the primary, as the change is not yet on the replica; others see what the replica has.
  expect(await fewestGames(changing)).toBe(before + 1);
  expect(await fewestGames(looking)).toBe(before);
  const page = await changing.get(`/seasons/${seasons.first.id}/standings`).expect(200);
  expect(page.text).toMatch(new RegExp(`name="minimumGames"[^>]*value="${before + 1}"`));
  // Nor by an altered cookie is anything refused.
  const altered = supertest(app.server).get(`/api/seasons/${seasons.first.id}/standings`);
  await altered.set('cookie', 'crewmark_written=x').expect(401);
});

test('ten seconds behind it is no longer read from by anybody, which is told; caught up it is again', async () => {
  const shown = await fewestGames(looking);
  const now = performance.now.bind(performance);
  vi.spyOn(performance, 'now').mockImplementation(() => now() + 11_000);
  expect((await ready()).replica).toBe('not read from: it is more than 10 seconds behind');
  expect(await fewestGames(looking)).toBe(shown + 1);
  expect(said.filter((line) => line.includes('more than 10 seconds behind'))).toHaveLength(1);
  await onStandby.query('SELECT pg_wal_replay_resume()');
  await caughtUp();
  expect((await ready()).replica).toBe('read from');
  expect(await fewestGames(looking)).toBe(shown + 1);
});

test('files are read from it as pages are: tables, a letter, a game’s report, a running season’s book', async () => {
  const { first, officialId } = seasons;
  const files = [
    `/seasons/${first.id}/standings.csv`,
    `/seasons/${first.id}/officials/${officialId}/why.csv`,
    `/api/letters/${first.letterId}/letter.pdf`,
    `/api/games/${first.gameId}/officials/${officialId}/report.pdf`,
    `/api/seasons/${first.id}/season-book.pdf`,
  ];
  /** What a file and its name say. */
  const read = async (agent: SignedInAgent, file: string) => {
    const { body, text, headers } = await agent.get(file).buffer(true).parse(whole).expect(200);
    const said = headers['content-type'] === 'application/pdf' && body.length > 1 ? await textOf(body) : body;
    return `${headers['content-disposition']} ${said} ${text ?? ''}`;
  };
  const tell = async (agent: SignedInAgent) => {
    const told: Record<string, boolean> = {};
    for (const file of files) told[file] = (await read(agent, file)).includes('Newname');
    return told;
  };
  const all = (value: boolean) => Object.fromEntries(files.map((file) => [file, value]));
  await tell(changing); // whatever has to be found is found, and kept
  await caughtUp();
  await onStandby.query('SELECT pg_wal_replay_pause()');
  for (const [table, column] of [
    ['person', 'given_name'],
    ['team', 'name'],
  ])
    await database.pool.query(
      `UPDATE ${table} SET ${column} = 'Newname ' || ${column} WHERE conference_id = $1`,
      [seasons.conferenceId],
    );
  const shown = await tell(looking);
  await setFewestGames((await fewestGames(looking)) + 1);
  const shownToWhoChanged = await tell(changing);

  // A book that is kept is made of what the primary has, and given out before the replica has it.
  await changing.post(`/seasons/${first.id}/close`).expect(303);
  const kept = await read(looking, files.at(-1)!);
  await onStandby.query('SELECT pg_wal_replay_resume()');
  await caughtUp();
  expect([shown, shownToWhoChanged]).toEqual([all(false), all(true)]);
  expect(kept).toContain('Newname');
  expect(await read(looking, files.at(-1)!)).toContain('Newname');
  await changing.post(`/seasons/${first.id}/reopen`).type('form').send({ reason: 'Tried.' }).expect(303);
});

test('lost in the middle of a reading, and gone after it: the primary answers', async () => {
  await caughtUp();
  const request = { method: 'GET', cookies: {}, session: null } as never;
  const servers: string[] = [];
  const inRecovery = await app.reading(request, async ({ pool }) => {
    const { rows } = await pool.query('SELECT pg_is_in_recovery() AS recovering');
    servers.push(rows[0].recovering ? 'replica' : 'primary');
    if (rows[0].recovering) {
      await onStandby.query(
        `SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE application_name = 'crewmark reading'`,
      );
      await pool.query('SELECT pg_sleep(0)');
      await pool.query('SELECT FROM no_such_table');
    }
    return rows[0].recovering;
  });
  expect([inRecovery, servers]).toEqual([false, ['replica', 'primary']]);

  await standby!.stop();
  standby = undefined;
  expect(await ready()).toEqual({ status: 'ready', replica: 'not read from: it does not answer' });
  const shown = await fewestGames(looking);
  await setFewestGames(shown + 1);
  expect(await fewestGames(looking)).toBe(shown + 1);
  await looking.get(`/seasons/${seasons.first.id}`).expect(200);
});

test('promoted it is a server of its own: no longer read from, whatever it holds', async () => {
  standby = await startReplicaOf(primary.url);
  await app.close();
  await readFrom(standby);
  await caughtUp();
  expect((await ready()).replica).toBe('read from');
  await onStandby.query('SELECT pg_promote()');
  await onStandby.query('UPDATE season SET minimum_games = 9');
  const shown = await fewestGames(looking);
  expect(shown).not.toBe(9);
  expect((await ready()).replica).toMatch(/^not read from: it was promoted/);
  expect(said.some((line) => line.includes('it was promoted'))).toBe(true);
});
