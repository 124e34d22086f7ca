// @module-tag long
import type { AddressInfo } from 'node:net';
import { createServer, type Server, type Socket } from 'node:net';
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { connect, type Database } from '../../server/database/database.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { retryAfterMinutes } from '../../server/mail/failure.ts';
import { claimNext, noteSent } from '../../server/messages/outbox-store.ts';
import { daysKept, removeOldMessages } from '../../server/messages/retention.ts';
import { tell } from '../../server/messages/tell.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// Two servers with a pool each share one outbox; mail goes to real SMTP servers on loopback.

let database: TestDatabase;
let second: Database;
let one: FastifyInstance;
let other: FastifyInstance;
let mail: MailServer;
let conferenceId: string;
let coordinator: SignedInAgent;
let otto: TestPerson;
let ottosAgent: SignedInAgent;

beforeAll(async () => {
  database = await testDatabase();
  second = connect(database.url);
  mail = await mailServer();
  const env = { SMTP_URL: mail.url, PUBLIC_URL: 'https://grades.example.test' };
  one = await testApp(database, env);
  other = await testApp({ ...second }, env);
});
afterAll(async () => {
  await one.close();
  await other.close();
  await second.close();
  await mail.close();
  await database.drop();
});
beforeEach(async () => {
  await database.pool.query('DELETE FROM message');
  mail.arrived.length = 0;
  mail.refuse.clear();
  conferenceId = await makeConference(database.pool, 'Lakeshore Conference');
  const { personId } = await makePerson(database.pool, conferenceId, ['coordinator']);
  coordinator = await inSessionOf(one, { conferenceId, personId });
  otto = await makePerson(database.pool, conferenceId, ['observer'], {
    givenName: 'Otto',
    familyName: 'Brandt',
  });
  ottosAgent = await inSessionOf(one, otto);
});

const game = { game: 'Herons at Badgers', week: 2 };
/** Something of which one may be told at once, daily or not at all. */
const news = (reason: string, to = otto) =>
  inTransaction(database.pool, (client) =>
    tell(client, { conferenceId, personIds: [to.personId], kind: 'returned', facts: { ...game, reason } }),
  );
/** Something that must be told. */
const mustKnow = (to = otto) =>
  inTransaction(database.pool, (client) =>
    tell(client, {
      ...{ conferenceId, personIds: [to.personId], kind: 'withdrawal' },
      facts: {
        ...game,
        kickoff: '2031-09-13T18:00:00Z',
        timeZone: 'America/Chicago',
        venue: 'Heron Field',
        how: 'in person',
        answer: 'declined',
      },
    }),
  );
const send = async (...apps: FastifyInstance[]) => {
  for (const app of apps) app.outbox.wake();
  await Promise.all(apps.map((app) => app.outbox.idle()));
};
const dueNow = () => database.pool.query(`UPDATE message SET next_attempt = now() WHERE mail = 'waiting'`);
const rows = async () =>
  (
    await database.pool.query(
      `SELECT kind, mail, not_mailed_because AS why, digest, attempts, last_error AS error,
              round(extract(epoch FROM next_attempt - now()) / 60)::int AS minutes
         FROM message ORDER BY happened_at, id`,
    )
  ).rows;
const refusedAt = async () =>
  (await database.pool.query('SELECT mail_refused_at AS at FROM person WHERE id = $1', [otto.personId]))
    .rows[0].at;
const want = (wanted: string) => ottosAgent.put('/api/my/mail').send({ wanted }).expect(200);

describe('one outbox', () => {
  test('two servers that send at the same time send each message once', async () => {
    const people = [otto];
    for (let more = 0; more < 5; more += 1)
      people.push(await makePerson(database.pool, conferenceId, ['observer']));
    for (const person of people)
      for (const reason of ['one', 'two', 'three', 'four', 'five']) await news(reason, person);
    await send(one, other);
    // Each asks until nothing is due; what the other has in hand is its own to note.
    await send(one, other);
    expect(mail.arrived).toHaveLength(30);
    expect(new Set(mail.arrived.map(({ messageId }) => messageId)).size).toBe(30);
    expect((await rows()).every((row) => row.mail === 'sent' && row.attempts === 1)).toBe(true);
  });

  test('a message is kept with what it tells, or not at all', async () => {
    await expect(
      inTransaction(database.pool, async (client) => {
        await tell(client, {
          conferenceId,
          personIds: [otto.personId],
          kind: 'filed',
          facts: { ...game, observer: 'X' },
        });
        throw new Error('the step fails');
      }),
    ).rejects.toThrow('the step fails');
    await send(one);
    expect(mail.arrived).toEqual([]);
  });

  test('what a process that died had in hand is taken over once its time is up, and its late word counts no more', async () => {
    await news('in hand');
    const [claimed] = (await claimNext(second.pool))!;
    await send(one);
    expect(mail.arrived).toEqual([]);
    await dueNow();
    await send(one);
    expect(mail.arrived).toHaveLength(1);
    expect(await inTransaction(second.pool, (client) => noteSent(client, claimed!))).toBe(false);
    expect(await rows()).toMatchObject([{ mail: 'sent', attempts: 2 }]);
  });

  test('without a mail server it is for the desk alone, and a server set up later does not send it', async () => {
    const without = await testApp(database);
    await news('for the desk');
    await send(without);
    await without.close();
    await send(one);
    expect(mail.arrived).toEqual([]);
    expect(await rows()).toMatchObject([{ mail: 'not mailed', why: 'no mail server' }]);
    expect((await ottosAgent.get('/desk').expect(200)).text).toContain('Came back to you: Herons at Badgers');
  });
});

describe('as each wants it', () => {
  test('a day’s messages are one mail, sent by one of two servers; what must be told is sent at once', async () => {
    await want('daily');
    for (const reason of ['the first', 'the second', 'the third']) await news(reason);
    await mustKnow();
    await send(one, other);
    expect(mail.arrived.map(({ subject }) => subject)).toEqual(['Taken back: Herons at Badgers']);
    const waiting = (await rows()).filter(({ kind }) => kind === 'returned');
    expect(waiting).toMatchObject(Array(3).fill({ mail: 'waiting', digest: true, attempts: 0 }));
    // 7 in the morning, where the conference is: within a day.
    for (const { minutes } of waiting) expect(minutes).toBeLessThanOrEqual(24 * 60);
    const { rows: at } = await database.pool.query(
      `SELECT DISTINCT to_char(next_attempt AT TIME ZONE 'America/Chicago', 'HH24:MI') AS at FROM message WHERE digest`,
    );
    expect(at).toEqual([{ at: '07:00' }]);
    await dueNow();
    await send(one, other);
    expect(mail.arrived).toHaveLength(2);
    const day = mail.arrived[1]!;
    expect(day.subject).toBe('Lakeshore Conference: 3 messages');
    for (const part of [day.text!, String(day.html)])
      for (const reason of ['the first', 'the second', 'the third']) expect(part).toContain(reason);
  });

  test('none means none but what must be told; wanted at once again, what waits for the day goes out', async () => {
    await want('none');
    await news('unwanted');
    await mustKnow();
    await send(one);
    expect(mail.arrived.map(({ subject }) => subject)).toEqual(['Taken back: Herons at Badgers']);
    expect((await rows())[0]).toMatchObject({ mail: 'not mailed', why: 'not wanted' });
    await want('daily');
    await news('later');
    await send(one);
    await want('at once');
    await send(one);
    expect(mail.arrived.at(-1)!.text).toContain('later');
    await ottosAgent.put('/api/my/mail').send({ wanted: 'hourly' }).expect(400);
  });

  test('one click stops it without a sign-in, in both forms that RFC 8058 names; opening the link changes nothing', async () => {
    await news('with a way out');
    await send(one);
    const list = mail.arrived[0]!.headers.get('list') as { unsubscribe: { url: string } };
    const path = new URL(list.unsubscribe.url).pathname;
    const wanted = async () => (await ottosAgent.get('/api/my/mail').expect(200)).body.wanted;
    const page = await supertest(one.server).get(path).expect(200);
    expect(page.text).toContain(otto.email);
    expect(await wanted()).toBe('at once');
    await supertest(one.server).post(path).type('form').send({ 'List-Unsubscribe': 'One-Click' }).expect(200);
    expect(await wanted()).toBe('none');
    await supertest(one.server).post(path).type('form').send({ wanted: 'daily' }).expect(200);
    expect(await wanted()).toBe('daily');
    await supertest(one.server).post(path).field('List-Unsubscribe', 'One-Click').expect(200);
    expect(await wanted()).toBe('none');
    await supertest(one.server).post(path).type('form').send({ wanted: 'hourly' }).expect(400);
    await supertest(one.server).post(path).expect(400);
    // Another's name under the same signature, and a token that was cut off.
    const token = Buffer.from(path.split('/').at(-1)!, 'base64url');
    token[20] = token[20]! ^ 1;
    for (const wrong of [token.toString('base64url'), path.split('/').at(-1)!.slice(0, -2), 'x'])
      await supertest(one.server).post(`/mail/${wrong}`).type('form').send({ wanted: 'daily' }).expect(404);
    expect(await wanted()).toBe('none');
  });
});

describe('mail that does not leave', () => {
  test('waits four times as long after each try, and is given up at the seventh', () => {
    expect([1, 2, 3, 4, 5, 6, 7].map((tries) => retryAfterMinutes(tries))).toEqual([
      ...[1, 4, 16, 64, 256, 1024, null],
    ]);
  });

  test('a server that is down: tried again, shown with its reason, and sent at a click once it is up', async () => {
    const gone = await mailServer();
    await gone.close();
    const down = await testApp(database, { SMTP_URL: gone.url });
    await news('while it is down');
    await send(down);
    await down.close();
    expect(await rows()).toMatchObject([
      { mail: 'waiting', attempts: 1, minutes: 1, error: expect.stringContaining('could not be reached') },
    ]);
    const { text } = await coordinator.get('/mail-trouble').expect(200);
    expect(text).toContain('The mail server could not be reached');
    expect(text).toContain('Otto Brandt');
    await coordinator.post('/mail-trouble/again').type('form').send({}).expect(303);
    await send(one);
    expect(mail.arrived).toHaveLength(1);
    expect((await coordinator.get('/mail-trouble')).text).toContain('All mail has left.');
  });

  test('a mail that cannot be written holds up no other, and is given up with its reason', async () => {
    const faulty = await testApp(
      { ...second },
      { SMTP_URL: mail.url, PUBLIC_URL: 'https://grades.example.test', LOG_LEVEL: 'silent' },
    );
    faulty.outbox.prepare('withdrawal', async () => {
      throw new TypeError('no such game of Otto Brandt');
    });
    await mustKnow();
    await news('after it');
    await send(faulty);
    expect(mail.arrived).toHaveLength(1);
    expect(await rows()).toMatchObject([
      { kind: 'withdrawal', mail: 'waiting', attempts: 1, minutes: 1 },
      { kind: 'returned', mail: 'sent' },
    ]);
    for (let more = 0; more < 6; more += 1) {
      await dueNow();
      await send(faulty);
    }
    await faulty.close();
    const [withdrawal] = await rows();
    expect(withdrawal).toMatchObject({ mail: 'failed', attempts: 7 });
    expect(withdrawal.error).toBe(
      'it could not be written, which is a fault of the program; its log says more',
    );
    const { text } = await coordinator.get('/mail-trouble').expect(200);
    expect(text).toMatch(/it could not be written/i);
  });

  test('a server that is slow keeps nobody waiting, and one that never answers is given up for now', async () => {
    const met: Socket[] = [];
    let meet!: () => void;
    const meeting = new Promise<void>((resolve) => {
      meet = resolve;
    });
    const silent: Server = createServer((socket) => {
      met.push(socket);
      meet();
    });
    await new Promise<void>((resolve) => silent.listen(0, '127.0.0.1', resolve));
    const url = `smtp://127.0.0.1:${(silent.address() as AddressInfo).port}`;
    const slow = await testApp(database, { SMTP_URL: url });
    await news('very slowly');
    slow.outbox.wake();
    await meeting;
    // In hand, and the server says nothing: its person reads it, and changes how they are mailed, all the same.
    expect(await rows()).toMatchObject([{ mail: 'waiting', attempts: 1, error: null }]);
    await ottosAgent.post('/messages/read').type('form').send({}).expect(303);
    await want('daily');
    await want('at once');
    await news('another');
    for (const socket of met) socket.destroy();
    silent.close();
    await slow.outbox.idle();
    await slow.close();
    expect((await rows())[0]).toMatchObject({
      mail: 'waiting',
      error: expect.stringContaining('mail server'),
    });
    await dueNow();

    const never = createServer(() => {});
    await new Promise<void>((resolve) => never.listen(0, '127.0.0.1', resolve));
    const port = (never.address() as AddressInfo).port;
    const patient = await testApp(database, { SMTP_URL: `smtp://127.0.0.1:${port}?greetingTimeout=50` });
    await send(patient);
    expect((await rows())[0]).toMatchObject({
      attempts: 2,
      error: expect.stringContaining('did not answer in time'),
    });
    await patient.close();
    never.close();
  });

  test('a refused address is marked and spared, shown at its person, and forgotten when it changes', async () => {
    mail.refuse.set(otto.email, { code: 550, words: '5.1.1 No such user here' });
    await news('to nobody');
    await send(one);
    expect(await rows()).toMatchObject([
      { mail: 'failed', error: expect.stringContaining('No such user here') },
    ]);
    expect(await refusedAt()).not.toBeNull();
    await news('spared');
    await mustKnow();
    await send(one);
    expect((await rows()).map(({ mail: state, why }) => [state, why])).toEqual([
      ['failed', null],
      ['not mailed', 'address refused'],
      ['failed', null],
    ]);
    // What must be told was tried there all the same.
    expect((await rows()).at(-1)).toMatchObject({ error: expect.stringMatching(/^the mail server refused/) });
    expect((await ottosAgent.get('/my/account').expect(200)).text).toContain('The mail server refused');
    const person = await coordinator.get(`/people/${otto.personId}`).expect(200);
    expect(person.text).toContain(`Mail to ${otto.email} does not arrive`);
    expect((await coordinator.get('/mail-trouble')).text).toContain('No such user here');

    const email = 'otto.brandt@example.test';
    await coordinator
      .post(`/people/${otto.personId}`)
      .type('form')
      .send({ email, givenName: 'Otto', familyName: 'Brandt', roles: 'observer' })
      .expect(303);
    expect(await refusedAt()).toBeNull();
    await coordinator
      .post('/mail-trouble/again')
      .type('form')
      .send({ kind: 'returned', next: '/desk' })
      .expect(303);
    await send(one);
    expect(mail.to(email).map(({ text }) => text!.includes('to nobody'))).toEqual([true]);
    await coordinator.post('/mail-trouble/let-be').type('form').send({}).expect(303);
    expect((await rows()).map(({ mail: state, why }) => [state, why])).toEqual([
      ['sent', null],
      ['not mailed', 'address refused'],
      ['not mailed', 'let be'],
    ]);
  });

  test('what is refused by policy, or for now, is not the address’s fault', async () => {
    for (const { code, words } of [
      { code: 550, words: '5.7.1 Relaying denied' },
      { code: 552, words: '5.2.2 Mailbox full' },
      { code: 450, words: '4.2.0 Greylisted' },
    ]) {
      mail.refuse.set(otto.email, { code, words });
      await news(words);
      await send(one);
      expect(await refusedAt(), words).toBeNull();
    }
    expect((await rows()).map(({ mail: state }) => state)).toEqual(['failed', 'failed', 'waiting']);
  });

  test('is nobody else’s to see or to send', async () => {
    mail.refuse.set(otto.email, { code: 550, words: 'No such mailbox' });
    await news('of Lakeshore');
    await send(one);
    await ottosAgent.get('/mail-trouble').expect(403);
    await ottosAgent.post('/mail-trouble/again').type('form').send({}).expect(403);
    const elsewhere = await makeConference(database.pool, 'Ridge Conference');
    const { personId } = await makePerson(database.pool, elsewhere, ['coordinator']);
    const stranger = await inSessionOf(one, { conferenceId: elsewhere, personId });
    expect((await stranger.get('/mail-trouble').expect(200)).text).toContain('All mail has left.');
    mail.refuse.clear();
    const { rows: ids } = await database.pool.query('SELECT id FROM message');
    await stranger.post('/mail-trouble/again').type('form').send({ messageId: ids[0].id }).expect(303);
    await send(one);
    expect(mail.arrived).toEqual([]);
  });
});

test('what was told long ago is removed; what waits or failed stays, and that a letter was mailed', async () => {
  const put = (kind: string, state: string, days: number) =>
    database.pool.query(
      `INSERT INTO message (conference_id, person_id, kind, facts, mail, not_mailed_because, happened_at)
       VALUES ($1, $2, $3, '{}', $4, CASE WHEN $4 = 'not mailed' THEN 'not wanted' END,
               now() - make_interval(days => $5))`,
      [conferenceId, otto.personId, kind, state, days],
    );
  for (const state of ['sent', 'not mailed', 'waiting', 'failed'])
    for (const days of [daysKept - 1, daysKept + 1]) await put('returned', state, days);
  await put('letter', 'sent', daysKept + 1);
  expect(await removeOldMessages(database.pool)).toBe(2);
  expect(await removeOldMessages(second.pool)).toBe(0);
  expect((await rows()).map(({ kind, mail: state }) => `${kind} ${state}`).sort()).toEqual([
    'letter sent',
    'returned failed',
    'returned failed',
    'returned not mailed',
    'returned sent',
    'returned waiting',
    'returned waiting',
  ]);
});
