// @module-tag long
import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { applyMigrations, readMigrations } from '../../server/database/migrations.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A database from before the outbox: invitations and letters kept mails of their own, some waiting, some sent, some given up.

const states = ['waiting', 'sent', 'failed'] as const;

let database: TestDatabase;
let mail: MailServer;
let app: FastifyInstance;
let conferenceId: string;
let coordinatorId: string;
const emails: Record<'invitation' | 'letter', Partial<Record<(typeof states)[number], string>>> = {
  invitation: {},
  letter: {},
};

beforeAll(async () => {
  database = await testDatabase('template1');
  const migrations = await readMigrations();
  const outbox = migrations.findIndex(({ name }) => name.endsWith('_messages'));
  expect(outbox).toBeGreaterThan(0);
  const owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  try {
    await applyMigrations(owner, migrations.slice(0, outbox));
    await fillAsBefore(owner);
    await applyMigrations(owner, migrations);
  } finally {
    await owner.end();
  }
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url, PUBLIC_URL: 'https://grades.example.test' });
});
afterAll(async () => {
  await app?.close();
  await mail?.close();
  await database?.drop();
});

async function fillAsBefore(owner: pg.Client): Promise<void> {
  conferenceId = await makeConference(owner);
  const coordinator = await makePerson(owner, conferenceId, ['coordinator'], { givenName: 'Ada' });
  coordinatorId = coordinator.personId;
  const season = await owner.query<{ id: string }>(
    'INSERT INTO season (conference_id, name, crew_size) VALUES ($1, $2, 5) RETURNING id',
    [conferenceId, '2026'],
  );
  for (const state of states) {
    const invited = await makePerson(owner, conferenceId, ['official'], { familyName: `Invited ${state}` });
    emails.invitation[state] = invited.email;
    await owner.query(
      `INSERT INTO invitation (conference_id, person_id, state, asked_by, attempts, last_error, sent_at)
       VALUES ($1, $2, $3, $4, 2, CASE WHEN $3 <> 'sent' THEN 'the mail server was away' END,
               CASE WHEN $3 = 'sent' THEN now() END)`,
      [conferenceId, invited.personId, state, coordinatorId],
    );
    const official = await makePerson(owner, conferenceId, ['official'], { familyName: `Letter ${state}` });
    emails.letter[state] = official.email;
    const letter = await owner.query<{ id: string }>(
      `INSERT INTO letter (conference_id, season_id, person_id, kind, input_revision, sha256, pdf, released_at)
       VALUES ($1, $2, $3, 'mid-season', 0, repeat('0', 64), '%PDF-1.7 of before', now()) RETURNING id`,
      [conferenceId, season.rows[0]!.id, official.personId],
    );
    await owner.query(
      `INSERT INTO letter_delivery (conference_id, letter_id, attached, state, attempts, last_error, sent_at)
       VALUES ($1, $2, true, $3, 2, CASE WHEN $3 <> 'sent' THEN 'the mail server was away' END,
               CASE WHEN $3 = 'sent' THEN now() END)`,
      [conferenceId, letter.rows[0]!.id, state],
    );
  }
  // Handed over on paper: nothing of it is a mail.
  const onPaper = await makePerson(owner, conferenceId, ['official'], {
    email: `${randomUUID()}@paper.test`,
  });
  await owner.query(
    `INSERT INTO invitation (conference_id, person_id, state) VALUES ($1, $2, 'handed over')`,
    [conferenceId, onPaper.personId],
  );
}

const kept = async () =>
  (
    await database.pool.query<{ kind: string; mail: string; email: string; attempts: number }>(
      `SELECT m.kind, m.mail, p.email, m.attempts FROM message m JOIN person p ON p.id = m.person_id
        WHERE m.conference_id = $1 ORDER BY m.kind, m.mail`,
      [conferenceId],
    )
  ).rows;

test('what waited waits in the outbox, what was sent or given up stays so', async () => {
  expect(await kept()).toEqual(
    (['invitation', 'letter'] as const).flatMap((kind) =>
      ['failed', 'sent', 'waiting'].map((state) => ({
        ...{ kind, mail: state, attempts: 2 },
        email: emails[kind][state as (typeof states)[number]],
      })),
    ),
  );
});

test('the coordinator sees what failed, and who was invited how', async () => {
  const coordinator = await inSessionOf(app, { conferenceId, personId: coordinatorId });
  const trouble = (await coordinator.get('/mail-trouble').expect(200)).text;
  for (const kind of ['Invited', 'Letter'])
    for (const state of ['failed', 'waiting']) expect(trouble).toContain(`${kind} ${state}`);
  expect(trouble).not.toContain('Invited sent');
  const list = (await coordinator.get('/people/invitations').expect(200)).text.replaceAll(
    /<[^>]*>|\s+/g,
    ' ',
  );
  expect(list).toMatch(/Invited failed[^@]*@[^@]*could not be sent/);
  expect(list).toMatch(/Invited waiting[^@]*@[^@]*on its way/);
});

test('what waited is mailed exactly once, the letter with its file', async () => {
  for (let turn = 0; turn < 2; turn++) {
    app.outbox.wake();
    await app.outbox.idle();
  }
  expect(mail.arrived).toHaveLength(2);
  const [invitation] = mail.to(emails.invitation.waiting!);
  expect(invitation!.text).toMatch(/https:\/\/grades\.example\.test\/invitation\//);
  const [letter] = mail.to(emails.letter.waiting!);
  expect(letter!.attachments.map(({ content }) => content.toString())).toEqual(['%PDF-1.7 of before']);
  expect((await kept()).map(({ mail: state }) => state)).toEqual([
    ...['failed', 'sent', 'sent'],
    ...['failed', 'sent', 'sent'],
  ]);
});
