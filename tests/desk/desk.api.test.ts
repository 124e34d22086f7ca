// @module-tag long
import type { FastifyInstance } from 'fastify';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// Each kind of thing that waits appears by the act that makes it wait and goes by the act that gets it done.

let database: TestDatabase;
let mail: MailServer;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let observer: SignedInAgent;
let official: SignedInAgent;
let other: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url, PUBLIC_URL: 'https://crewmark.example.test' });
});
afterAll(async () => {
  await app?.close();
  await mail?.close();
  await database?.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 30);
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  observer = await as(game.observerId);
  official = await as(game.crew.umpire!);
  other = await as(game.crew['line judge']!);
  await kickedOff('1 hour');
  await database.pool.query('DELETE FROM observer_assignment WHERE conference_id = $1 AND observer_id = $2', [
    game.conferenceId,
    game.secondObserverId,
  ]);
});

const kickedOff = (ago: string) =>
  database.pool.query('UPDATE game SET kickoff = now() - $3::interval WHERE conference_id = $1 AND id = $2', [
    game.conferenceId,
    game.gameId,
    ago,
  ]);
const textOf = (html: string) => html.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ');
const mainOf = (html: string) => /<main[\s\S]*<\/main>/.exec(html)![0];

/** The desk of somebody: its text, and for a coordinator what waits, held against its heading and the menu. */
async function desk(agent: SignedInAgent) {
  const { text } = await agent.get('/desk').expect(200);
  const lists = [...text.matchAll(/<ol class="desk-list" aria-label="([^"]*)">([\s\S]*?)<\/ol>/g)];
  const kindsIn = (label: string) =>
    lists
      .filter(([, name]) => name!.startsWith(label))
      .flatMap(([, , list]) =>
        [...list!.matchAll(/<span class="tag [^"]*">([^<]*)</g)].map(([, kind]) => kind),
      );
  const menu = Object.fromEntries(
    [...text.matchAll(/href="([^"]+)"[^>]*>[^<]*<span class="count">(\d+)/g)]
      .map(([, href, count]) => [href!, Number(count)] as const)
      // What was told is no work; tests/messages hold it.
      .filter(([href]) => href !== '/messages'),
  );
  const waits = kindsIn('What waits');
  if (agent === coordinator) {
    expect(menu['/desk'] ?? 0, 'the menu counts what the desk shows').toBe(waits.length);
    const heading = /<h2 id="waits">(\d+|Nothing)/.exec(text)![1];
    expect(heading).toBe(waits.length === 0 ? 'Nothing' : String(waits.length));
  }
  return { waits, look: kindsIn('Worth a look'), menu, text: textOf(mainOf(text)), html: mainOf(text) };
}
const waits = async () => (await desk(coordinator)).waits;
const form = (agent: SignedInAgent, address: string, fields: object) =>
  agent.post(address).type('form').send(fields).expect(303);

const confirmCrew = () =>
  form(
    coordinator,
    `/games/${game.gameId}/crew`,
    Object.fromEntries(Object.entries(game.crew).map(([position, id]) => [`member-${position}`, id])),
  );

/** A report as the observer's device sends it, with a miss of the umpire. Gives it and its mark. */
async function begun() {
  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`).expect(200)).body;
  const markId = uuidv7();
  const mark = {
    ...{ kind: 'put mark', id: uuidv7(), basedOn: null, markId, playId: game.playIds[2], position: 'umpire' },
    ...{ dutyKey: everybodysDuty.key, finding: 'missed', comment: 'Late to the pile.' },
  };
  await observer
    .post(`/api/reports/${reportId}/changes`)
    .send({ changes: [mark] })
    .expect(200);
  return { reportId: reportId as string, markId };
}
const file = (reportId: string) => observer.post(`/api/reports/${reportId}/file`).expect(200);

async function released() {
  const report = await begun();
  await confirmCrew();
  await file(report.reportId);
  await form(coordinator, `/reports/${report.reportId}/accept`, {});
  await form(coordinator, `/reports/${report.reportId}/release`, {});
  return report;
}

test('the first page of each role is their desk', async () => {
  for (const agent of [coordinator, observer, official]) {
    expect((await agent.get('/').expect(302)).headers.location).toBe('/desk');
    expect((await desk(agent)).text).toContain('My desk');
  }
});

describe('the coordinator’s desk', () => {
  test('a crew waits from kickoff until it is confirmed', async () => {
    await database.pool.query(
      `UPDATE game SET kickoff = now() + interval '1 hour' WHERE conference_id = $1`,
      [game.conferenceId],
    );
    expect(await waits()).toEqual([]);
    await kickedOff('1 hour');
    expect(await waits()).toEqual(['crew not confirmed']);
    const refused = await coordinator.post('/replies/window').type('form').send({ replyDays: '400' });
    expect(refused.status).toBe(422);
    expect(refused.text).toContain('My desk <span class="count">1<');
    await confirmCrew();
    expect(await waits()).toEqual([]);
  });

  test('a report is overdue, to review, returned, to review again, to release; released it is done', async () => {
    await confirmCrew();
    await kickedOff('4 days');
    expect(await waits()).toEqual(['report overdue']);
    const { reportId } = await begun();
    expect((await desk(coordinator)).text).toContain('begun, not filed');
    await file(reportId);
    expect(await waits()).toEqual(['to review']);
    expect((await desk(coordinator)).menu).toEqual({ '/desk': 1, '/reports': 1 });
    await form(coordinator, `/reports/${reportId}/return`, { reason: 'Three plays are missing.' });
    expect(await waits()).toEqual(['returned report']);
    expect((await desk(observer)).text).toContain('Three plays are missing.');
    await file(reportId);
    expect(await waits()).toEqual(['to review']);
    expect((await desk(observer)).text).not.toContain('Three plays are missing.');
    await form(coordinator, `/reports/${reportId}/accept`, {});
    expect(await waits()).toEqual(['to release']);
    const { headers } = await form(coordinator, `/reports/${reportId}/release`, { next: '/desk' });
    expect(headers.location).toBe('/desk');
    expect(await waits()).toEqual([]);
  });

  test('when a report is overdue is the conference’s to say: one day for desks, lists and reminder', async () => {
    await confirmCrew();
    await kickedOff('4 days');
    await begun();
    const overdueIn = async () => {
      const { text } = await desk(observer);
      const seen = {
        desk: (await waits()).includes('report overdue'),
        own: text.includes('It was due'),
        games: (await observer.get('/my/games').expect(200)).text.includes('It was due'),
        list: (await coordinator.get('/reports').expect(200)).text.includes('>overdue<'),
      };
      await database.pool.query('DELETE FROM message WHERE conference_id = $1', [game.conferenceId]);
      await form(coordinator, `/games/${game.gameId}/remind`, { observerId: game.observerId });
      const { rows } = await database.pool.query<{ days: number }>(
        `SELECT extract(epoch FROM (m.facts ->> 'due')::timestamptz - g.kickoff)::int / 86400 AS days
           FROM message m JOIN game g ON g.conference_id = m.conference_id AND g.id = m.about_id
          WHERE m.conference_id = $1 AND m.kind = 'reminder'`,
        [game.conferenceId],
      );
      return { ...seen, days: rows[0]?.days };
    };
    expect(await overdueIn()).toEqual({ desk: true, own: true, games: true, list: true, days: 3 });
    const wrong = await coordinator.put('/api/report-days').send({ reportDays: 0 }).expect(400);
    expect(JSON.stringify(wrong.body)).toContain('reportDays must be at least 1');
    await observer.put('/api/report-days').send({ reportDays: 5 }).expect(403);
    await coordinator.put('/api/report-days').send({ reportDays: 5 }).expect(200);
    expect((await coordinator.get('/api/report-days')).body).toEqual({ reportDays: 5 });
    expect(await overdueIn()).toEqual({ desk: false, own: false, games: false, list: false, days: 5 });
    expect((await desk(observer)).text).toContain('Due until');
  });

  test('a reply waits for its ruling, and the official reads what came of it', async () => {
    const { markId } = await released();
    expect((await desk(official)).menu).toEqual({ '/desk': 1, '/my/marks': 1 });
    expect(await waits()).toEqual([]);
    await form(official, `/observations/${markId}/reply`, { text: 'I had to give ground.' });
    const { waits: waiting, html } = await desk(coordinator);
    expect(waiting).toEqual(['reply to rule on']);
    expect((await desk(official)).text).toContain('Waiting for a ruling');
    const address = /href="(\/replies\/[0-9a-f-]{36})"/.exec(html)![1]!;
    await form(coordinator, address, { ruling: 'withdrawn', note: 'So it was.' });
    expect(await waits()).toEqual([]);
    const own = await desk(official);
    expect(own.text).toContain('The mark is withdrawn.');
    expect(own.text).not.toContain('Waiting for a ruling');
    expect(own.menu).toEqual({});
  });

  test('a place of this week is open until somebody is offered it; declined it waits for another', async () => {
    await confirmCrew();
    const { rows } = await database.pool.query<{ id: string }>(
      `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
       SELECT conference_id, season_id, 'soon', week, now() + interval '2 hours', visiting_team_id, home_team_id, venue_id
         FROM game WHERE conference_id = $1 AND id = $2 RETURNING id`,
      [game.conferenceId, game.gameId],
    );
    const address = `/observers/games/${rows[0]!.id}/place`;
    expect((await desk(coordinator)).menu).toEqual({ '/desk': 1, '/observers': 1 });
    expect(await waits()).toEqual(['open place']);
    const offerTo = (observerId: string) =>
      form(coordinator, address, { pick: `${observerId}|film`, reason: 'asked by telephone' });
    await offerTo(game.observerId);
    expect(await waits()).toEqual([]);

    const own = await desk(observer);
    expect(own.text).toContain('Can you go? Home at Visitors');
    expect(own.menu['/my/assignments']).toBe(1);
    const answer = /action="(\/my\/assignments\/[0-9a-f-]+\/answer)"/.exec(own.html)![1]!;
    const { headers } = await form(observer, answer, {
      answer: 'declined',
      reason: 'a wedding',
      next: '/desk',
    });
    expect(headers.location).toBe('/desk');
    expect((await desk(observer)).text).not.toContain('Can you go?');
    const waiting = await desk(coordinator);
    expect(waiting.waits).toEqual(['observer declined']);
    expect(waiting.text).toContain('Test Observer declined (a wedding). One observer is wanted.');
    await offerTo(game.secondObserverId);
    expect(await waits()).toEqual([]);
  });

  test('mail that failed waits until it is sent again', async () => {
    await confirmCrew();
    const { email } = await makePerson(database.pool, game.conferenceId, ['official']);
    mail.refuse.set(email, { code: 550, words: 'No such mailbox here' });
    const invite = async () => {
      await form(coordinator, '/people/invitations', { group: 'not invited yet', how: 'e-mail' });
      await app.outbox.idle();
    };
    await invite();
    const { waits: waiting, text } = await desk(coordinator);
    expect(waiting).toEqual(['mail that failed']);
    expect(text).toContain(
      'An invitation to Test Person could not be sent, because the mail server refused the address',
    );
    mail.refuse.clear();
    await invite();
    expect(await waits()).toEqual([]);
  });
});

describe('worth a look', () => {
  const look = async () => (await desk(coordinator)).look;

  test('a log that gives too little, while its report is reviewed', async () => {
    await confirmCrew();
    const { reportId } = await begun();
    await file(reportId);
    const ask = (decidedShare: number) =>
      coordinator.put('/api/decided-share').send({ decidedShare }).expect(200);
    await ask(100);
    expect(await look()).toEqual(['thin log']);
    await ask(0);
    expect(await look()).toEqual([]);
  });

  test('letters of an older template, released ones too, until they are made again; those a ruling overtakes', {
    tags: ['long'],
  }, async () => {
    const { markId } = await released();
    const letters = `/seasons/${game.seasonId}/letters`;
    const make = async () => {
      await coordinator
        .post(`/api${letters.replace('/letters', '/letter-batches')}`)
        .send({ kind: 'end-of-season', personIds: [game.crew.umpire] })
        .expect(202);
      await app.letterWork.idle();
    };
    await make();
    expect(await look()).toEqual([]);
    await coordinator
      .put('/api/letter-templates/end-of-season')
      .send({ body: '# Evaluation of {{official.name}}\n' })
      .expect((answer) => expect(answer.status, answer.text).toBeLessThan(300));
    expect((await desk(coordinator)).text).toContain(
      'The letter of Test umpire was made with an older template.',
    );
    await make();
    expect(await look()).toEqual([]);

    await form(coordinator, `${letters}/release`, { kind: 'end-of-season', mail: 'no' });
    expect((await desk(official)).text).toContain('End-of-season evaluation Your letter is there to read.');
    await form(official, `/observations/${markId}/reply`, { text: 'I had to give ground.' });
    const [, address] = /href="(\/replies\/[0-9a-f-]{36})"/.exec((await desk(coordinator)).html)!;
    await form(coordinator, address!, { ruling: 'withdrawn', note: '' });
    expect((await desk(coordinator)).text).toContain('was overtaken by a ruling since the release.');
    await make();
    expect(await look()).toEqual([]);
    await form(coordinator, `${letters}/release`, { kind: 'end-of-season', mail: 'no' });
    expect(await look()).toEqual([]);
    await coordinator
      .put('/api/letter-templates/end-of-season')
      .send({ body: '# Evaluation of {{official.name}}\n\nOnce more.\n' })
      .expect((answer) => expect(answer.status, answer.text).toBeLessThan(300));
    expect((await desk(coordinator)).text).toContain('was made with an older template.');
  });

  test('a development point, until the official is told; the official sees it from then on', async () => {
    await released();
    const opened = await form(coordinator, `/seasons/${game.seasonId}/development-points`, {
      personId: game.crew.umpire,
      position: 'umpire',
      dutyKey: everybodysDuty.key,
      text: '',
    });
    const address = opened.headers.location!;
    expect(await look()).toEqual(['development point']);
    expect((await desk(official)).text).not.toContain(everybodysDuty.title);
    const today = new Date().toISOString().slice(0, 10);
    const told = (happenedOn: string) =>
      form(coordinator, `${address}/steps`, { kind: 'conversation', happenedOn, text: 'We looked at it.' });
    await told(today);
    expect(await look()).toEqual([]);
    expect((await desk(official)).text).toContain(`What I work on ${everybodysDuty.title} since`);
    expect((await desk(other)).text).not.toContain(everybodysDuty.title);
    // A month later: two games have been counted since.
    await database.pool.query(
      'UPDATE development_step SET happened_on = happened_on - 30 WHERE conference_id = $1',
      [game.conferenceId],
    );
    await database.pool.query(
      `WITH again AS (
         INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
         SELECT conference_id, season_id, 'again', 1, kickoff, visiting_team_id, home_team_id, venue_id
           FROM game WHERE conference_id = $1 AND id = $2 RETURNING id)
       INSERT INTO game_count
       SELECT c.* FROM again, game_count n,
              LATERAL jsonb_populate_record(n, jsonb_build_object('game_id', again.id)) c
        WHERE n.conference_id = $1 AND n.game_id = $2`,
      [game.conferenceId, game.gameId],
    );
    expect(await look()).toEqual(['development point']);
    await told(today);
    expect(await look()).toEqual([]);
  });
});

test('nobody’s desk shows what is another’s', async () => {
  await released();
  const html = (await desk(other)).html;
  expect(html).not.toContain('umpire');
  expect((await desk(other)).text).toContain('nothing was marked');
  const { text } = await desk(
    await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.secondObserverId }),
  );
  expect(text).toContain('Nothing waits for you.');
  expect(text).not.toContain('Visitors at Home');
});

test('an empty desk says what comes next', async () => {
  await confirmCrew();
  expect((await desk(coordinator)).text).toContain('All games of the season are played');
  expect((await desk(official)).text).toContain('No report about you has been released yet.');
  await database.pool.query(`UPDATE game SET kickoff = now() + interval '3 days' WHERE conference_id = $1`, [
    game.conferenceId,
  ]);
  expect((await desk(coordinator)).text).toContain('Week 1 comes next, with 1 game.');
  expect((await desk(observer)).text).toContain('Your next game is above');
});
