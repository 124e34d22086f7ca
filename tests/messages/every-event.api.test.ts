// @module-tag long
import type { FastifyInstance } from 'fastify';
import type { ParsedMail } from 'mailparser';
import supertest from 'supertest';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type Kind, kinds } from '../../server/messages/kinds.ts';
import { remindObservers } from '../../server/observers/assignment-messages.ts';
import { tellOfClosingWindows } from '../../server/reports/review/reply-messages.ts';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';
import { decidedSelection } from '../support/decided-selection.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// One conference from its first invitation to a letter. Every event is done as its person does it, and what is told of
// it is received by a real SMTP server on loopback and read by an independent parser (mailparser).

let database: TestDatabase;
let app: FastifyInstance;
let mail: MailServer;
let game: OneGame;
let coordinator: SignedInAgent;
let observer: SignedInAgent;
let umpire: SignedInAgent;
const publicUrl = 'https://grades.example.test';
const addressOf: Record<string, string> = {};

beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url, PUBLIC_URL: publicUrl });
  game = await oneGame(database.pool, 30);
  const { rows } = await database.pool.query<{ id: string; email: string }>('SELECT id, email FROM person');
  for (const { id, email } of rows) addressOf[id] = email;
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  coordinator = await as(game.coordinatorId);
  observer = await as(game.observerId);
  umpire = await as(game.crew.umpire!);
});
afterAll(async () => {
  await app.close();
  await mail.close();
  await database.drop();
});

const must: ReadonlySet<Kind> = new Set([
  ...(['invitation', 'password link', 'second factor', 'withdrawal', 'postseason offer withdrawn'] as const),
  'postseason answer recorded' as const,
]);

let seen = 0;

/** What was told since the last time: exactly one mail of the kind to each of these, and nothing else. */
async function told(kind: Kind, personIds: readonly string[], subject: RegExp): Promise<ParsedMail> {
  app.outbox.wake();
  await app.outbox.idle();
  const arrived = mail.arrived.slice(seen);
  seen = mail.arrived.length;
  const addressees = arrived.map(({ to }) => [to].flat()[0]!.value[0]!.address!);
  expect(addressees.sort(), kind).toEqual(personIds.map((id) => addressOf[id]).sort());
  for (const one of arrived) {
    expect(one.subject).toMatch(subject);
    expect(one.headers.get('auto-submitted')).toBe('auto-generated');
    // RFC 8058, section 3.1: both headers, the first with an https address; not where nothing can be stopped.
    const list = one.headers.get('list') as { unsubscribe?: { url: string } } | undefined;
    if (must.has(kind)) expect(list?.unsubscribe).toBeUndefined();
    else {
      expect(list?.unsubscribe?.url).toMatch(/^https:\/\/grades\.example\.test\/mail\/[\w-]{86}$/);
      expect(one.headers.get('list-unsubscribe-post') ?? JSON.stringify(list)).toMatch(/One-Click/);
    }
    // Both parts say the same, and whatever they link to is here.
    expect(one.text).toContain('Dear Test ');
    expect(one.html).toContain('Dear Test ');
    const links = (text: string) => new Set(text.match(/https?:\/\/[^\s"<>]+/g));
    expect(links(String(one.html).replaceAll('&amp;', '&').replaceAll('&#x3D;', '='))).toEqual(
      links(one.text!),
    );
    for (const link of links(one.text!)) expect(link.startsWith(`${publicUrl}/`), link).toBe(true);
  }
  // On the desk of each as well.
  for (const personId of personIds) {
    const { rows } = await database.pool.query<{ kind: string; mail: string }>(
      `SELECT kind, mail FROM message WHERE person_id = $1 ORDER BY happened_at DESC, id LIMIT 1`,
      [personId],
    );
    expect(rows[0]).toEqual({ kind, mail: 'sent' });
  }
  return arrived[0]!;
}

const form = (agent: SignedInAgent, address: string, fields: object) =>
  agent.post(address).type('form').send(fields).expect(303);
const linkIn = (one: ParsedMail, path: string) =>
  new RegExp(`${publicUrl}(/${path}/[\\w-]{43})`).exec(one.text!)![1]!;
const kickoff = (from: string) =>
  database.pool.query(`UPDATE game SET kickoff = date_trunc('minute', now() + $1::interval)`, [from]);
const offer = (mode: string) =>
  coordinator
    .post('/api/observer-assignments')
    .send({
      offer: [{ gameId: game.gameId, observerId: game.secondObserverId, mode }],
      reason: 'as it stands now',
    })
    .expect(204);
const answer = (link: string, how: string) =>
  supertest(app.server).post(link).type('form').send({ answer: how, reason: 'a wedding' }).expect(303);

/** A team asks about two plays: one is answered after all that can be asked of others, one is sent back. */
async function inquiries() {
  const { pool } = database;
  const { conferenceId, gameId } = game;
  const person = await makePerson(pool, conferenceId, ['team contact']);
  addressOf[person.personId] = person.email;
  await pool.query(
    `INSERT INTO team_contact (conference_id, person_id, team_id)
     SELECT conference_id, $2, visiting_team_id FROM game WHERE id = $1`,
    [gameId, person.personId],
  );
  // Within the window to ask; that the game moved is told to its observers, and is no matter here.
  await pool.query(`UPDATE game SET kickoff = now() - interval '1 day' WHERE id = $1`, [gameId]);
  app.outbox.wake();
  await app.outbox.idle();
  seen = mail.arrived.length;
  const contact = await inSessionOf(app, person);
  const ask = (at: number) =>
    contact
      .post('/api/my/inquiries')
      .send({
        ...{ gameId, playId: game.playIds[at], category: 'something else', question: 'Was it?', send: true },
      })
      .expect(201);
  const step = (id: string, body: object) =>
    coordinator.post(`/api/inquiries/${id}/steps`).send(body).expect(200);
  const { id } = (await ask(4)).body;
  const word = await told('inquiry', [game.coordinatorId], /^Inquiry 1 of Visitors: Visitors at Home$/);
  expect(word.text).not.toContain('Was it?');
  await step(id, { step: 'take up', decisive: true });
  await step(id, { step: 'ask the crew', personIds: [game.crew.referee], asked: 'What did you see?' });
  const statement = await told(
    'statement asked',
    [game.crew.referee!],
    /^Your statement about a play: Visitors at/,
  );
  expect(statement.text).not.toMatch(/Visitors asks|Was it/);
  await step(id, { step: 'ask a second reader', personId: game.observerId });
  await told('second reading asked', [game.observerId], /^A play to read a second time: Visitors at Home$/);
  const reading = { ruling: 'correct', words: 'Plainly so.' };
  await observer.put(`/api/inquiries/${id}/second-reading`).send(reading).expect(200);
  await step(id, { step: 'answer', ruling: 'correct', rule: 'Rule 7-1', reason: 'It was by rule.' });
  const answer = await told(
    'inquiry answered',
    [person.personId],
    /^Inquiry 1 is answered: Visitors at Home$/,
  );
  expect(answer.attachments[0]!.content.subarray(0, 5).toString()).toBe('%PDF-');
  const second = (await ask(5)).body;
  await told('inquiry', [game.coordinatorId], /^Inquiry 2 of Visitors: /);
  await step(second.id, { step: 'send back', because: 'not reviewable', reason: 'It is about no call.' });
  const back = await told(
    'inquiry sent back',
    [person.personId],
    /^Inquiry 2 is sent back: Visitors at Home$/,
  );
  expect(back.text!.replace(/\s+/g, ' ')).toContain('It is about no call.');
}

/** Sealed voting is told to the committee, but for who begins it. */
async function postseasonVote() {
  const { body } = await coordinator
    .post(`/api/seasons/${game.seasonId}/selections`)
    .send({ title: 'Finals' })
    .expect(201);
  await coordinator
    .post(`/api/selections/${body.id}/games`)
    .send({ name: 'Final', playedOn: '2199-12-12', crewSize: 4 })
    .expect(201);
  for (const personId of [game.coordinatorId, game.observerId])
    await form(coordinator, `/postseason/${body.id}/committee/members`, { personId });
  await form(coordinator, `/postseason/${body.id}/committee/begin`, {});
  const word = await told('vote asked', [game.observerId], /^Your vote is asked: Finals$/);
  expect(word.text).toContain(`/my/committee/${body.id}`);
}

/** Whether quizzes count is told to every official; a quiz and a clinic to those whom they are for. */
async function quizzesAndClinics() {
  await form(coordinator, `/seasons/${game.seasonId}/quizzes/weight`, { percent: '10' });
  const officials = await database.pool.query<{ id: string }>(
    `SELECT r.person_id AS id FROM person_role r JOIN person p ON p.id = r.person_id AND p.active WHERE r.role = 'official'`,
  );
  await told(
    'quizzes count',
    officials.rows.map(({ id }) => id),
    /^Quizzes count 10 % in /,
  );
  const forOne = { audience: 'positions', positions: ['back judge'] };
  const question = {
    label: '1',
    text: 'Right?',
    choices: ['Yes', 'No'],
    answer: 0,
    code: 'college',
    rule: '1-1',
  };
  const { body: written } = await coordinator.post('/api/quiz-questions').send(question).expect(201);
  const { body: quiz } = await coordinator
    .post(`/api/seasons/${game.seasonId}/quizzes`)
    .send({
      ...{ title: 'August rules', minutes: 20, starts: 2, questions: [written.id], ...forOne },
      ...{ opensAt: '2099-08-01T12:00:00Z', closesAt: '2099-08-08T12:00:00Z' },
    })
    .expect(201);
  await coordinator.post(`/api/quizzes/${quiz.id}/announce`).expect(200);
  const word = await told('quiz', [game.crew['back judge']!], /^A quiz for you: August rules$/);
  expect(word.text!.replace(/\s+/g, ' ')).toContain('the best sitting counts');
  expect(word.text).toContain('quizzes together 10 %');
  const { body: clinic } = await coordinator
    .post(`/api/seasons/${game.seasonId}/clinics`)
    .send({ title: 'Summer clinic', heldOn: '2099-07-01', ...forOne })
    .expect(201);
  await told('clinic', [game.crew['back judge']!], /^A clinic for you: Summer clinic$/);
  await form(coordinator, `/clinics/${clinic.id}/delete`, {});
  const gone = await told('clinic', [game.crew['back judge']!], /^Called off: Summer clinic$/);
  expect(gone.text).toContain('You need not come');
}

/** A place at a game after the season: offered, with more time to answer, declined; and offered to another, withdrawn. */
async function postseasonOffers() {
  const { crew } = game;
  const [referee, back] = [crew.referee!, crew['back judge']!];
  const { id, gameId } = await decidedSelection(database.pool, coordinator, game.seasonId, {
    ...{ title: 'Bowls', playedOn: '2199-12-05', choices: { referee, 'alternate 1': back } },
  });
  const at = `/api/selections/${id}/offers`;
  const { body } = await coordinator
    .post(at)
    .send({ answerBy: '2199-11-28', embargoUntil: '2199-11-30T18:00' })
    .expect(201);
  const word = await told('postseason offer', [referee, back], /^Will you work Bowls final\?$/);
  const words = word.text!.replace(/\s+/g, ' ');
  expect(words).toContain('Answer by: the end of November 28, 2199');
  expect(words).toMatch(/Please keep it to yourself until .*Nov 30, 2199/);
  const of = (personId: string) =>
    body.find(({ officialId }: { officialId: string }) => officialId === personId).id as string;
  await coordinator
    .put(`${at}/${of(referee)}/answer-by`)
    .send({ answerBy: '2199-12-01' })
    .expect(200);
  await told('postseason offer', [referee], /^More time to answer: Bowls final$/);
  const official = await inSessionOf(app, { conferenceId: game.conferenceId, personId: referee });
  await official
    .post(`/api/my/postseason-offers/${of(referee)}/answer`)
    .send({ answer: 'declined', reason: 'A wedding.' })
    .expect(200);
  const declined = await told('postseason offer declined', [game.coordinatorId], / declined Bowls final$/);
  expect(declined.text).toContain('A wedding.');
  // The alternate takes the place: one new offer, whose answer comes by telephone; then the game is off.
  const up = { gameId, slot: 'referee', alternate: 'alternate 1', reason: 'Named for this.' };
  const { body: offers } = await coordinator.post(`${at}/move-up`).send(up).expect(201);
  await told('postseason offer', [back], /^You move up at Bowls final: will you work it\?$/);
  const { id: last } = offers.at(-1);
  await coordinator
    .post(`${at}/${last}/recorded-answer`)
    .send({ answer: 'accepted', note: 'Told the office on Monday.' })
    .expect(200);
  const recorded = await told(
    'postseason answer recorded',
    [back],
    /^Written down for you: accepted, Bowls final$/,
  );
  expect(recorded.text!.replace(/\s+/g, ' ')).toContain('Told the office on Monday.');
  await coordinator.post(`${at}/${last}/withdrawal`).send({ reason: 'The game is off.' }).expect(200);
  const withdrawn = await told('postseason offer withdrawn', [back], /^Taken back: Bowls final$/);
  expect(withdrawn.text!.replace(/\s+/g, ' ')).toContain('do not travel. Reason: The game is off.');
}

test('mail is received for every event, by those whom it concerns and nobody else, once', async () => {
  // An account: invited, and come.
  const [newcomer] = Object.values(game.crew);
  await form(coordinator, `/people/${newcomer}/send-invitation`, {});
  const invitation = await told('invitation', [newcomer!], /^Test Conference: your invitation$/);
  await supertest(app.server)
    .post(linkIn(invitation, 'invitation'))
    .type('form')
    .send({ password: 'whistle under wet boots', repeated: 'whistle under wet boots' })
    .expect(303);
  await supertest(app.server)
    .post('/forgotten-password')
    .type('form')
    .send({ email: addressOf[newcomer!] })
    .expect(200);
  const password = await told('password link', [newcomer!], /^Test Conference: choose a new password$/);
  await supertest(app.server).get(linkIn(password, 'new-password')).expect(200);

  await database.pool.query(
    `INSERT INTO second_factor (conference_id, person_id, secret, confirmed_at) VALUES ($1, $2, 'AAAA', now())`,
    [game.conferenceId, newcomer],
  );
  await form(coordinator, `/people/${newcomer}/second-factor/reset`, {});
  await told('second factor', [newcomer!], /^Test Conference: your second factor was reset$/);

  // A game to come. Both observers stand on it; one is taken back, which is told though they had accepted.
  await database.pool.query(`DELETE FROM observer_assignment WHERE observer_id = $1`, [
    game.secondObserverId,
  ]);
  await kickoff('10 days');
  await told('change', [game.observerId], /^Changed: Visitors at Home$/);
  await offer('in person');
  const offered = await told('offer', [game.secondObserverId], /^Will you observe Visitors at Home\?$/);
  await offer('film');
  await told('change', [game.secondObserverId], /^Changed: Visitors at Home$/);
  await answer(linkIn(offered, 'answer'), 'declined');
  const declined = await told('declined', [game.coordinatorId], /^Test Other declined Visitors at Home$/);
  expect(declined.text).toContain('a wedding');
  await offer('in person');
  const again = await told('offer', [game.secondObserverId], /^Will you observe Visitors at Home\?$/);
  await answer(linkIn(again, 'answer'), 'accepted');
  await kickoff('2 days');
  await told('change', [game.observerId, game.secondObserverId], /^Changed: /);
  await remindObservers(database.pool);
  await told('reminder', [game.observerId, game.secondObserverId], /^Coming up: Visitors at Home$/);
  const { rows } = await database.pool.query('SELECT id FROM observer_assignment WHERE observer_id = $1', [
    game.secondObserverId,
  ]);
  await form(coordinator, `/observers/assignments/${rows[0].id}/withdraw`, {});
  const taken = await told('withdrawal', [game.secondObserverId], /^Taken back: Visitors at Home$/);
  expect(taken.text!.replace(/\s+/g, ' ')).toContain('so do not travel');

  // Played. The report is late, filed, returned, filed again and released.
  await kickoff('-5 days');
  await told('change', [game.observerId], /^Changed: /);
  await form(coordinator, `/games/${game.gameId}/remind`, { observerId: game.observerId, next: '/desk' });
  await form(coordinator, `/games/${game.gameId}/remind`, { observerId: game.observerId, next: '/desk' });
  await told('reminder', [game.observerId], /^Your report: Visitors at Home$/);
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
  await form(
    coordinator,
    `/games/${game.gameId}/crew`,
    Object.fromEntries(Object.entries(game.crew).map(([position, id]) => [`member-${position}`, id])),
  );
  await observer.post(`/api/reports/${reportId}/file`).expect(200);
  await told('filed', [game.coordinatorId], /^Filed by .+: Visitors at Home$/);
  await form(coordinator, `/reports/${reportId}/return`, { reason: 'Play 4\n-> has: /no-spot' });
  const returned = await told('returned', [game.observerId], /^Came back to you: Visitors at Home$/);
  // What somebody typed makes no link of its own.
  expect(returned.text).toContain('Reason: Play 4 -> has: /no-spot');
  await observer.post(`/api/reports/${reportId}/file`).expect(200);
  await told('filed', [game.coordinatorId], /^Filed by /);
  await form(coordinator, `/reports/${reportId}/accept`, {});
  await form(coordinator, `/reports/${reportId}/release`, {});
  const crew = Object.values(game.crew);
  await told('released', crew, /^Your evaluation: Visitors at Home$/);

  // The time to answer ends soon, the umpire answers, and the coordinator rules. Two servers look at once.
  await database.pool.query(
    `UPDATE report SET released_at = now() - interval '6 days', reply_until = now() + interval '1 day'`,
  );
  await Promise.all([tellOfClosingWindows(database.pool), tellOfClosingWindows(database.pool)]);
  const closing = await told('window closing', [game.crew.umpire!], /^Until .+: Visitors at Home$/);
  expect(closing.text!.replace(/\s+/g, ' ')).toContain('1 mark has no answer of yours');
  await form(umpire, `/observations/${markId}/reply`, { text: 'I had to give ground.' });
  const reply = await told('reply', [game.coordinatorId], /^A reply to rule on: Visitors at Home$/);
  const [, replyId] = /\/replies\/([0-9a-f-]{36})/.exec(reply.text!)!;
  await form(coordinator, `/replies/${replyId}`, { ruling: 'withdrawn', note: '' });
  const ruling = await told('ruling', [game.crew.umpire!], /^Ruled on: Visitors at Home, play 3$/);
  expect(ruling.text!.replace(/\s+/g, ' ')).toContain('the mark is withdrawn');

  // The letter.
  await coordinator
    .post(`/api/seasons/${game.seasonId}/letter-batches`)
    .send({ kind: 'mid-season', personIds: [game.crew.umpire] })
    .expect(202);
  await app.letterWork.idle();
  await coordinator
    .post(`/api/seasons/${game.seasonId}/letters/release`)
    .send({ kind: 'mid-season', mail: 'attached' })
    .expect(200);
  const letter = await told(
    'letter',
    [game.crew.umpire!],
    /^Test Conference: your Mid-season evaluation Season$/,
  );
  expect(letter.attachments[0]!.content.subarray(0, 5).toString()).toBe('%PDF-');

  await trainingIsTold();
  await inquiries();
  await postseasonVote();
  await quizzesAndClinics();
  await postseasonOffers();

  // Every kind there is was mailed, and the outbox kept no link that lets anybody in.
  const all = await database.pool.query<{ kind: string }>(
    `SELECT DISTINCT kind FROM message WHERE mail = 'sent'`,
  );
  expect(all.rows.map(({ kind }) => kind).sort()).toEqual([...kinds].sort());
  const kept = await database.pool.query<{ row: string }>(
    'SELECT row_to_json(m)::text AS row FROM message m',
  );
  const tokens = mail.arrived.flatMap(({ text }) => text!.match(/(?<=\/)[\w-]{43}(?=\s)/g) ?? []);
  expect(tokens.length).toBeGreaterThan(4);
  for (const { row } of kept.rows) for (const token of tokens) expect(row).not.toContain(token);

  // Each reads their own, newest first; opening one is reading it. Nobody reads another's.
  const inbox = (await umpire.get('/api/my/messages').expect(200)).body;
  expect(inbox.messages.map(({ kind }: { kind: string }) => kind)).toEqual([
    ...['quizzes count', 'training reminder', 'training', 'objection decided', 'shown in training'],
    ...['letter', 'ruling', 'window closing', 'released'],
  ]);
  expect(inbox.unread).toBe(9);
  const desk = (await umpire.get('/desk').expect(200)).text;
  expect(desk).toContain('9 new messages');
  const first = inbox.messages.find(({ kind }: { kind: string }) => kind === 'letter');
  expect((await umpire.get(`/messages/${first.id}`).expect(200)).text).toContain('Mid-season evaluation');
  await observer.get(`/messages/${first.id}`).expect(404);
  expect((await umpire.get('/desk')).text).toContain('8 new messages');
  await form(umpire, '/messages/read', { next: '/desk' });
  expect((await umpire.get('/messages?show=unread')).text).toContain('You have read everything.');
  // The person whose password it is was not let in by what stands on the desk.
  const { rows: shown } = await database.pool.query<{ id: string }>(
    `SELECT id FROM message WHERE kind = 'password link'`,
  );
  const own = await inSessionOf(app, { conferenceId: game.conferenceId, personId: newcomer! });
  expect((await own.get(`/messages/${shown[0]!.id}`).expect(200)).text).not.toContain('/new-password/');
});

/** A program: who is shown objects and is answered, then its audience is told, and reminded. */
async function trainingIsTold() {
  const { body: program } = await coordinator
    .post(`/api/seasons/${game.seasonId}/training-programs`)
    .send({ title: 'Eyes up', goal: 'Eyes on players.', audience: 'position', audiencePosition: 'umpire' })
    .expect(201);
  const at = `/api/training-programs/${program.id}`;
  const playId = game.playIds[2]!;
  await coordinator
    .post(`${at}/plays`)
    .send({ playId, dutyKey: everybodysDuty.key, position: 'umpire', showing: 'bad' })
    .expect(201);
  await coordinator.post(`${at}/telling`).send({ days: 1 }).expect(200);
  const shown = await told('shown in training', [game.crew.umpire!], /^Before it is released: you are shown/);
  expect(shown.text).toContain('One play in which you worked is chosen');
  await umpire
    .post(`/api/my/shown-in-training/${program.id}/${playId}/objection`)
    .send({ reason: 'No.' })
    .expect(204);
  await told('objection', [game.coordinatorId], /^Objection: Eyes up$/);
  await coordinator
    .post(`${at}/decisions`)
    .send({ playId, officialId: game.crew.umpire, decision: 'shown', reason: 'Nobody is named.' })
    .expect(204);
  const decided = await told('objection decided', [game.crew.umpire!], /^Your objection: Eyes up$/);
  expect(decided.text).toContain('Reason: Nobody is named.');
  const { version } = (await coordinator.get(at)).body;
  await coordinator.post(`${at}/editions`).send({ version }).expect(201);
  await told('training', [game.crew.umpire!], /^To watch: Eyes up$/);
  await coordinator.post(`${at}/editions/1/reminders`).send({}).expect(200);
  await told('training reminder', [game.crew.umpire!], /^Still to watch: Eyes up$/);
}
