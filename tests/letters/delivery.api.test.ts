// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { type SignedInAgent, signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

// Mail goes to a real SMTP server on loopback, which may be told to refuse.
let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
let mail: MailServer;
beforeAll(async () => {
  database = await demoDatabase();
  mail = await mailServer();
  app = await testApp(database, {
    SMTP_URL: mail.url,
    PUBLIC_URL: 'https://crewmark.example.test',
  });
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
});
afterAll(async () => {
  await app.close();
  await mail.close();
  await database.drop();
});

async function makeFor(kind: string, personIds: string[]) {
  await coordinator
    .post(`/api/seasons/${database.seasonId}/letter-batches`)
    .send({ kind, personIds })
    .expect(202);
  await app.letterWork.idle();
}

async function release(kind: string, mail: string) {
  const answer = await coordinator
    .post(`/api/seasons/${database.seasonId}/letters/release`)
    .send({ kind, mail });
  await app.outbox.idle();
  return answer.body;
}

const lineOf = async (kind: string, personId: string) =>
  (await coordinator.get(`/api/seasons/${database.seasonId}/letters?kind=${kind}`)).body.letters.find(
    (line: { personId: string }) => line.personId === personId,
  );

async function twoOfficials() {
  const { rows } = await database.pool.query<{ id: string; email: string }>(
    `SELECT DISTINCT p.id, p.email FROM person p JOIN opportunity_count c ON c.person_id = p.id
       JOIN report r ON r.id = c.report_id WHERE r.state = 'released' ORDER BY p.id LIMIT 2`,
  );
  return rows as [(typeof rows)[0], (typeof rows)[0]];
}

test('a released letter reaches its official, and only them, as it is stored', async () => {
  const officials = await twoOfficials();
  await makeFor(
    'mid-season',
    officials.map(({ id }) => id),
  );
  expect(await release('mid-season', 'attached')).toEqual({ released: 2, outOfDate: 0, otherDay: 0 });
  expect(mail.arrived).toHaveLength(2);
  for (const { id, email } of officials) {
    const mails = mail.to(email);
    expect(mails).toHaveLength(1);
    const [sent] = mails;
    const { letter } = await lineOf('mid-season', id);
    expect(letter.delivery).toMatchObject({ state: 'sent', attempts: 1, lastError: null });
    expect(sent!.subject).toMatch(/: your Mid-season evaluation \d{4}$/);
    expect(sent!.text).toContain('https://crewmark.example.test/my/letters');
    expect(sent!.attachments).toHaveLength(1);
    const { rows } = await database.pool.query('SELECT pdf FROM letter WHERE id = $1', [letter.id]);
    expect(sent!.attachments[0]!.content.equals(rows[0].pdf)).toBe(true);
  }
});

test('a refusal is shown, tried again later, and given up after the last try until told to go on', async () => {
  const [{ id }] = await twoOfficials();
  mail.refuse.set('*', { code: 450, words: 'Mailbox is full' });
  mail.arrived.length = 0;
  await makeFor('end-of-season', [id]);
  await release('end-of-season', 'link');
  expect((await lineOf('end-of-season', id)).letter.delivery).toMatchObject({
    state: 'waiting',
    attempts: 1,
    lastError: expect.stringContaining('Mailbox is full'),
  });
  const page = await coordinator.get(`/seasons/${database.seasonId}/letters?kind=end-of-season`);
  expect(page.text).toContain('Mailbox is full');
  // Not before its time.
  app.outbox.wake();
  await app.outbox.idle();
  expect((await lineOf('end-of-season', id)).letter.delivery.attempts).toBe(1);
  for (let attempt = 2; attempt <= 7; attempt += 1) {
    await database.pool.query("UPDATE message SET next_attempt = now() WHERE mail = 'waiting'");
    app.outbox.wake();
    await app.outbox.idle();
  }
  expect((await lineOf('end-of-season', id)).letter.delivery).toMatchObject({ state: 'failed', attempts: 7 });
  mail.refuse.clear();
  await coordinator
    .post(`/api/seasons/${database.seasonId}/letters/send-again`)
    .send({ kind: 'end-of-season' })
    .expect(200, { waiting: 1 });
  await app.outbox.idle();
  expect((await lineOf('end-of-season', id)).letter.delivery).toMatchObject({
    state: 'sent',
    lastError: null,
  });
  expect(mail.arrived).toHaveLength(1);
  expect(mail.arrived[0]!.attachments).toHaveLength(0);
});
