// @module-tag rest
import { execFile } from 'node:child_process';
import { generateKeyPairSync } from 'node:crypto';
import { mkdtemp, readdir, readFile, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { buildApp } from '../../server/app.ts';
import { writeBackup } from '../../server/backup/write-backup.ts';
import { readConfig } from '../../server/config.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { kindTitles } from '../../server/letters/kind-titles.ts';
import { readKey } from '../../server/proof/notes.ts';
import { noteHeads } from '../../server/proof/noting.ts';
import { verifyConference } from '../../server/proof/verify-conference.ts';
import { reviseReport } from '../../server/reports/filing/revisions.ts';
import { writeReply } from '../../server/reports/review/replies.ts';
import { Calculator } from '../../server/results/calculator.ts';
import { seasonResults } from '../../server/results/season-results.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { folderInRun } from '../support/test-run.ts';
import { download, unzipped } from '../support/unzipped.ts';

let demo: DemoDatabase;
let app: FastifyInstance;
/** All that the program logs. */
const log: string[] = [];
/** Where the head of the trail is noted, as where `AUDIT_NOTES_FILE` is set. */
let notes: string;
let owner: pg.Client;
let coordinator: SignedInAgent;
let coordinatorId: string;
let official: { id: string; given: string; family: string; email: string };
const reply = 'I was MARKEDREPLY behind the pile.';
beforeAll(async () => {
  demo = await demoDatabase();
  notes = await folderInRun('notes');
  const { privateKey } = generateKeyPairSync('ed25519');
  await writeFile(path.join(notes, 'key.pem'), privateKey.export({ type: 'pkcs8', format: 'pem' }));
  app = await buildApp(demo, readConfig({ LOG_LEVEL: 'trace' }), { write: (line) => log.push(line) });
  await app.ready();
  owner = new pg.Client({ connectionString: demo.url });
  await owner.connect();
  const { rows } = await demo.pool.query('SELECT id FROM person WHERE email = $1', [
    demo.signIns.coordinator,
  ]);
  coordinatorId = rows[0].id;
  coordinator = await inSessionOf(app, { conferenceId: demo.conferenceId, personId: coordinatorId });
  const found = await demo.pool.query(
    `SELECT id, given_name AS given, family_name AS family, email FROM person WHERE email = $1`,
    [demo.signIns.official],
  );
  official = found.rows[0];
  await prepare();
});
afterAll(async () => {
  await app.close();
  await owner.end();
  await demo.drop();
});

/** Something about the official wherever people write: a letter, an answer, a correction, a colleague's remark. */
async function prepare() {
  await demo.pool.query(
    `UPDATE person SET home_place = 'Markedville', home_latitude = 41.12345, home_longitude = -87.54321 WHERE id = $1`,
    [official.id],
  );
  await coordinator
    .post(`/api/seasons/${demo.seasonId}/letter-batches`)
    .send({ kind: 'mid-season', personIds: [official.id] })
    .expect(202);
  await app.letterWork.idle();
  await coordinator
    .post(`/api/seasons/${demo.seasonId}/letters/release`)
    .send({ kind: 'mid-season', mail: 'none' });
  const { rows: marks } = await demo.pool.query(
    `SELECT o.id, o.report_id AS report FROM observation o JOIN report r ON r.id = o.report_id
      WHERE o.person_id = $1 AND r.state = 'released' AND o.removed_at IS NULL AND o.finding = 'missed'
        AND r.reply_until > now() ORDER BY o.id`,
    [official.id],
  );
  const acting = { conferenceId: demo.conferenceId, personId: official.id };
  await inTransaction(demo.pool, (client) => writeReply(client, acting, marks[0].id, reply));
  const { rows: others } = await demo.pool.query(
    `SELECT o.id, o.report_id AS report FROM observation o JOIN report r ON r.id = o.report_id
      WHERE o.person_id <> $1 AND r.state = 'released' AND o.removed_at IS NULL AND o.finding = 'missed' ORDER BY o.id LIMIT 1`,
    [official.id],
  );
  const comment = `Blocked the view of ${official.given} ${official.family}; OTHERSMARK.`;
  await inTransaction(demo.pool, (client) =>
    reviseReport(
      client,
      { conferenceId: demo.conferenceId, personId: coordinatorId },
      others[0].report,
      'seen again',
      [{ markId: others[0].id, finding: 'missed', comment }],
    ),
  );
  const { rows: observers } = await demo.pool.query('SELECT id FROM person WHERE email = $1', [
    demo.signIns.observer,
  ]);
  await demo.pool.query(
    `INSERT INTO observer_conflict (conference_id, person_id, kind, official_id, note)
     VALUES ($1, $2, 'family', $3, 'CONFIDED')`,
    [demo.conferenceId, observers[0].id, official.id],
  );
  const letter = `INSERT INTO letter (conference_id, season_id, person_id, kind, input_revision, sha256, pdf, data)
                  VALUES ($1, $2, $3, $4, 1, repeat('0', 64), 'x', $5)`;
  const to = [demo.conferenceId, demo.seasonId, observers[0].id];
  await demo.pool.query(letter, [...to, 'mid-season', { said: `Stood where ${official.family} was.` }]);
  await demo.pool.query(letter, [...to, 'end-of-season', { said: 'Stood where nobody was.' }]);
  await demo.pool.query(
    `INSERT INTO message (conference_id, person_id, kind, facts) VALUES ($1, $2, 'reply', $3)`,
    [demo.conferenceId, coordinatorId, JSON.stringify({ who: `${official.given} ${official.family}` })],
  );
}

test('a person’s data hold every row about them, and of others neither name, address, id nor words', async () => {
  const files = await download(coordinator, `/people/${official.id}/data.zip`);
  const data: Record<string, Record<string, unknown>[]> = JSON.parse(files.get('data.json')!.toString());
  const text = [...files]
    .filter(([name]) => !name.endsWith('.pdf'))
    .map(([, bytes]) => bytes.toString())
    .join('\n');
  // Held against the database by its foreign keys: each row that refers to them, whatever the program says of it.
  const { rows: references } = await demo.pool.query<{ table: string; column: string }>(
    `SELECT c.conrelid::regclass::text AS table, a.attname AS column
       FROM pg_constraint c JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[2]
      WHERE c.contype = 'f' AND c.confrelid = 'person'::regclass`,
  );
  expect(references.length).toBeGreaterThan(30);
  for (const { table, column } of references) {
    const { rows } = await demo.pool.query(`SELECT count(*)::int AS n FROM ${table} WHERE ${column} = $1`, [
      official.id,
    ]);
    const named = column === 'official_id' && table === 'observer_conflict'; // what others declared in confidence
    if (!named) expect(data[table]?.length ?? 0, `${table}.${column}`).toBeGreaterThanOrEqual(rows[0].n);
  }
  const { rows: own } = await demo.pool.query<{ comment: string }>(
    `SELECT comment FROM observation WHERE person_id = $1`,
    [official.id],
  );
  const given = data.observation!.map(({ comment }) => String(comment));
  expect(given.filter((comment) => comment !== '').length).toBe(
    own.filter(({ comment }) => comment !== '').length,
  );
  expect(text).toContain('MARKEDREPLY');
  expect(text).toContain('Markedville');
  expect([...files.keys()].filter((name) => name.endsWith('.pdf'))).toHaveLength(1);
  expect(text).not.toContain('OTHERSMARK');
  const { rows: others } = await demo.pool.query(
    `SELECT id, email, given_name || ' ' || family_name AS name FROM person WHERE conference_id = $1 AND id <> $2`,
    [demo.conferenceId, official.id],
  );
  for (const other of others) {
    for (const trace of [other.id, other.email, other.name]) expect(text).not.toContain(trace);
  }
  const { rows: keys } = await demo.pool.query(
    'SELECT password_hash FROM person WHERE password_hash IS NOT NULL',
  );
  for (const { password_hash } of keys) expect(text).not.toContain(password_hash);
});

test('the download says when ties were declared in confidence and withheld, and only then', async () => {
  const readMe = async (personId: string) => {
    const files = await download(coordinator, `/people/${personId}/data.zip`);
    expect(files.get('data.json')!.toString()).not.toContain('CONFIDED');
    return files.get('README.txt')!.toString();
  };
  expect(await readMe(official.id)).toContain('Withheld: observers declared a conflict or a tie to you');
  const { rows } = await demo.pool.query<{ id: string }>(
    `SELECT r.person_id AS id FROM person_role r WHERE r.conference_id = $1 AND r.role = 'official'
        AND NOT EXISTS (SELECT FROM observer_conflict c WHERE c.official_id = r.person_id OR c.crew_id IN
              (SELECT m.crew_id FROM crew_member m WHERE m.person_id = r.person_id)) ORDER BY 1 LIMIT 1`,
    [demo.conferenceId],
  );
  expect(await readMe(rows[0]!.id)).not.toContain('Withheld');
});

test('before an erasure the page lists letters to others that name the person', async () => {
  const { text } = await coordinator.get(`/people/${official.id}/data`).expect(200);
  const listed = text.slice(text.indexOf('Letters to others that name them'));
  expect(listed.match(/letter\.pdf/g)).toHaveLength(1);
  expect(listed).toContain(kindTitles['mid-season']);
});

test('their own download holds nothing that was not released to them', async () => {
  const agent = await inSessionOf(app, { conferenceId: demo.conferenceId, personId: official.id });
  const files = await download(agent, '/my/data.zip');
  const data = JSON.parse(files.get('data.json')!.toString());
  const { rows } = await demo.pool.query<{ id: string }>(
    `SELECT o.id FROM observation o JOIN report r ON r.id = o.report_id WHERE o.person_id = $1 AND r.state = 'released'`,
    [official.id],
  );
  expect(data.observation.map(({ id }: { id: string }) => id).sort()).toEqual(
    rows.map(({ id }) => id).sort(),
  );
  expect((await agent.get('/my/data')).text).toContain('Download my data');
  expect((await agent.get(`/people/${official.id}/data`)).status).toBe(403);
});

/** Every text of every column of every table, and of every PDF, in which one of `traces` stands. */
async function tracesIn(traces: string[]): Promise<string[]> {
  const { rows: columns } = await owner.query<{ table: string; column: string; type: string }>(
    `SELECT c.table_name AS table, c.column_name AS column, c.data_type AS type
       FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
      WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE'`,
  );
  const folder = await mkdtemp(path.join(await folderInRun('pdf'), 'x'));
  const found: string[] = [];
  for (const { table, column, type } of columns) {
    if (type === 'bytea') {
      const { rows } = await owner.query(`SELECT "${column}" AS bytes FROM "${table}"`);
      for (const { bytes } of rows) {
        const file = path.join(folder, 'one.pdf');
        await writeFile(file, bytes);
        const { stdout } = await promisify(execFile)('pdftotext', [file, '-']).catch(() => ({
          stdout: bytes.toString(),
        }));
        if (traces.some((trace) => stdout.toLowerCase().includes(trace.toLowerCase())))
          found.push(`${table}.${column}`);
      }
      continue;
    }
    const { rows } = await owner.query(
      `SELECT count(*)::int AS n FROM "${table}" WHERE EXISTS (
         SELECT FROM unnest($1::text[]) AS trace WHERE strpos(lower("${column}"::text), lower(trace)) > 0)`,
      [traces],
    );
    if (rows[0].n > 0) found.push(`${table}.${column}`);
  }
  return found;
}

test('erased, no trace of them is left, the season’s figures are what they were, and the history holds', async () => {
  const calculator = new Calculator();
  const standings = async () => {
    await demo.pool.query('DELETE FROM kept_result'); // found anew, from what is there
    const found = await seasonResults(demo.pool, calculator).allStandingsOf(demo.conferenceId, demo.seasonId);
    return JSON.parse(JSON.stringify(found));
  };
  const figures = async () =>
    (
      await demo.pool.query(
        `SELECT person_id, position, duty_key, opportunities, not_met, not_counted FROM game_count ORDER BY 1, 2, 3, game_id`,
      )
    ).rows;
  const [before, counts] = [await standings(), await figures()];
  const { rows: said } = await demo.pool.query<{ comment: string }>(
    `SELECT DISTINCT comment FROM observation o WHERE person_id = $1 AND length(comment) > 20
        AND NOT EXISTS (SELECT FROM observation p WHERE p.comment = o.comment AND p.person_id <> $1) LIMIT 5`,
    [official.id],
  );
  const traces = [
    `${official.given} ${official.family}`,
    `${official.family}, ${official.given}`,
    official.family,
    official.email,
    'Markedville',
    '41.12345',
    'MARKEDREPLY',
    ...said.map(({ comment }) => comment),
  ];
  expect((await tracesIn(traces)).length).toBeGreaterThan(8);

  const url = `/people/${official.id}/erase`;
  const wrong = await coordinator.post(url).type('form').send({ reason: 'asked', name: 'Somebody Else' });
  expect([wrong.status, wrong.text]).toEqual([400, expect.stringContaining('Type the name as it is')]);
  const unsaid = await coordinator.post(url).type('form').send({ reason: '', name: traces[0] });
  expect([unsaid.status, unsaid.text]).toEqual([400, expect.stringContaining('Say why')]);
  // What would be in a log, were anything of it written there: refusals and errors that are about them.
  await app.inject({
    method: 'POST',
    url: '/api/session',
    payload: { email: official.email, password: `not ${official.family}` },
  });
  const twice = { email: official.email, givenName: official.given, familyName: official.family };
  await coordinator
    .post('/api/people')
    .send({ ...twice, roles: ['official'] })
    .expect(409);
  await coordinator.get(`/season/officials?search=${encodeURIComponent(official.family)}`);
  const noted = { key: (await readKey(path.join(notes, 'key.pem')))!, file: path.join(notes, 'notes') };
  await noteHeads(demo.pool, noted);
  const own = await coordinator
    .post(`/people/${coordinatorId}/erase`)
    .type('form')
    .send({ reason: 'x', name: 'x' });
  expect(own.status).toBe(400);
  expect((await tracesIn([official.email])).length).toBeGreaterThan(0);

  const reason = `${official.given} ${official.family} asked for it`;
  expect((await coordinator.post(url).type('form').send({ reason, name: traces[0] })).status).toBe(303);
  expect(await tracesIn(traces)).toEqual([]);
  expect(await figures()).toEqual(counts);
  expect(await standings()).toEqual(before);
  await calculator.close();
  const { rows } = await demo.pool.query('SELECT slug FROM conference WHERE id = $1', [demo.conferenceId]);
  const proof = await verifyConference(owner, { id: demo.conferenceId, slug: rows[0].slug });
  expect(proof).toMatchObject({ faults: [], unsealed: 0 });
  for (const page of [
    `/people/${official.id}/data`,
    '/trail',
    '/people',
    `/seasons/${demo.seasonId}/officials/${official.id}`,
  ]) {
    const { status, text } = await coordinator.get(page);
    expect([page, status]).toEqual([page, 200]);
    expect(text).not.toContain(official.family);
  }
  const file = path.join(await folderInRun('erased'), 'after.backup');
  await writeBackup(owner, file, { version: '0' });
  const files = await unzipped(await readFile(file));
  for (const [name, bytes] of files) {
    for (const trace of traces) expect(bytes.includes(trace), `${trace} in ${name}`).toBe(false);
  }
  // Outside the database: the log, the notes of the trail, and what uploads left behind.
  await noteHeads(demo.pool, noted, new Date(Date.now() + 86_400_000));
  expect((await readFile(noted.file, 'utf8')).trim().split('\n')).toHaveLength(2);
  expect(log.filter((line) => line.includes('"/people/:personId/erase"')).length).toBeGreaterThan(2);
  const outside = [
    ['the log', log.join('')] as const,
    ['the notes', await readFile(noted.file, 'utf8')] as const,
    ...(await leftBehind()),
  ];
  for (const [name, text] of outside) {
    const found = traces.filter((trace) => text.toLowerCase().includes(trace.toLowerCase()));
    expect(found, name).toEqual([]);
  }
});

/** Files of this process that it writes uploads into. */
async function leftBehind(): Promise<(readonly [string, string])[]> {
  const folders = (await readdir(tmpdir())).filter((name) =>
    name.startsWith(`crewmark-import-${process.pid}-`),
  );
  const files = await Promise.all(
    folders.map((folder) => readdir(path.join(tmpdir(), folder), { recursive: true, withFileTypes: true })),
  );
  return Promise.all(
    files
      .flat()
      .filter((entry) => entry.isFile())
      .map(async (entry) => {
        const file = path.join(entry.parentPath, entry.name);
        return [file, await readFile(file, 'latin1')] as const;
      }),
  );
}

test('words taken out of the history without an erasure that tells so are found', async () => {
  await owner.query('BEGIN');
  const { rows } = await owner.query(
    `SELECT number FROM audit_entry WHERE conference_id = $1 AND salt IS NOT NULL AND before IS NOT NULL ORDER BY number LIMIT 1`,
    [demo.conferenceId],
  );
  await owner.query('SELECT take_away_words_of_entry($1, $2, NULL, NULL, NULL)', [
    demo.conferenceId,
    rows[0].number,
  ]);
  const proof = await verifyConference(owner, { id: demo.conferenceId, slug: 'x' });
  expect(proof.faults.join('\n')).toMatch(new RegExp(`entry ${rows[0].number} .+ was changed`));
  await owner.query('ROLLBACK');
});
