// @module-tag long
import type { FastifyInstance } from 'fastify';
import ICAL from 'ical.js';
import type { ParsedMail } from 'mailparser';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { remindObservers } from '../../server/observers/assignment-messages.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { makeSeason, type SeasonFixture } from './season-fixture.ts';

// Mail goes over SMTP to a real server library on loopback and is read back by an independent parser.

let database: TestDatabase;
let app: FastifyInstance;
let mail: MailServer;
let season: SeasonFixture;
let coordinator: SignedInAgent;

beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, {
    SMTP_URL: mail.url,
    PUBLIC_URL: 'https://crewmark.example',
    MAIL_FROM: 'Crewmark <office@crewmark.example>',
  });
});
afterAll(async () => {
  await app.close();
  await mail.close();
  await database.drop();
});
beforeEach(async () => {
  season = await makeSeason(database);
  coordinator = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
  await sent();
  mail.arrived.length = 0;
});

/** What arrived since the last time. */
async function sent(): Promise<ParsedMail[]> {
  const before = mail.arrived.length;
  app.outbox.wake();
  await app.outbox.idle();
  return mail.arrived.slice(before);
}

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
  const [part, file] = mail.attachments;
  // RFC 6047, section 2.4: the part says its method, and the text says the same; the file is what the part holds.
  const { value, params } = part!.headers.get('content-type') as unknown as {
    value: string;
    params: Record<string, string>;
  };
  expect([value, params.charset, file!.filename]).toEqual(['text/calendar', 'utf-8', 'game.ics']);
  expect(file!.content.toString('utf8')).toBe(part!.content.toString('utf8'));
  const calendar = new ICAL.Component(ICAL.parse(part!.content.toString('utf8')));
  const method = calendar.getFirstPropertyValue('method');
  expect(params.method).toBe(method);
  return {
    method,
    event: new ICAL.Event(calendar.getFirstSubcomponent('vevent')!),
  };
};

describe('offers by e-mail', () => {
  it('reach the observer once, with a link that answers without signing in', async () => {
    const id = await offer();
    const [offered, ...more] = await sent();
    expect(more).toEqual([]);
    expect(await sent()).toEqual([]);
    expect(offered!.subject).toBe('Will you observe Team 1 at Team 0?');
    expect(offered!.text).toContain('Sat, Sep 11, 2027, 1:00 PM CDT');
    expect(offered!.from?.value[0]?.address).toBe('office@crewmark.example');
    const { method, event } = eventIn(offered!);
    // Published, so that a mail program shows no buttons whose replies nobody reads.
    expect(method).toBe('PUBLISH');
    expect(event.component.getFirstPropertyValue('attendee')).toBeNull();
    expect(event.uid).toBe(`assignment-${id}@crewmark`);
    expect(event.component.getFirstPropertyValue('organizer')).toBe('mailto:office@crewmark.example');

    const link = linkIn(offered!);
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
    const link = linkIn((await sent())[0]!);
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

  it('that were accepted and are taken back are cancelled, with the words for who would have travelled', async () => {
    const id = await offer();
    const [offered] = await sent();
    await supertest(app.server).post(linkIn(offered!)).type('form').send({ answer: 'accepted' }).expect(303);
    await coordinator.post(`/observers/assignments/${id}/withdraw`).expect(303);
    const [taken, ...more] = await sent();
    expect(more).toEqual([]);
    expect(taken!.subject).toBe('Taken back: Team 1 at Team 0');
    expect(taken!.text!.replace(/\s+/g, ' ')).toContain('no longer needs you on it, so do not travel');
    const { method, event } = eventIn(taken!);
    expect(method).toBe('CANCEL');
    expect(event.component.getFirstPropertyValue('status')).toBe('CANCELLED');
    expect(event.sequence).toBeGreaterThan(eventIn(offered!).event.sequence);
  });

  it('that were taken back before the mail left are not mailed; that they were is', async () => {
    const id = await offer();
    await coordinator.post(`/observers/assignments/${id}/withdraw`).expect(303);
    expect((await sent()).map(({ subject }) => subject)).toEqual(['Taken back: Team 1 at Team 0']);
  });

  it('are followed by each change of way, time or place, whoever makes it, and an undone season by withdrawals', async () => {
    const id = await offer();
    await sent();
    await database.pool.query(
      `UPDATE game SET kickoff = kickoff + interval '3 hours'
        WHERE id = (SELECT game_id FROM observer_assignment WHERE id = $1)`,
      [id],
    );
    const [moved] = await sent();
    expect(moved!.subject).toBe('Changed: Team 1 at Team 0');
    expect(moved!.text!.replace(/\s+/g, ' ')).toContain(
      'Kickoff: Sat, Sep 11, 2027, 4:00 PM CDT (was Sat, Sep 11, 2027, 1:00 PM CDT)',
    );
    expect(await answerOf(id)).toBe('offered');
    await supertest(app.server).get(linkIn(moved!)).expect(200);
    const game = season.games.find(({ week }) => week === 2)!;
    await coordinator
      .post('/api/observer-assignments')
      .send({ offer: [{ gameId: game.id, observerId: season.observers[0]!.personId, mode: 'film' }] })
      .expect(204);
    const [other] = await sent();
    expect(other!.text).toContain('To be watched: on film (was in person)');
  });

  it('are told of nothing when the step they are of is not carried out', async () => {
    const id = await offer();
    await sent();
    const game = season.games.find(({ week }) => week === 2)!;
    // One of the two cannot be taken back: a report was begun on it.
    await database.pool.query(
      `INSERT INTO report (conference_id, season_id, game_id, observer_id) VALUES ($1, $2, $3, $4)`,
      [season.conferenceId, season.seasonId, game.id, season.observers[0]!.personId],
    );
    await coordinator.post(`/observers/assignments/${id}/withdraw`).expect(409);
    expect(await sent()).toEqual([]);
  });
});

describe('reminders', () => {
  it('ask again after three days without an answer, and remember an accepted game shortly before, once each', async () => {
    const unanswered = await offer(2);
    await sent();
    expect(await remindObservers(database.pool)).toBe(0);
    await database.pool.query(
      `UPDATE observer_assignment SET offered_at = now() - interval '4 days' WHERE id = $1`,
      [unanswered],
    );
    await sent(); // offered anew, as the database sees it
    // Two servers at once.
    const written = await Promise.all([remindObservers(database.pool), remindObservers(database.pool)]);
    expect(written[0]! + written[1]!).toBe(1);
    expect((await sent()).map(({ subject }) => subject)).toEqual(['Please answer: Team 1 at Team 0']);

    await database.pool.query(`UPDATE observer_assignment SET answer = 'accepted' WHERE id = $1`, [
      unanswered,
    ]);
    expect(await remindObservers(database.pool)).toBe(0);
    await database.pool.query(
      `UPDATE game SET kickoff = now() + interval '2 days'
        WHERE id = (SELECT game_id FROM observer_assignment WHERE id = $1)`,
      [unanswered],
    );
    await sent();
    expect(await remindObservers(database.pool)).toBe(1);
    expect(await remindObservers(database.pool)).toBe(0);
    expect((await sent()).map(({ subject }) => subject)).toEqual(['Coming up: Team 1 at Team 0']);
  });
});
