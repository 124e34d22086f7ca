import type { AddressInfo } from 'node:net';
import type { FastifyInstance } from 'fastify';
import ICAL from 'ical.js';
import { type ParsedMail, simpleParser } from 'mailparser';
import { SMTPServer } from 'smtp-server';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { remindObservers, tellObservers } from '../../server/observers/assignment-mail.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { makeSeason, type SeasonFixture } from './season-fixture.ts';

// Mail goes over SMTP to a real server library on loopback and is read back by an independent parser.

let database: TestDatabase;
let app: FastifyInstance;
let smtp: SMTPServer;
let season: SeasonFixture;
let coordinator: SignedInAgent;
let received: ParsedMail[] = [];
let refuse = false;

beforeAll(async () => {
  database = await testDatabase();
  smtp = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS'],
    onRcptTo: (_address, _session, done) => done(refuse ? new Error('mailbox is full') : null),
    onData: (stream, _session, done) => {
      simpleParser(stream).then((mail) => {
        received.push(mail);
        done();
      }, done);
    },
  });
  await new Promise<void>((resolve) => smtp.listen(0, '127.0.0.1', resolve));
  const { port } = smtp.server.address() as AddressInfo;
  app = await testApp(database, {
    SMTP_URL: `smtp://127.0.0.1:${port}`,
    PUBLIC_URL: 'https://crewmark.example',
    MAIL_FROM: 'Crewmark <office@crewmark.example>',
  });
});
afterAll(async () => {
  await app.close();
  await new Promise<void>((resolve) => smtp.close(resolve));
  await database.drop();
});
beforeEach(async () => {
  season = await makeSeason(database);
  coordinator = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
  received = [];
  refuse = false;
});

async function offer(week = 2) {
  const game = season.games.find((one) => one.week === week)!;
  await coordinator
    .post('/api/observer-assignments')
    .send({ offer: [{ gameId: game.id, observerId: season.observers[0]!.personId, mode: 'in person' }] })
    .expect(204);
  const { rows } = await database.pool.query('SELECT id FROM observer_assignment WHERE game_id = $1', [
    game.id,
  ]);
  return rows[0].id as string;
}

const answerOf = async (id: string) =>
  (await database.pool.query('SELECT answer FROM observer_assignment WHERE id = $1', [id])).rows[0].answer;
const linkIn = (mail: ParsedMail) =>
  /https:\/\/crewmark\.example(\/answer\/[\w-]+)/.exec(mail.text ?? '')![1]!;
const eventIn = (mail: ParsedMail) => {
  const part = mail.attachments.find(
    (one) => one.contentType.includes('calendar') || one.filename === 'game.ics',
  );
  const calendar = new ICAL.Component(ICAL.parse(part!.content.toString('utf8')));
  return {
    method: calendar.getFirstPropertyValue('method'),
    event: new ICAL.Event(calendar.getFirstSubcomponent('vevent')!),
  };
};

describe('offers by e-mail', () => {
  it('reach the observer once, with a link that answers without signing in', async () => {
    const id = await offer();
    expect(await tellObservers(app, season.conferenceId, 2)).toMatchObject({ sent: 1, failed: 0 });
    expect(await tellObservers(app, season.conferenceId, 2)).toMatchObject({ sent: 0, failed: 0 });
    const [mail] = received;
    expect(received).toHaveLength(1);
    expect(mail!.subject).toBe('Will you observe Team 1 at Team 0?');
    expect(mail!.text).toContain('Sat, Sep 11, 2027, 1:00 PM CDT');
    expect(mail!.from?.value[0]?.address).toBe('office@crewmark.example');
    const { method, event } = eventIn(mail!);
    expect(method).toBe('REQUEST');
    expect(event.uid).toBe(`assignment-${id}@crewmark`);

    const link = linkIn(mail!);
    const page = await supertest(app.server).get(link).expect(200);
    expect(page.text).toContain('Team 1 at Team 0');
    expect(await answerOf(id)).toBe('offered'); // opening answers nothing
    await supertest(app.server).post(link).type('form').send({ answer: 'accepted' }).expect(303);
    expect(await answerOf(id)).toBe('accepted');
    expect((await supertest(app.server).get(link).expect(200)).text).toContain('You accepted this game');
    await supertest(app.server)
      .post(link)
      .type('form')
      .send({ answer: 'declined', reason: 'ill' })
      .expect(303);
    expect(await answerOf(id)).toBe('declined');
  });

  it('answer nothing through a link that is wrong, expired, or of a game taken back', async () => {
    const id = await offer();
    await tellObservers(app, season.conferenceId, 2);
    const link = linkIn(received[0]!);
    await supertest(app.server)
      .get(`${link.slice(0, -1)}_`)
      .expect(404);
    await coordinator.post(`/observers/assignments/${id}/withdraw`).expect(303);
    await supertest(app.server).post(link).type('form').send({ answer: 'accepted' }).expect(409);
    expect((await supertest(app.server).get(link)).text).toContain('taken this assignment back');
    await database.pool.query(`UPDATE assignment_link SET expires_at = now() - interval '1 hour'`);
    const expired = await supertest(app.server).get(link).expect(404);
    expect(expired.text).toContain('This link has expired');
  });

  it('are followed by a cancellation when taken back', async () => {
    const id = await offer();
    await tellObservers(app, season.conferenceId, 2);
    await coordinator.post(`/observers/assignments/${id}/withdraw`).expect(303);
    expect(await tellObservers(app, season.conferenceId, 2)).toMatchObject({ sent: 1 });
    const { method, event } = eventIn(received[1]!);
    expect(method).toBe('CANCEL');
    expect(event.component.getFirstPropertyValue('status')).toBe('CANCELLED');
    expect(event.sequence).toBeGreaterThan(eventIn(received[0]!).event.sequence);
    expect(await tellObservers(app, season.conferenceId, 2)).toMatchObject({ sent: 0 });
  });

  it('that the server refuses are told, stay untold, and go out the next time', async () => {
    await offer();
    refuse = true;
    const page = await coordinator.post('/observers/weeks/2/tell').expect(303);
    expect(decodeURIComponent(page.headers.location as string)).toContain('1 failed: ');
    refuse = false;
    expect(await tellObservers(app, season.conferenceId, 2)).toMatchObject({ sent: 1, failed: 0 });
  });

  it('go out once when two servers send at the same time', async () => {
    await offer();
    const both = await Promise.all([
      tellObservers(app, season.conferenceId, 2),
      tellObservers(app, season.conferenceId, 2),
    ]);
    expect(both.reduce((sum, { sent }) => sum + sent, 0)).toBe(1);
    expect(received).toHaveLength(1);
  });
});

describe('reminders', () => {
  it('ask again after three days without an answer, and remember an accepted game shortly before, once each', async () => {
    const unanswered = await offer(2);
    await tellObservers(app, season.conferenceId, 2);
    received = [];
    expect(await remindObservers(app)).toMatchObject({ sent: 0 });
    await database.pool.query(
      `UPDATE observer_assignment SET told_at = now() - interval '4 days' WHERE id = $1`,
      [unanswered],
    );
    expect(await remindObservers(app)).toMatchObject({ sent: 1 });
    expect(await remindObservers(app)).toMatchObject({ sent: 0 });
    expect(received[0]!.subject).toBe('Please answer: Team 1 at Team 0');

    await database.pool.query(
      `UPDATE observer_assignment SET answer = 'accepted', reminded_at = NULL WHERE id = $1`,
      [unanswered],
    );
    expect(await remindObservers(app)).toMatchObject({ sent: 0 });
    await database.pool.query(
      `UPDATE game SET kickoff = now() + interval '2 days'
        WHERE id = (SELECT game_id FROM observer_assignment WHERE id = $1)`,
      [unanswered],
    );
    expect(await remindObservers(app)).toMatchObject({ sent: 1 });
    expect(received[1]!.subject).toBe('Coming up: Team 1 at Team 0');
  });

  it('are not sent without a mail server', async () => {
    const without = await testApp(database);
    await offer();
    expect(await tellObservers(without, season.conferenceId, 2)).toEqual({ sent: 0, failed: 0, reason: '' });
    await without.close();
  });
});
