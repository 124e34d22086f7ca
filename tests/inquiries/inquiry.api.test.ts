// @module-tag long
import { execFileSync } from 'node:child_process';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { verifyAudit } from '../../server/accounts/audit/audit-verification.ts';
import { type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A conference from nothing: its visiting team asks about plays of its one game, and is answered. Letters are read
// back by poppler (pdftotext) and qpdf, mails by mailparser. Limits are those proposed: three a week, 72 hours, five days.

let database: TestDatabase;
let app: FastifyInstance;
let mail: MailServer;
let season: TaughtSeason;
let coordinator: SignedInAgent;
let contact: SignedInAgent;
let umpire: SignedInAgent;
let reader: SignedInAgent;
let stranger: SignedInAgent;
let contactEmail: string;
const teamIds: Record<string, string> = {};

beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url, PUBLIC_URL: 'https://grades.example.test' });
  const { pool } = database;
  season = await taughtSeason(pool);
  const { conferenceId } = season;
  const as = (personId: string) => inSessionOf(app, { conferenceId, personId });
  await pool.query("INSERT INTO team (conference_id, name) VALUES ($1, 'Bystanders')", [conferenceId]);
  for (const { id, name } of (
    await pool.query('SELECT id, name FROM team WHERE conference_id = $1', [conferenceId])
  ).rows)
    teamIds[name] = id;
  const contactOf = async (team: string) => {
    const person = await makePerson(pool, conferenceId, ['team contact'], {
      familyName: `Speaker of ${team}`,
    });
    await pool.query('INSERT INTO team_contact (conference_id, person_id, team_id) VALUES ($1, $2, $3)', [
      ...[conferenceId, person.personId, teamIds[team]],
    ]);
    return person;
  };
  const visitors = await contactOf('Visitors');
  contactEmail = visitors.email;
  contact = await as(visitors.personId);
  stranger = await as((await contactOf('Bystanders')).personId);
  coordinator = await as(season.coordinatorId);
  umpire = await as(season.crew.umpire!);
  reader = await as(season.secondObserverId);
  await kickedOff(24);
});
afterAll(async () => {
  await app.close();
  await mail.close();
  await database.drop();
});

/** Moves the game's kickoff to so many hours ago. */
const kickedOff = (hours: number) =>
  database.pool.query(
    'UPDATE game SET kickoff = now() - make_interval(secs => $2::float8 * 3600) WHERE id = $1',
    [season.gameId, hours],
  );
const about = (number: number, more: object = {}) => ({
  gameId: season.gameId,
  playId: season.playIds[number - 1],
  category: 'a foul that was not called',
  film: 'Our end zone view, 0:42:10',
  question: `Was play ${number} a foul?`,
  ...more,
});
const ask = (body: object) => contact.post('/api/my/inquiries').send({ send: true, ...body });
const step = (id: string, body: object) => coordinator.post(`/api/inquiries/${id}/steps`).send(body);
/** The version that the page which a coordinator has before them sends along. */
const seenAt = async (id: string) =>
  /name="seen" value="(\d+)"/.exec((await coordinator.get(`/inquiries/${id}`)).text)![1]!;
const kept = async () =>
  (
    await database.pool.query('SELECT count(*)::int AS n FROM inquiry WHERE conference_id = $1', [
      season.conferenceId,
    ])
  ).rows[0].n as number;
const sentence = ({ body }: { body: { detail: string } }) => body.detail;

test('what does not fit is refused with one sentence that names the field, and nothing of it is kept', async () => {
  const elsewhere = await stranger.post('/api/my/inquiries').send({ ...about(1), send: true });
  expect([elsewhere.status, elsewhere.body.errors]).toEqual([
    400,
    [{ field: 'gameId', message: 'This is no game of Bystanders: a team asks about its own games.' }],
  ]);
  const nowhere = await ask(about(1, { playId: null, quarter: 1, clock: '0:01' }));
  expect([nowhere.status, nowhere.body.errors[0].field]).toEqual([400, 'playId']);
  expect(nowhere.body.errors[0].message).toMatch(
    /^There is no play at Q1 0:01 in the log .*; nearest are “Q1 /,
  );
  expect((await ask(about(1, { question: '' }))).body.errors[0].field).toBe('question');
  expect((await ask(about(1, { category: null }))).body.errors[0].field).toBe('category');
  expect((await ask(about(1, { clock: 'soon' }))).status).toBe(400);
  await kickedOff(72.01);
  // Said before anybody writes, too.
  expect((await contact.get(`/my/inquiries/games/${season.gameId}`)).text).toContain(
    'what you write here can be kept, and not sent',
  );
  expect((await ask(about(1))).body.errors).toEqual([
    { field: 'gameId', message: expect.stringMatching(/^This is too late: .* 72 hours after kickoff/) },
  ]);
  await kickedOff(-1);
  expect((await ask(about(1))).body.errors[0].message).toContain('has not begun');
  await kickedOff(24);
  expect(await kept()).toBe(0);
});

test('a draft is the team’s alone; a page keeps what was written when it cannot be sent', async () => {
  const { body: draft } = await contact
    .post('/api/my/inquiries')
    .send({ gameId: season.gameId, quarter: 1, clock: '0:01' })
    .expect(201);
  expect(draft).toMatchObject({ state: 'draft', number: null, quarter: 1, clockSeconds: 1 });
  expect((await coordinator.get(`/api/inquiries/${draft.id}`)).status).toBe(404);
  expect((await stranger.get(`/my/inquiries/${draft.id}`)).status).toBe(404);
  const page = await contact.post(`/my/inquiries/${draft.id}`).type('form').send({
    quarter: '1',
    clock: '0:01',
    category: 'something else',
    question: 'Words that stay.',
    doing: 'send',
  });
  expect(page.status).toBe(422);
  expect(page.text).toContain('There is no play at Q1 0:01');
  expect(page.text).toContain('What you wrote is kept as a draft.');
  expect((await contact.get(`/api/my/inquiries/${draft.id}`)).body).toMatchObject({
    state: 'draft',
    question: 'Words that stay.',
  });
  await contact.delete(`/api/my/inquiries/${draft.id}`).expect(204);
  expect(await kept()).toBe(0);
});

test('a contact chooses among plays without who did what, and sees no crew', async () => {
  const { body } = await contact.get(`/api/my/inquiries/games/${season.gameId}/plays`).expect(200);
  expect(body).toHaveLength(40);
  expect(Object.keys(body[0]).sort()).toEqual([
    'clockSeconds',
    'distance',
    'down',
    'kind',
    'playId',
    'quarter',
  ]);
  expect((await stranger.get(`/api/my/inquiries/games/${season.gameId}/plays`)).status).toBe(404);
  const page = await contact.get(`/my/inquiries/games/${season.gameId}`).expect(200);
  for (const position of Object.keys(season.crew)) expect(page.text).not.toContain(position);
});

test('from question to letter: taken up, the crew asked in private, answered by rule, mailed, closed, counted', async () => {
  const before = await figures();
  const { body: inquiry } = await ask(about(1)).expect(201);
  expect(inquiry).toMatchObject({ state: 'received', number: 1, play: { playId: season.playIds[0] } });
  const due = (Date.parse(`${inquiry.dueOn}T12:00:00Z`) - Date.now()) / 86_400_000;
  expect(Math.round(due)).toBeGreaterThanOrEqual(4);
  expect(Math.round(due)).toBeLessThanOrEqual(5);
  const { id } = inquiry;

  await step(id, { step: 'take up' }).expect(200);
  expect(sentence(await step(id, { step: 'take up' }))).toBe(
    'This inquiry is taken up; only one that is received can be taken up.',
  );
  const outsider = await step(id, { step: 'ask the crew', personIds: [season.observerId], asked: 'What?' });
  expect(outsider.body.errors[0].field).toBe('personIds');
  await step(id, {
    step: 'ask the crew',
    personIds: [season.crew.umpire],
    asked: 'What did you see and do on this play?',
  }).expect(200);

  // The official learns of which play, not who asks or what; nobody else of the crew gets in.
  const page = await umpire.get(`/inquiries/${id}/statement`).expect(200);
  expect(page.text).toContain('What did you see and do on this play?');
  expect(page.text).not.toContain('Was play 1 a foul?');
  expect((await umpire.get('/desk')).text).toContain('The coordinator asks for your statement');
  const referee = await inSessionOf(app, { ...season, personId: season.crew.referee! });
  expect((await referee.get(`/inquiries/${id}/statement`)).status).toBe(404);
  await umpire
    .put(`/api/inquiries/${id}/statement`)
    .send({ text: 'I looked at the line and saw no hold.' })
    .expect(200);
  expect((await umpire.get('/desk')).text).not.toContain('The coordinator asks for your statement');
  const teams = await contact.get(`/my/inquiries/${id}`);
  expect(teams.text).not.toContain('I looked at the line');
  expect((await coordinator.get(`/inquiries/${id}`)).text).toContain('I looked at the line and saw no hold.');

  // A ruling without reason, or with a name, goes nowhere.
  const answer = {
    step: 'answer',
    ruling: 'incorrect',
    rule: 'Rule 9-3',
    reason: 'The hold was at the point of attack.',
  };
  expect((await step(id, { ...answer, reason: '' })).body.errors).toEqual([
    { field: 'reason', message: 'Give the reason: a ruling without one is not answered.' },
  ]);
  const named = await step(id, { ...answer, reason: 'The umpire and #52 were late.' });
  expect(named.body.errors[0].message).toContain('the shirt number “#52”');
  expect((await coordinator.get(`/api/inquiries/${id}`)).body.state).toBe('crew asked');
  await step(id, { step: 'review' }).expect(200);
  const seen = await seenAt(id);
  // On a host whose clock is ten minutes ahead of the database's.
  vi.useFakeTimers({ toFake: ['Date'], now: Date.now() + 600_000 });
  try {
    await step(id, answer).expect(200);
  } finally {
    vi.useRealTimers();
  }
  const again = await coordinator
    .post(`/inquiries/${id}`)
    .type('form')
    .send({ ...answer, seen });
  expect([again.status, again.text]).toEqual([
    422,
    expect.stringContaining('Nothing was sent a second time'),
  ]);

  await app.outbox.idle();
  const letters = mail.arrived.filter(({ subject }) => subject?.startsWith('Inquiry 1 is answered'));
  expect(letters.map(({ to }) => [to].flat()[0]!.value[0]!.address)).toEqual([contactEmail]);
  expect(letters[0]!.attachments[0]!.filename).toBe('inquiry-1-answer.pdf');
  const { body: pdf } = await contact
    .get(`/api/inquiries/${id}/answers/1/letter.pdf`)
    .buffer()
    .parse((res, done) => {
      const pieces: Buffer[] = [];
      res.on('data', (piece: Buffer) => pieces.push(piece));
      res.on('end', () => done(null, Buffer.concat(pieces)));
    })
    .expect(200);
  expect(letters[0]!.attachments[0]!.content.equals(pdf)).toBe(true);
  const text = textOf(pdf);
  for (const words of [
    'Inquiry 1: Visitors at Home',
    'Was play 1 a foul?',
    'The ruling on the field: incorrect.',
    'Rule 9-3',
    'The hold was at the point of attack.',
    'does not change the result',
  ])
    expect(text).toContain(words);
  // Nobody of the crew by name (each is "Test POSITION"), and nothing of how they are graded.
  expect(text.replaceAll('Test Conference', '')).not.toMatch(/grade|Test |statement|no hold/i);
  expect((await stranger.get(`/api/inquiries/${id}/answers/1/letter.pdf`)).status).toBe(404);
  expect((await umpire.get(`/api/inquiries/${id}/answers/1/letter.pdf`)).status).toBe(403);

  // What was released to the crew is theirs to read from then on.
  expect((await umpire.get(`/inquiries/${id}/statement`)).text).not.toContain('point of attack');
  await step(id, { step: 'release to the crew' }).expect(200);
  expect((await umpire.get(`/inquiries/${id}/statement`)).text).toContain('point of attack');
  expect(sentence(await umpire.put(`/api/inquiries/${id}/statement`).send({ text: 'Too late.' }))).toContain(
    'has its answer already',
  );

  await contact.post(`/api/my/inquiries/${id}/closing`).expect(200);
  const { body: counts } = await coordinator.get(`/api/seasons/${season.seasonId}/inquiry-counts`);
  expect(counts.at(-1)).toMatchObject({ category: 'all', all: 1, by: { incorrect: 1, open: 0 } });
  const csv = await coordinator.get(`/api/seasons/${season.seasonId}/inquiry-counts.csv`);
  expect(csv.text).toContain('a foul that was not called,0,1,0,0,0,0,1');
  // The number of inquiries, and their answers, touch no figure.
  expect(await figures()).toEqual(before);
});

test('the answer opens the report’s own way of correcting a mark, with the inquiry as its reason', async () => {
  const { body } = await contact.get('/api/my/inquiries');
  const page = await coordinator.get(`/inquiries/${body[0].id}`);
  const link = /href="(\/reports\/[^"]+\/marks\/[^"]+\?reason=[^"]+)"/.exec(page.text)![1]!;
  const form = await coordinator.get(link.replaceAll('&amp;', '&').replaceAll('&#x3D;', '=')).expect(200);
  expect(form.text).toContain('>Inquiry 1 of season Season</textarea>');
  const before = await figures();
  await coordinator
    .post(link.split('?')[0]!)
    .type('form')
    .send({ finding: 'done', comment: 'Looked at the ball.', reason: 'Inquiry 1 of season Season' })
    .expect(303);
  const { rows } = await database.pool.query(
    `SELECT reason FROM audit_entry WHERE conference_id = $1 AND subject_kind = 'report' ORDER BY number DESC LIMIT 1`,
    [season.conferenceId],
  );
  expect(rows[0].reason).toBe('Inquiry 1 of season Season');
  expect(await figures()).not.toEqual(before);
});

test('a decisive play waits for a second reader without a tie; a tied coordinator leaves it to others', async () => {
  const { body: inquiry } = await ask(about(2)).expect(201);
  const { id } = inquiry;
  await coordinator
    .post('/inquiries/ties')
    .type('form')
    .send({ teamId: teamIds.Home, kind: 'school tie' })
    .expect(303);
  expect(sentence(await step(id, { step: 'take up', decisive: true }))).toBe(
    'You declared a school tie with Home, so this inquiry is for another coordinator: it was left as it is.',
  );
  const { rows } = await database.pool.query('SELECT id FROM observer_conflict WHERE person_id = $1', [
    season.coordinatorId,
  ]);
  await coordinator.post(`/inquiries/ties/${rows[0].id}/take-back`).expect(303);
  await step(id, { step: 'take up', decisive: true }).expect(200);
  const answer = { step: 'answer', ruling: 'correct', rule: 'Rule 9-3', reason: 'No restriction.' };
  expect(sentence(await step(id, answer))).toContain('second reader looks at it before it is answered');
  await database.pool.query(
    `INSERT INTO observer_conflict (conference_id, person_id, kind, official_id) VALUES ($1, $2, 'family', $3)`,
    [season.conferenceId, season.observerId, season.crew.umpire],
  );
  const tied = await step(id, { step: 'ask a second reader', personId: season.observerId });
  expect(tied.body.errors[0].message).toContain('family with an official of the game');
  await step(id, { step: 'ask a second reader', personId: season.secondObserverId }).expect(200);
  expect((await reader.get('/desk')).text).toContain('read a play a second time');
  const reading = { ruling: 'supportable', words: 'It could be called.' };
  expect((await contact.put(`/api/inquiries/${id}/second-reading`).send(reading)).status).toBe(404);
  await reader.put(`/api/inquiries/${id}/second-reading`).send(reading).expect(200);
  expect((await step(id, answer)).body.errors[0].field).toBe('differs');
  // What was said of a name stays said while something else is still missing.
  const half = {
    ...answer,
    ruling: 'supportable',
    reason: '',
    rule: 'Rule 9-3, the umpire',
    namesMeant: 'yes',
  };
  const refused = await coordinator.post(`/inquiries/${id}`).type('form').send(half).expect(422);
  expect(refused.text).toContain('name="namesMeant" value="yes" checked');
  await step(id, { ...answer, differs: 'The end zone view decides it.' }).expect(200);
  expect((await contact.get(`/my/inquiries/${id}`)).text).not.toMatch(
    /It could be called|end zone view decides/,
  );

  // Reopened once, for new film only; then a second answer, and no more.
  expect(
    (await contact.post(`/api/my/inquiries/${id}/reopening`).send({ newFilm: ' ' })).body.errors[0].field,
  ).toBe('newFilm');
  const release = { step: 'release to the crew' };
  await step(id, release).expect(200);
  expect(sentence(await step(id, release))).toBe('The crew may read the answer already.');
  await contact.post(`/api/my/inquiries/${id}/reopening`).send({ newFilm: 'A third angle.' }).expect(200);
  expect((await coordinator.get(`/inquiries/${id}`)).text).toContain('name="decisive" value="yes" checked');
  await step(id, { step: 'take up', decisive: true }).expect(200);

  // Who reads it a second time has no tie when they read it, and does not answer it themselves.
  const { personId: colleagueId } = await makePerson(database.pool, season.conferenceId, ['coordinator']);
  const colleague = await inSessionOf(app, { conferenceId: season.conferenceId, personId: colleagueId });
  await step(id, { step: 'ask a second reader', personId: colleagueId }).expect(200);
  await colleague
    .post('/inquiries/ties')
    .type('form')
    .send({ teamId: teamIds.Home, kind: 'family' })
    .expect(303);
  const asReader = () => colleague.put(`/api/inquiries/${id}/second-reading`).send(reading);
  expect(sentence(await asReader())).toContain('You declared a family with Home');
  await database.pool.query('DELETE FROM observer_conflict WHERE person_id = $1', [colleagueId]);
  await asReader().expect(200);
  const byReader = await colleague
    .post(`/api/inquiries/${id}/steps`)
    .send({ ...answer, ruling: 'supportable' });
  expect(sentence(byReader)).toContain('another coordinator answers it: two people look at a play');
  const readers = (await colleague.get(`/inquiries/${id}`).expect(200)).text;
  expect(readers).toContain('You read this play as its second reader');
  expect(readers).not.toContain('id="answering"');
  // Nor does anybody handle what is asked of a game that they worked themselves.
  await database.pool.query(
    `INSERT INTO person_role (conference_id, person_id, role) VALUES ($1, $2, 'coordinator')`,
    [season.conferenceId, season.crew.referee],
  );
  const both = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.crew.referee!,
  });
  expect(
    sentence(await both.post(`/api/inquiries/${id}/steps`).send({ step: 'set decisive', decisive: false })),
  ).toContain('You worked this game yourself');
  const own = (await both.get(`/inquiries/${id}`).expect(200)).text;
  expect(own).toContain('You worked this game yourself, so this inquiry is for another coordinator.');
  expect(own).not.toContain('id="answering"');
  await step(id, { step: 'set decisive', decisive: false }).expect(200);
  await step(id, { ...answer, ruling: 'not to be determined' }).expect(200);
  // The second answer is released by itself, and closed by nobody with a tie.
  await step(id, release).expect(200);
  await coordinator
    .post('/inquiries/ties')
    .type('form')
    .send({ teamId: teamIds.Home, kind: 'school tie' })
    .expect(303);
  expect(sentence(await step(id, { step: 'close' }))).toContain('You declared a school tie with Home');
  await database.pool.query('DELETE FROM observer_conflict WHERE person_id = $1', [season.coordinatorId]);
  await step(id, { step: 'close' }).expect(200);
  const { body: twice } = await contact.get(`/api/my/inquiries/${id}`);
  expect(twice.answers.map(({ round, ruling }: Record<string, unknown>) => [round, ruling])).toEqual([
    [1, 'correct'],
    [2, 'not to be determined'],
  ]);
  expect(
    sentence(await contact.post(`/api/my/inquiries/${id}/reopening`).send({ newFilm: 'A fourth.' })),
  ).toContain('reopened once already');
});

test('a play that a team asked about is a candidate for training, and says why', async () => {
  const { body } = await coordinator.get(`/api/seasons/${season.seasonId}/training-candidates`).expect(200);
  const why = (playId: string) =>
    body
      .filter((one: { playId: string }) => one.playId === playId)
      .flatMap(({ reasons }: { reasons: { kind: string }[] }) => reasons.map(({ kind }) => kind));
  expect(why(season.playIds[0]!)).toContain('asked about by a team');
  expect(why(season.playIds[5]!)).not.toContain('asked about by a team');
  const { body: made } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send({ title: 'Asked', goal: 'What teams ask.', minutes: 10 })
    .expect(201);
  const { text } = await coordinator.get(`/training/programs/${made.id}/candidates`).expect(200);
  const [asked] = (await contact.get('/api/my/inquiries')).body;
  expect(text).toContain(`<a href="/inquiries/${asked.id}">asked about</a> by a team`);
});

test('a play with an open inquiry is not released in a training program; sent back, it may be', async () => {
  const { body: made } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send({ title: 'Eyes', goal: 'Eyes on players.', minutes: 10 })
    .expect(201);
  const { body: inquiry } = await ask(about(3)).expect(201);
  await coordinator
    .post(`/api/training-programs/${made.id}/plays`)
    .send({
      ...{ playId: season.playIds[2], dutyKey: 'everybodys-duty', position: 'line judge', showing: 'bad' },
    })
    .expect(201);
  const version = (await coordinator.get(`/api/training-programs/${made.id}`)).body.version;
  const release = () =>
    coordinator
      .post(`/api/training-programs/${made.id}/editions`)
      .send({ version, untoldBecause: 'They were told by telephone.' });
  const refused = await release();
  expect([refused.status, sentence(refused)]).toEqual([409, expect.stringContaining("a team's inquiry")]);
  const page = async () => (await coordinator.get(`/training/programs/${made.id}`).expect(200)).text;
  expect(await page()).toContain(`inquiry waits for <a href="/inquiries/${inquiry.id}">its answer</a>`);
  expect(await page()).not.toContain('a reply waits for');
  expect(
    (await step(inquiry.id, { step: 'send back', because: 'late', reason: '' })).body.errors[0].field,
  ).toBe('reason');
  await step(inquiry.id, {
    step: 'send back',
    because: 'not reviewable',
    reason: 'It is about no call.',
  }).expect(200);
  expect(await page()).not.toContain('inquiry waits for');
  await release().expect(201);
  expect((await contact.get(`/my/inquiries/${inquiry.id}`)).text).toContain('It is about no call.');
});

test('the same, sent twice at once or once more, is one inquiry and counts once', async () => {
  const before = await kept();
  const both = await Promise.all([ask(about(4)), ask(about(4))]);
  expect(both.map(({ status }) => status)).toEqual([201, 201]);
  expect(both[0].body.id).toBe(both[1].body.id);
  const { id } = both[0].body;
  const fields = { ...about(4), doing: 'send' };
  const page = await contact.post(`/my/inquiries/games/${season.gameId}`).type('form').send(fields);
  expect([page.status, page.headers.location]).toEqual([303, `/my/inquiries/${id}?done=already`]);
  expect((await contact.get(page.headers.location!)).text).toContain('so it stays one inquiry');
  // A draft's form sent twice: the second time it is no draft any more.
  const again = await contact.post(`/my/inquiries/${id}`).type('form').send(fields);
  expect([again.status, again.headers.location]).toEqual([303, `/my/inquiries/${id}?done=already`]);
  const other = await contact
    .post(`/my/inquiries/${id}`)
    .type('form')
    .send({ ...fields, question: 'Other words.' });
  expect(other.status).toBe(422);
  expect(other.text).toContain('Other words.');
  expect(await kept()).toBe(before + 1);
  const unknown = await ask(about(4, { playId: '00000000-0000-4000-8000-000000000000' }));
  expect(unknown.body.errors).toEqual([
    { field: 'playId', message: 'This play is not in the log of this game; choose another.' },
  ]);
  expect((await contact.get('/my/inquiries')).text).toContain('the second reader whom they choose');
});

test('of two coordinators who do something with an inquiry at once, the second is asked to look again', async () => {
  const { body } = await contact.get('/api/my/inquiries').expect(200);
  const { id } = body.find(({ state }: { state: string }) => state === 'received');
  const seen = await seenAt(id);
  const act = (fields: object) =>
    coordinator
      .post(`/inquiries/${id}`)
      .type('form')
      .send({ ...fields, seen });
  await act({ step: 'take up' }).expect(303);
  const late = await act({ step: 'send back', because: 'not reviewable', reason: 'Of no play.' });
  expect([late.status, late.text]).toEqual([422, expect.stringContaining('Somebody changed this inquiry')]);
  expect(late.text).toContain('Of no play.');
  expect((await coordinator.get(`/api/inquiries/${id}`)).body.state).toBe('taken up');
  await database.pool.query(
    `UPDATE inquiry SET state = 'received', taken_up_by = NULL, taken_up_at = NULL WHERE id = $1`,
    [id],
  );
});

test('a week takes three, not counting what was sent back; a closed season takes none and keeps what is there', async () => {
  const { body: third } = await ask(about(4)).expect(201);
  // One that was answered, reopened and then sent back was answered all the same.
  const become = (state: string, because: string | null, reopened: string) =>
    database.pool.query(
      `UPDATE inquiry SET state = $2, sent_back_because = $3, reopened_at = ${reopened} WHERE id = $1`,
      [third.id, state, because],
    );
  await become('sent back', 'not reviewable', 'now()');
  expect((await ask(about(5))).status).toBe(409);
  await become('received', null, 'NULL');
  const fourth = await ask(about(5));
  expect([fourth.status, sentence(fourth)]).toEqual([
    409,
    'Your team has asked about 3 plays of week 1, as many as the conference takes for one week.',
  ]);
  await coordinator
    .put('/api/inquiry-settings')
    .send({ aWeek: 10, windowHours: 72, answerDays: 5, notice: '' })
    .expect(200);
  const { body: last } = await ask(about(5)).expect(201);
  await database.pool.query(`UPDATE inquiry SET due_on = current_date - 3 WHERE id = $1`, [last.id]);
  const list = await coordinator.get('/inquiries');
  expect(list.text).toMatch(/Overdue[\s\S]*days late/);
  expect((await coordinator.get('/desk')).text).toContain('Overdue since');
  const { rows: answered } = await database.pool.query(
    `UPDATE inquiry SET state = 'answered', closed_at = NULL
      WHERE id = (SELECT id FROM inquiry WHERE season_id = $1 AND state = 'closed' AND reopened_at IS NULL LIMIT 1) RETURNING id`,
    [season.seasonId],
  );
  await database.pool.query(`UPDATE season SET state = 'closed', closed_at = now() WHERE id = $1`, [
    season.seasonId,
  ]);
  expect((await ask(about(6))).body.errors[0].message).toContain('Season Season is closed');
  expect(sentence(await step(last.id, { step: 'take up' }))).toBe(
    'Season Season is closed: its inquiries can be read, not changed.',
  );
  // What was answered is neither reopened nor closed any more.
  const there = `/api/my/inquiries/${answered[0].id}`;
  expect(sentence(await contact.post(`${there}/reopening`).send({ newFilm: 'End zone, 1:02' }))).toBe(
    'Season Season is closed: nothing is reopened in it any more.',
  );
  expect(sentence(await contact.post(`${there}/closing`).send({}))).toBe(
    'Season Season is closed: its inquiries can be read, not changed.',
  );
  expect((await contact.get('/my/inquiries')).text).toContain('season Season is closed');
  expect((await contact.get(`/my/inquiries/${last.id}`)).status).toBe(200);
  const client = await database.pool.connect();
  expect((await verifyAudit(client, season.conferenceId)).faults).toEqual([]);
  client.release();
});

/** What grades rest on: the season's revision of inputs, and the counts by game. */
async function figures() {
  const { rows } = await database.pool.query(
    `SELECT s.input_revision, (SELECT md5(string_agg(c::text, ',' ORDER BY c::text)) FROM game_count c
              WHERE c.conference_id = s.conference_id) AS counts FROM season s WHERE s.id = $1`,
    [season.seasonId],
  );
  return rows[0];
}

function textOf(pdf: Buffer): string {
  const file = path.join(mkdtempSync(path.join(tmpdir(), 'inquiry-')), 'letter.pdf');
  writeFileSync(file, pdf);
  execFileSync('qpdf', ['--check', file]);
  return execFileSync('pdftotext', ['-layout', file, '-']).toString().replaceAll(/\s+/g, ' ');
}
