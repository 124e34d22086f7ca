// @module-tag rest
import { generateKeyPairSync } from 'node:crypto';
import { chmod, readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { auditHash, contentDigest } from '../../server/accounts/audit/audit.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { makeMailer } from '../../server/mail/mailer.ts';
import { readNotes } from '../../server/proof/notes.ts';
import { noteHeads } from '../../server/proof/noting.ts';
import { noteUnsealed } from '../../server/proof/reports-as-noted.ts';
import { type KeptNotes, notesIn, verifyConference } from '../../server/proof/verify-conference.ts';
import { returnReport } from '../../server/reports/filing/review-steps.ts';
import { reviseReport } from '../../server/reports/filing/revisions.ts';
import { removeLoggedPlay } from '../../server/reports/review/corrections.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { folderInRun } from '../support/test-run.ts';

// Each tampering is done as the database's owner, who may do anything there, inside a transaction that is taken back.

let demo: DemoDatabase;
let owner: pg.Client;
let mail: MailServer;
let app: FastifyInstance;
let file: string;
let slug: string;
let coordinator: { conferenceId: string; personId: string };
const { privateKey, publicKey } = generateKeyPairSync('ed25519');

beforeAll(async () => {
  demo = await demoDatabase();
  owner = new pg.Client({ connectionString: demo.url });
  await owner.connect();
  mail = await mailServer();
  const folder = await folderInRun('proof');
  file = path.join(folder, 'notes');
  const keyFile = path.join(folder, 'key.pem');
  await writeFile(keyFile, privateKey.export({ type: 'pkcs8', format: 'pem' }));
  app = await testApp(demo, {
    AUDIT_KEY_FILE: keyFile,
    AUDIT_NOTES_FILE: file,
    AUDIT_NOTES_MAIL: 'notes@elsewhere.example.test',
    SMTP_URL: mail.url,
  });
  const { rows } = await demo.pool.query(
    `SELECT c.slug, p.id FROM conference c JOIN person p ON p.conference_id = c.id WHERE p.email = $1`,
    [demo.signIns.coordinator],
  );
  slug = rows[0].slug;
  coordinator = { conferenceId: demo.conferenceId, personId: rows[0].id };
});
afterAll(async () => {
  await app.close();
  await owner.end();
  await mail.close();
  await demo.drop();
});

const places = () => ({
  key: privateKey,
  file,
  mail: { mailer: makeMailer(app.settings)!, address: 'notes@elsewhere.example.test' },
});
const verify = (kept?: KeptNotes) => verifyConference(owner, { id: demo.conferenceId, slug }, { kept });
const keptNotes = () => notesIn(file, publicKey);

/** What verification finds after `statements`, which are then taken back. */
async function foundAfter(
  tamper: string | (() => Promise<void>),
  kept?: KeptNotes,
): Promise<readonly string[]> {
  await owner.query('BEGIN');
  try {
    for (const table of ['audit_entry', 'observation', 'report']) {
      await owner.query(`ALTER TABLE ${table} DISABLE TRIGGER USER`);
    }
    if (typeof tamper === 'string') await owner.query(tamper);
    else await tamper();
    return (await verify(kept)).faults;
  } finally {
    await owner.query('ROLLBACK');
  }
}

test('the demo season holds: chain, reports and marks', async () => {
  const proof = await verify();
  expect(proof).toMatchObject({ faults: [], unsealed: 0 });
  expect(proof.entries).toBeGreaterThan(50);
  expect(proof.marks).toBeGreaterThan(50);
});

test('the head is noted once a day, signed, in the file and by mail; a mail that fails is sent later', async () => {
  mail.refuse.set('notes@elsewhere.example.test', { code: 451, words: 'later' });
  const monday = new Date('2026-11-23T06:00:00Z');
  await expect(noteHeads(demo.pool, places(), monday)).rejects.toThrow(/later/);
  mail.refuse.clear();
  await noteHeads(demo.pool, places(), monday);
  await noteHeads(demo.pool, places(), monday);
  await inTransaction(demo.pool, (client) => noteUnsealed(client, demo.conferenceId));
  await demo.pool.query('SELECT 1');
  await noteHeads(demo.pool, places(), new Date('2026-11-24T06:00:00Z'));
  const lines = (await readFile(file, 'utf8')).trim().split('\n');
  expect(lines).toHaveLength(2);
  expect(mail.to('notes@elsewhere.example.test').map(({ text }) => text!.trim().split('\n').at(-1))).toEqual(
    lines,
  );
  const kept = await keptNotes();
  expect(kept).toMatchObject({ faults: [], notes: [{ conference: slug }, { conference: slug }] });
  expect(await verify(kept)).toMatchObject({ faults: [], notes: 2 });
});

const entry = `(SELECT number FROM audit_entry WHERE subject_kind = 'report' ORDER BY number OFFSET 20 LIMIT 1)`;
const last = '(SELECT max(number) FROM audit_entry)';

test.each([
  ['a row is altered', `UPDATE audit_entry SET action = 'approved' WHERE number = ${entry}`, /was changed$/m],
  [
    'what it says is altered',
    `UPDATE audit_entry SET after = '{"state": "draft"}' WHERE number = ${entry}`,
    /was changed$/m,
  ],
  [
    'what it says is altered as if an erasure had taken it',
    `UPDATE audit_entry SET before = NULL, salt = NULL WHERE number = ${entry}`,
    /was changed$/m,
  ],
  ['a row in the middle is deleted', `DELETE FROM audit_entry WHERE number = ${entry}`, /is missing$/m],
  ['the end is cut off', `DELETE FROM audit_entry WHERE number = ${last}`, /noted earlier, is gone/],
  [
    'a row is inserted',
    `INSERT INTO audit_entry (conference_id, number, at, action, subject_kind, subject_id, previous_hash, hash)
     SELECT conference_id, number + 1, at, 'inserted', subject_kind, subject_id, hash, repeat('a', 64)
       FROM audit_entry WHERE number = ${last}`,
    /was changed$/m,
  ],
  [
    'two rows change places',
    `UPDATE audit_entry SET number = CASE number WHEN 5 THEN 1000005 ELSE 1000006 END WHERE number IN (5, 6);
     UPDATE audit_entry SET number = CASE number WHEN 1000005 THEN 6 ELSE 5 END WHERE number > 1000000`,
    /entry 5 .*(changed|follow)/,
  ],
])('found: %s', async (_, statements, told) => {
  const faults = await foundAfter(statements, await keptNotes());
  expect(faults.join('\n')).toMatch(told);
});

/** An owner who knows the program: alters an entry and makes every hash from there on anew. */
async function recompute(): Promise<void> {
  const { rows } = await owner.query('SELECT * FROM audit_entry WHERE conference_id = $1 ORDER BY number', [
    demo.conferenceId,
  ]);
  let previousHash = '';
  for (const row of rows) {
    const content = { reason: row.reason, before: row.before, after: row.after };
    if (Number(row.number) === 30) content.reason = 'another reason';
    const digest = contentDigest(row.salt, content);
    const hash = auditHash({
      conferenceId: demo.conferenceId,
      number: Number(row.number),
      at: row.at.toISOString(),
      actorId: row.actor_id,
      action: row.action,
      subjectKind: row.subject_kind,
      subjectId: row.subject_id,
      previousHash,
      contentDigest: digest,
    });
    await owner.query(
      'UPDATE audit_entry SET reason = $2, content_digest = $3, previous_hash = $4, hash = $5 WHERE number = $1',
      [row.number, content.reason, digest, previousHash, hash],
    );
    previousHash = hash;
  }
}

test('a chain made anew holds by itself, and is found by the notes', async () => {
  expect(await foundAfter(recompute)).toEqual([]);
  expect((await foundAfter(recompute, await keptNotes())).join('\n')).toMatch(
    /the trail was rewritten up to it/,
  );
});

const mark = `(SELECT o.id FROM observation o JOIN report r ON r.id = o.report_id
                WHERE r.state = 'released' AND o.removed_at IS NULL AND o.finding = 'missed' ORDER BY o.id LIMIT 1)`;

test.each([
  [
    'a mark’s finding',
    `UPDATE observation SET finding = 'done' WHERE id = ${mark}`,
    /^the mark on play \d+, .+ was changed/,
  ],
  [
    'a mark’s comment',
    `UPDATE observation SET comment = comment || '.' WHERE id = ${mark}`,
    /^the mark on play .+ was changed/,
  ],
  [
    'whose mark it is',
    `UPDATE observation o SET person_id = (SELECT id FROM person p WHERE p.id <> o.person_id LIMIT 1) WHERE id = ${mark}`,
    /^the mark on play .+ was changed/,
  ],
  [
    'a mark taken out',
    `UPDATE observation SET removed_at = now() WHERE id = ${mark}`,
    /^the mark on play .+ is gone/,
  ],
  [
    'a mark put in',
    `INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding)
     SELECT conference_id, gen_random_uuid(), report_id, play_id, person_id, position, duty_key || '-', finding
       FROM observation WHERE id = ${mark}`,
    /^the mark on play .+ was added/,
  ],
  [
    'a report’s state',
    `UPDATE report SET state = 'accepted', released_at = NULL WHERE id = (SELECT report_id FROM observation WHERE id = ${mark})`,
    /^the report on .+ is accepted; by the trail it is released$/,
  ],
  [
    'a report’s comment',
    `UPDATE report SET general_comment = 'fine' WHERE id = (SELECT report_id FROM observation WHERE id = ${mark})`,
    /^the general comment of the report on .+ is not what the trail holds$/,
  ],
])('found in the tables behind the trail’s back: %s', async (_, statement, told) => {
  expect(await foundAfter(statement)).toEqual([expect.stringMatching(told)]);
});

test('what the program itself does keeps to the trail, and does not make a tampering true', async () => {
  const { rows } = await demo.pool.query<{ report: string; marks: string[]; game: string; plays: string[] }>(
    `SELECT r.id AS report, min(r.game_id::text) AS game, array_agg(o.id::text ORDER BY o.id) AS marks,
            array_agg(o.play_id::text ORDER BY o.id) AS plays
       FROM report r JOIN observation o ON o.report_id = r.id AND o.removed_at IS NULL AND o.finding = 'missed'
      WHERE r.state = 'released' GROUP BY r.id HAVING count(*) > 3 AND count(DISTINCT o.play_id) = count(*) ORDER BY r.id LIMIT 1`,
  );
  const { report, marks, game, plays } = rows[0]!;
  const acting = { ...coordinator, at: new Date() };
  const revise = (markId: string) =>
    inTransaction(demo.pool, (client) =>
      reviseReport(client, acting, report, 'seen again', [
        { markId, finding: 'missed', comment: 'seen again' },
      ]),
    );
  await revise(marks[0]!);
  await inTransaction(demo.pool, (client) =>
    removeLoggedPlay(client, acting, game, plays[3]!, { reason: 'never was', marksToo: true }),
  );
  const { rows: filed } = await demo.pool.query(`SELECT id FROM report WHERE state = 'filed' LIMIT 1`);
  await inTransaction(demo.pool, (client) => returnReport(client, acting, filed[0].id, 'please look again'));
  expect((await verify()).faults).toEqual([]);
  const { rows: said } = await owner.query('SELECT comment FROM observation WHERE id = $1', [marks[1]]);
  await owner.query(`UPDATE observation SET comment = 'nothing' WHERE id = $1`, [marks[1]]);
  await revise(marks[2]!);
  expect((await verify()).faults).toEqual([expect.stringMatching(/^the mark on play \d+, .+ was changed/)]);
  await demo.pool.query('UPDATE observation SET comment = $2 WHERE id = $1', [marks[1], said[0].comment]);
});

test('notes that were altered, taken out, cut off or signed by another key are found', async () => {
  const text = await readFile(file, 'utf8');
  const lines = text.trim().split('\n');
  const faults = (changed: string, key = publicKey) => readNotes(changed, key).faults;
  expect(faults(text.replace(/"number":\d+/, '"number":1'))).toEqual([
    'note 1 was changed, or was signed by another key',
    'note 2 does not follow the one before it: a note was changed or taken out',
  ]);
  expect(faults(`${lines[1]}\n`)).toEqual([
    'note 1 is not the first that was written: earlier ones were taken out',
  ]);
  expect(faults(text, generateKeyPairSync('ed25519').publicKey)).toHaveLength(2);
  expect((await verify(readNotes(`${lines[0]}\n`, publicKey))).faults).toContain(
    'the note of 2026-11-24 was written and is not among the notes',
  );
});

test('the page says whether it holds, and what does not', async () => {
  const agent = await inSessionOf(app, coordinator);
  const tampered = await agent.get('/trail/proof');
  expect(tampered.text).toContain('Yes. Every entry is what was written');
  await writeFile(file, (await readFile(file, 'utf8')).replace(/"number":\d+/, '"number":1'));
  await chmod(file, 0o600);
  expect((await agent.get('/trail/proof')).text).toMatch(/No\. Something was changed.*note 1 was changed/s);
});
