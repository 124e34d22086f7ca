// @module-tag long
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { verifyAudit } from '../../server/accounts/audit/audit-verification.ts';
import { type Invited, listInvited } from '../../server/accounts/invitations-store.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let mail: MailServer;
let conferenceId: string;
let coordinator: SignedInAgent;
let wilma: TestPerson;
let otto: TestPerson;

const publicUrl = 'https://grades.example.test';
beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url, PUBLIC_URL: publicUrl });
});
afterAll(async () => {
  await app.close();
  await mail.close();
  await database.drop();
});
beforeEach(async () => {
  mail.arrived.length = 0;
  mail.refuse.clear();
  conferenceId = await makeConference(database.pool, 'Lakeshore Conference');
  coordinator = (await personSignedIn(app, conferenceId, ['coordinator'])).agent;
  const person = (role: 'official' | 'observer', givenName: string, familyName: string) =>
    makePerson(database.pool, conferenceId, [role], { givenName, familyName });
  wilma = await person('official', 'Wilma', 'Kestrel');
  otto = await person('observer', 'Otto', 'Brandt');
});

const path = '/people/invitations';
const invite = async (group: string, how: string, by = coordinator) => {
  const answer = await by.post(path).type('form').send({ group, how });
  await app.outbox.idle();
  return answer;
};
const stateOf = async ({ personId }: TestPerson): Promise<Invited> =>
  (await listInvited(database.pool, conferenceId)).find((one) => one.personId === personId)!;
const page = async (url = path) => (await coordinator.get(url).expect(200)).text.replace(/\s+/g, ' ');
const linkIn = (text: string) => /\/invitation\/[\w-]{43}/.exec(text)![0];
const linkMailed = ({ email }: TestPerson) => linkIn(mail.to(email).at(-1)!.text!);
const works = async (link: string) => (await supertest(app.server).get(link)).status === 200;
const dueNow = () => database.pool.query("UPDATE message SET next_attempt = now() WHERE mail = 'waiting'");

test('all are invited by e-mail in one step, each with their own link; who came is told from who has not', async () => {
  expect(await page()).toContain('1 of 3 have come');
  expect((await invite('not invited yet', 'e-mail')).headers.location).toBe(`${path}?done=mailed-2`);
  expect(mail.arrived).toHaveLength(2);
  const [sent] = mail.to(wilma.email);
  expect(sent!.subject).toBe('Lakeshore Conference: your invitation');
  expect(sent!.text).toContain(`${publicUrl}${linkMailed(wilma)}`);
  expect(linkMailed(wilma)).not.toBe(linkMailed(otto));
  expect((await stateOf(wilma)).state).toBe('invited');

  await supertest(app.server)
    .post(linkMailed(wilma))
    .type('form')
    .send({ password: 'whistle under wet boots', repeated: 'whistle under wet boots' })
    .expect(303);
  expect(await stateOf(wilma)).toMatchObject({ state: 'came', at: expect.any(Date), worksUntil: null });
  expect((await stateOf(otto)).state).toBe('invited');
  const text = await page();
  expect(text).toContain('2 of 3 have come');
  // Otto alone is left, and has a link that works: the first group is empty.
  expect(text).toContain('Everybody who has not come yet; links they have stop working (1)');
  expect(text).not.toContain('Those without a link that works');
  expect((await invite('not invited yet', 'e-mail')).status).toBe(409);
  expect(await page(`${path}?state=came`)).not.toContain('Brandt');
  const { rows } = await database.pool.query(
    "SELECT after FROM audit_entry WHERE conference_id = $1 AND action = 'invited'",
    [conferenceId],
  );
  expect(rows.map(({ after }) => after)).toEqual([{ how: 'by e-mail' }, { how: 'by e-mail' }]);
  const client = await database.pool.connect();
  expect((await verifyAudit(client, conferenceId)).faults).toEqual([]);
  client.release();
});

test('a click too many sends nothing twice; asked again later, the newer link lives and the older is dead', async () => {
  await invite('not come', 'e-mail');
  const first = linkMailed(otto);
  await invite('not come', 'e-mail');
  expect(mail.arrived).toHaveLength(2);
  await database.pool.query("UPDATE message SET sent_at = sent_at - interval '2 minutes'");
  await coordinator.post(`/people/${otto.personId}/send-invitation`).expect(303);
  await app.outbox.idle();
  expect(mail.to(otto.email)).toHaveLength(2);
  expect(await works(linkMailed(otto))).toBe(true);
  expect(await works(first)).toBe(false);
  expect(await works(linkMailed(wilma))).toBe(true);
});

test('an address that is refused says so and why, the others arrive, and again sends it', async () => {
  mail.refuse.set(otto.email, { code: 550, words: 'No such mailbox here' });
  await invite('not invited yet', 'e-mail');
  expect((await stateOf(wilma)).state).toBe('invited');
  expect(await stateOf(otto)).toMatchObject({
    state: 'could not be sent',
    because: expect.stringMatching(/^the mail server refused the address \(.*550 No such mailbox here/),
  });
  expect(await page()).toContain('Could not be sent, because the mail server refused the address');
  mail.refuse.clear();
  await invite('not invited yet', 'e-mail');
  expect(mail.arrived).toHaveLength(2);
  expect(await works(linkMailed(otto))).toBe(true);
});

test('a server that fails for a while loses nothing: tried again, given up after the seventh, and the old link lives', async () => {
  await coordinator.post(`/people/${otto.personId}/link`).expect(200);
  const { rows } = await database.pool.query('SELECT token_hash FROM account_link WHERE person_id = $1', [
    otto.personId,
  ]);
  mail.refuse.set('*', { code: 451, words: 'Come back later' });
  await coordinator.post(`/people/${otto.personId}/send-invitation`).expect(303);
  await app.outbox.idle();
  expect(await stateOf(otto)).toMatchObject({
    state: 'on its way',
    because: expect.stringContaining('Come back later'),
    nextAttempt: expect.any(Date),
    worksUntil: expect.any(Date),
  });
  expect(await page()).toContain('Not sent yet, because the mail server refused the message');
  const live = await database.pool.query(
    'SELECT token_hash FROM account_link WHERE person_id = $1 AND used_at IS NULL',
    [otto.personId],
  );
  expect(live.rows).toEqual(rows);
  for (let more = 0; more < 6; more++) {
    await dueNow();
    app.outbox.wake();
    await app.outbox.idle();
  }
  expect((await stateOf(otto)).state).toBe('could not be sent');
  mail.refuse.clear();
  await coordinator.post(`/people/${otto.personId}/send-invitation`).expect(303);
  await app.outbox.idle();
  expect(await works(linkMailed(otto))).toBe(true);
});

test('a mail server that cannot be reached is told as that', async () => {
  const gone = await mailServer();
  await gone.close();
  const other = await testApp(database, { SMTP_URL: gone.url, PUBLIC_URL: publicUrl });
  const { agent } = await personSignedIn(other, conferenceId, ['coordinator']);
  await agent.post(`/people/${otto.personId}/send-invitation`).expect(303);
  await other.outbox.idle();
  await other.close();
  expect((await stateOf(otto)).because).toMatch(/^the mail server could not be reached \(.*ECONNREFUSED/);
});

test('a sheet shows each link once; made again, the links on the old one are dead', async () => {
  const sheet = await invite('not invited yet', 'sheet');
  expect(sheet.status).toBe(200);
  expect(sheet.headers['cache-control']).toBe('no-store');
  const cards = sheet.text.split('<li class="invitation">').slice(1);
  expect(cards).toHaveLength(2);
  expect(cards[0]).toContain('Otto Brandt');
  expect(cards[1]).toContain('Wilma Kestrel');
  expect(cards[1]).toContain(`<strong>${wilma.email}</strong>`);
  expect(cards[1]).toContain(`${publicUrl}${linkIn(cards[1]!)}`);
  for (const card of cards) expect(await works(linkIn(card))).toBe(true);
  expect((await stateOf(wilma)).state).toBe('invited');
  expect(mail.arrived).toHaveLength(0);
  const tokens = cards.map((card) => linkIn(card).split('/').at(-1));
  const { rows } = await database.pool.query(
    'SELECT row_to_json(l)::text AS kept FROM account_link l UNION ALL SELECT row_to_json(i)::text FROM invitation i',
  );
  for (const { kept } of rows) for (const token of tokens) expect(kept).not.toContain(token);
  const again = await invite('not come', 'sheet');
  for (const card of cards) expect(await works(linkIn(card))).toBe(false);
  for (const card of again.text.split('<li class="invitation">').slice(1))
    expect(await works(linkIn(card))).toBe(true);
});

test('withdrawn, the link is dead, the person is left out of the next round, and can be invited again', async () => {
  await invite('not invited yet', 'e-mail');
  const link = linkMailed(otto);
  await coordinator.post(`/people/${otto.personId}/withdraw-invitation`).expect(303);
  expect(await works(link)).toBe(false);
  expect((await stateOf(otto)).state).toBe('withdrawn');
  await database.pool.query("UPDATE message SET sent_at = sent_at - interval '2 minutes'");
  await invite('not come', 'e-mail');
  expect(mail.to(otto.email)).toHaveLength(1);
  expect(mail.to(wilma.email)).toHaveLength(2);
  await coordinator.post(`/people/${otto.personId}/send-invitation`).expect(303);
  await app.outbox.idle();
  expect(await works(linkMailed(otto))).toBe(true);
  await supertest(app.server)
    .post('/api/account-links/use')
    .send({ token: linkMailed(otto).split('/').at(-1), password: 'whistle under wet boots' })
    .expect(200);
  const late = await coordinator.post(`/people/${otto.personId}/withdraw-invitation`).expect(409);
  expect(late.text).toContain('has come already');
});

test('withdrawing at the moment when somebody comes: either the one or the other, never both', async () => {
  for (const { personId } of [wilma, otto]) {
    const { text } = await coordinator.post(`/people/${personId}/link`).expect(200);
    const [came, withdrawn] = await Promise.all([
      supertest(app.server)
        .post(linkIn(text))
        .type('form')
        .send({ password: 'whistle under wet boots', repeated: 'whistle under wet boots' }),
      coordinator.post(`/people/${personId}/withdraw-invitation`),
    ]);
    expect([
      [303, 409],
      [410, 303],
    ]).toContainEqual([came.status, withdrawn.status]);
    const { rows } = await database.pool.query(
      'SELECT password_hash IS NOT NULL AS came FROM person WHERE id = $1',
      [personId],
    );
    expect(rows[0].came).toBe(came.status === 303);
  }
});

test('one person is invited by e-mail from the form, and a link that ran out is told', async () => {
  await coordinator
    .post('/people/invite')
    .type('form')
    .send({
      givenName: 'Ines',
      familyName: 'Falk',
      email: 'ines@example.test',
      roles: 'official',
      how: 'e-mail',
    })
    .expect(303);
  await app.outbox.idle();
  expect(await works(linkIn(mail.to('ines@example.test')[0]!.text!))).toBe(true);
  await database.pool.query("UPDATE account_link SET expires_at = now() - interval '1 day'");
  const [ines] = (await listInvited(database.pool, conferenceId)).filter(
    ({ familyName }) => familyName === 'Falk',
  );
  expect(ines).toMatchObject({ state: 'ran out', worksUntil: null });
});

test('without a mail server the sheet is what is offered, and sending is refused with the way on', async () => {
  const other = await testApp(database);
  const { agent } = await personSignedIn(other, conferenceId, ['coordinator']);
  const text = (await agent.get(path)).text;
  expect(text).toContain('Make the sheet to print');
  expect(text).not.toContain('By e-mail, to each their own link');
  const refused = await agent.post(path).type('form').send({ group: 'not come', how: 'e-mail' }).expect(409);
  expect(refused.text).toContain('No mail server is set up (SMTP_URL)');
  await agent.post(path).type('form').send({ group: 'nonsense', how: 'sheet' }).expect(400);
  await other.close();
});
