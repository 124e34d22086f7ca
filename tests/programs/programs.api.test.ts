// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { ruleOnReply, writeReply } from '../../server/reports/review/replies.ts';
import { makeConference } from '../support/people.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { frame, releasedReport, type TaughtSeason, taughtSeason } from './taught-season.ts';

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
/** The same conference's other coordinator. */
let colleague: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
beforeEach(async () => {
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.coordinatorId,
  });
  colleague = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const programs = () => `/api/seasons/${season.seasonId}/training-programs`;
const open = async (over: object = {}) =>
  (
    await coordinator
      .post(programs())
      .send({ ...frame, ...over })
      .expect(201)
  ).body;
const at = (program: { id: string }) => `/api/training-programs/${program.id}`;
const now = async (program: { id: string }) => (await coordinator.get(at(program)).expect(200)).body;
const put = async (program: { id: string }, number: number, position: string, showing: string) =>
  (
    await coordinator
      .post(`${at(program)}/plays`)
      .send({ playId: season.playIds[number - 1], dutyKey: 'everybodys-duty', position, showing })
      .expect(201)
  ).body;
const reply = (key: string) => {
  const mark = season.marks.get(key)!;
  return inTransaction(database.pool, (client) =>
    writeReply(client, { conferenceId: season.conferenceId, personId: mark.personId }, mark.id, 'I saw it.'),
  );
};
const rule = (replyId: string, ruling: 'stands' | 'changed') =>
  inTransaction(database.pool, (client) =>
    ruleOnReply(
      client,
      { conferenceId: season.conferenceId, personId: season.coordinatorId },
      replyId,
      ruling === 'stands' ? { ruling, note: '' } : { ruling, changedTo: 'done', note: 'Seen again: done.' },
    ),
  );

const card = {
  topic: 'Eyes on players',
  aspect: 'position',
  showing: 'bad',
  position: 'umpire',
  dutyKey: 'everybodys-duty',
  answer: 'Step up and look through the pile.',
  ruleCited: '',
  mechanicCited: 'Section on dead-ball officiating',
  twoMechanics: true,
  firstKey: 'Feet still',
  secondKey: 'Eyes up',
  question: 'Where should the umpire look?',
  choices: [
    { text: 'At the players', right: true },
    { text: 'At the ball', right: false },
  ],
  narration: 'Watch the umpire after the whistle.',
  secondsBefore: 5,
  secondsAfter: 8,
};

test('candidates say why: topics, repeats, worth showing, observers who differed, changed rulings', async () => {
  const before = (await coordinator.get(`/api/seasons/${season.seasonId}/training-candidates`)).body;
  const of = (list: { number: number }[], number: number) =>
    list.find((one) => one.number === number) as never;
  const kinds = (one: { reasons: { kind: string }[] }) => one.reasons.map(({ kind }) => kind);
  // The only duty with misses is the costliest, a training topic by itself.
  expect(kinds(of(before, 1))).toEqual(['training topic']);
  expect(kinds(of(before, 2))).toEqual(['training topic', 'seen alike by two observers']);
  expect(kinds(of(before, 5))).toEqual(['training topic', 'worth showing']);
  expect(of(before, 4)).toMatchObject({ showing: 'to discuss', position: 'back judge', observers: 2 });
  expect(kinds(of(before, 4))).toEqual(['training topic', 'observers differed']);
  expect(of(before, 1)).toMatchObject({ showing: 'bad', officialId: season.crew.umpire, openReply: false });
  // Most is said for those worth showing.
  expect(before[0]).toMatchObject({ showing: 'good', points: 9 });

  const replyId = await reply('1 umpire');
  const waiting = (await coordinator.get(`/api/seasons/${season.seasonId}/training-candidates`)).body;
  expect(of(waiting, 1)).toMatchObject({ openReply: true });
  await rule(replyId, 'changed');
  const ruled = (await coordinator.get(`/api/seasons/${season.seasonId}/training-candidates`)).body;
  expect(of(ruled, 1)).toMatchObject({ openReply: false, showing: 'good' });
  expect(kinds(of(ruled, 1))).toContain('changed ruling');
});

test('a program is opened with its frame; what is wrong is named by its field', async () => {
  const refused = await coordinator
    .post(programs())
    .send({ title: ' ', goal: '', minutes: 500, audience: 'crew', dueOn: '2031-02-30' })
    .expect(400);
  const fields = refused.body.errors.map(({ field }: { field: string }) => field);
  expect(fields).toEqual(expect.arrayContaining(['body.title', 'body.goal', 'body.minutes', 'body.dueOn']));
  const noCrew = await coordinator
    .post(programs())
    .send({ ...frame, audience: 'crew', audienceCrewId: season.gameId })
    .expect(400);
  expect(noCrew.body.errors[0].field).toBe('audienceCrewId');
  const program = await open({ audience: 'position', audiencePosition: 'umpire', dueOn: '2031-08-01' });
  expect(program).toMatchObject({ ...frame, audiencePosition: 'umpire', dueOn: '2031-08-01', version: 1 });
  const list = (await coordinator.get(programs()).expect(200)).body;
  expect(list).toMatchObject([{ id: program.id, plays: 0, edition: 0, changedSince: false }]);
});

test('meters move with each play put in', async () => {
  const program = await open();
  await put(program, 1, 'umpire', 'bad');
  await put(program, 2, 'umpire', 'bad');
  const badly = await put(program, 4, 'back judge', 'to discuss');
  expect(badly.balance).toMatchObject({
    good: 0,
    bad: 3,
    enoughGood: false,
    secondsUsed: 48,
    secondsPlanned: 600,
  });
  expect(badly.balance.onlyBad.sort()).toEqual([season.crew.umpire, season.crew['back judge']].sort());
  await put(program, 5, 'umpire', 'good');
  await put(program, 6, 'line judge', 'good');
  const fair = await put(program, 7, 'back judge', 'good');
  expect(fair.balance).toMatchObject({ good: 3, bad: 3, enoughGood: true, onlyBad: [], tooOftenBad: [] });
  // Put in twice it is there once.
  expect((await put(program, 7, 'back judge', 'good')).plays).toHaveLength(6);
  await coordinator
    .post(`${at(program)}/plays`)
    .send({ playId: season.seasonId, position: 'umpire', showing: 'good' })
    .expect(400);
});

test('a proposal is the best there is, leaves out what waits for a ruling, and can be taken back', async () => {
  const replyId = await reply('1 umpire');
  const program = await open();
  const { body } = await coordinator
    .post(`${at(program)}/proposal`)
    .send({})
    .expect(200);
  expect(body.proposal).toMatchObject({ proven: true, short: 0, added: body.plays.length });
  const numbers = body.plays.map(({ playId }: { playId: string }) => season.playIds.indexOf(playId) + 1);
  expect(numbers).not.toContain(1);
  // All that may be shown: five good ones, two misses, and the one that observers saw differently.
  expect(numbers.toSorted()).toEqual([2, 3, 4, 5, 6, 7, 8, 9]);
  expect(body.balance).toMatchObject({ enoughGood: true, onlyBad: [] });
  expect([body.plays[0].showing, body.plays.at(-1).showing]).toEqual(['good', 'good']);

  const undone = await coordinator
    .post(`${at(program)}/undo`)
    .send({ version: body.version })
    .expect(200);
  expect(undone.body.plays).toEqual([]);
  const redone = await coordinator
    .post(`${at(program)}/undo`)
    .send({ version: undone.body.version })
    .expect(200);
  expect(redone.body.plays.map(({ playId }: { playId: string }) => playId)).toEqual(
    body.plays.map(({ playId }: { playId: string }) => playId),
  );
  await rule(replyId, 'stands');
  const more = await coordinator
    .post(`${at(program)}/proposal`)
    .send({})
    .expect(200);
  expect(more.body.proposal.added).toBe(1);
  const none = await coordinator
    .post(`${at(program)}/proposal`)
    .send({})
    .expect(409);
  expect(none.body.detail).toMatch(/Nothing can be put in/);
});

test('somebody seen on one play at two positions, because the crew was corrected between two reports, is two candidates', async () => {
  const { conferenceId, gameId, crew } = season;
  const { personId: observerId } = await personSignedIn(app, conferenceId, ['observer']);
  const { pool } = database;
  await pool.query(
    `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer) VALUES ($1, $2, $3, 'film', 'accepted')`,
    [conferenceId, gameId, observerId],
  );
  const swapped = { ...crew, umpire: crew['line judge']!, 'line judge': crew.umpire! };
  await inTransaction(pool, async (client) => {
    await client.query(`DELETE FROM working_crew_member WHERE conference_id = $1 AND game_id = $2`, [
      conferenceId,
      gameId,
    ]);
    await client.query(
      `INSERT INTO working_crew_member (conference_id, game_id, position, person_id)
       SELECT $1, $2, key, value::uuid FROM jsonb_each_text($3)`,
      [conferenceId, gameId, JSON.stringify(swapped)],
    );
  });
  await releasedReport(pool, { ...season, crew: swapped }, observerId, [[2, 'line judge', 'missed']]);
  const list = (await coordinator.get(`/api/seasons/${season.seasonId}/training-candidates`)).body;
  const ofPlay = list.filter((one: { number: number }) => one.number === 2);
  expect(
    ofPlay.map(({ position, officialId }: Record<string, string>) => [position, officialId]).toSorted(),
  ).toEqual([
    ['line judge', crew.umpire],
    ['umpire', crew.umpire],
  ]);
  // The choice takes them apart, and one of a play.
  const program = await open();
  const { body } = await coordinator
    .post(`${at(program)}/proposal`)
    .send({})
    .expect(200);
  expect(body.plays.filter(({ playId }: { playId: string }) => playId === season.playIds[1])).toHaveLength(1);
});

test('two people at one program: each is told what the other did, and nothing is lost', async () => {
  const program = await open();
  await put(program, 1, 'umpire', 'bad');
  const both = await put(program, 5, 'umpire', 'good');
  const [first, second] = both.plays;
  // Different cards do not get in each other's way.
  await coordinator
    .put(`${at(program)}/plays/${first.playId}`)
    .send({ card, version: first.version })
    .expect(200);
  await colleague
    .put(`${at(program)}/plays/${second.playId}`)
    .send({ card: { ...card, showing: 'good', narration: 'Theirs.' }, version: second.version })
    .expect(200);
  // The same card does: the later one is told, the earlier one is there.
  const late = await colleague
    .put(`${at(program)}/plays/${first.playId}`)
    .send({ card: { ...card, narration: 'Later.' }, version: first.version })
    .expect(409);
  expect(late.body.detail).toMatch(/changed this card since you read it/);
  const kept = await now(program);
  expect(kept.plays[0]).toMatchObject({ ...card, version: first.version + 1 });
  expect(kept.plays[1].narration).toBe('Theirs.');

  const move = (agent: SignedInAgent, place: number) =>
    agent
      .post(`${at(program)}/plays/${second.playId}/place`)
      .send({ place, orderVersion: both.orderVersion });
  await move(colleague, 1).expect(200);
  const moved = await move(coordinator, 2).expect(409);
  expect(moved.body.detail).toMatch(
    /^.+ changed this program on .+: moved play 2 to place 1\. Your change was not kept/,
  );
  await colleague
    .put(at(program))
    .send({ frame: { ...frame, minutes: 12 }, frameVersion: both.frameVersion })
    .expect(200);
  await coordinator
    .put(at(program))
    .send({ frame: { ...frame, minutes: 30 }, frameVersion: both.frameVersion })
    .expect(409);
  expect(await now(program)).toMatchObject({ minutes: 12 });
  // An undo that would take back what one has not seen.
  await coordinator
    .post(`${at(program)}/undo`)
    .send({ version: both.version })
    .expect(409);
});

test('a card is held to what a question and an answer need, and its answer is dated', async () => {
  const program = await put(await open(), 1, 'umpire', 'bad');
  const [play] = program.plays;
  const send = (over: object) =>
    coordinator
      .put(`${at(program)}/plays/${play.playId}`)
      .send({ card: { ...card, ...over }, version: play.version });
  for (const [over, field] of [
    [{ choices: [] }, 'choices'],
    [{ question: '' }, 'question'],
    [{ choices: card.choices.map(({ text }) => ({ text, right: false })) }, 'choices'],
    [{ answer: '', answeredOn: '2031-01-01' }, 'answer'],
    [{ secondsAfter: 0 }, 'secondsAfter'],
    [{ dutyKey: 'nobodys-duty' }, 'dutyKey'],
  ] as const) {
    const { body } = await send(over).expect(400);
    expect(body.errors[0].field).toContain(field);
  }
  const kept = (await send({}).expect(200)).body.plays[0];
  expect(kept.answeredOn).toMatch(/^\d{4}-\d\d-\d\d$/);
});

test('what waits for a ruling is not released, also when the reply comes at the same moment', async () => {
  const program = await put(await put(await open(), 1, 'umpire', 'bad'), 5, 'umpire', 'good');
  const release = async () =>
    coordinator
      .post(`${at(program)}/editions`)
      .send({ version: (await now(program)).version, untoldBecause: 'They were told by telephone.' });
  // The reply is written and not yet committed while the release asks.
  const mark = season.marks.get('1 umpire')!;
  const client = await database.pool.connect();
  await client.query('BEGIN');
  await writeReply(client, { conferenceId: season.conferenceId, personId: mark.personId }, mark.id, 'No.');
  const asked = release();
  await new Promise((resolve) => setTimeout(resolve, 200));
  await client.query('COMMIT');
  client.release();
  const refused = await asked;
  expect([refused.status, refused.body.detail]).toEqual([
    409,
    "Play 1 cannot be released: an official's reply to a mark on it waits for your ruling, or a team's inquiry for its answer. Settle that first, or take the play out.",
  ]);
  expect(await now(program)).toMatchObject({ openReplies: [season.playIds[0]] });
  const { rows } = await database.pool.query('SELECT id FROM reply WHERE observation_id = $1', [mark.id]);
  await rule(rows[0].id, 'stands');
  expect((await release()).status).toBe(201);
});

test('an edition names nobody, and stays as it was whatever becomes of season and program', async () => {
  const program = await put(await put(await open(), 1, 'umpire', 'bad'), 5, 'umpire', 'good');
  const [play] = program.plays;
  const write = async (narration: string) => {
    const { version } = (await now(program)).plays[0];
    const sent = { card: { ...card, narration }, version };
    await coordinator
      .put(`${at(program)}/plays/${play.playId}`)
      .send(sent)
      .expect(200);
  };
  // Test people have the family names of their positions; one gets a name of his own.
  await database.pool.query(`UPDATE person SET family_name = 'Quillfeather' WHERE id = $1`, [
    season.crew.umpire,
  ]);
  await database.pool.query(
    `UPDATE person SET family_name = 'Nobody' || left(id::text, 8) WHERE conference_id = $1 AND id = ANY ($2)`,
    [season.conferenceId, Object.values(season.crew).filter((id) => id !== season.crew.umpire)],
  );
  await write('Quillfeather of the Visitors looks away; #54 is hit.');
  const release = async (more: object = {}) =>
    coordinator.post(`${at(program)}/editions`).send({
      version: (await now(program)).version,
      untoldBecause: 'They were told by telephone.',
      ...more,
    });
  const named = await release();
  expect(named.status).toBe(400);
  expect(named.body.errors).toEqual([
    {
      field: 'plays.0.narration',
      message:
        'In the narration of play 1 stands “Quillfeather”, the name of an official, “Visitors”, the name of a team, and the shirt number “#54”; everybody would read it.',
    },
  ]);
  await write('The umpire looks away.');
  expect((await release()).body).toEqual({ number: 1 });
  const first = (await coordinator.get(`${at(program)}/editions/1`).expect(200)).body;
  expect(first.content.plays[0]).toMatchObject({
    number: 1,
    position: 'umpire',
    keys: ['Feet still', 'Eyes up'],
    duty: { title: 'Everybody watches players' },
    hasFilm: false,
  });
  expect(first.content.plays[0].situation).toMatch(/^2nd and 9 at own 21: pass$/);
  expect(first.content.plays[0].owed.length).toBeGreaterThan(3);
  const shown = JSON.stringify(first.content);
  const people = await database.pool.query(
    'SELECT id, family_name AS family, email FROM person WHERE conference_id = $1',
    [season.conferenceId],
  );
  for (const { id, family, email } of people.rows)
    for (const trace of [id, family, email]) expect(shown).not.toContain(trace);
  for (const trace of [season.gameId, ...season.playIds, 'Visitors']) expect(shown).not.toContain(trace);
  expect(first.sources).toMatchObject([
    { number: 1, playNumber: 1 },
    { number: 2, playNumber: 5 },
  ]);

  // The log is corrected, a play goes, the card changes: the edition does not.
  await database.pool.query('UPDATE play SET down = 4, distance = 1 WHERE id = $1', [season.playIds[0]]);
  await write('Changed afterwards.');
  await coordinator.delete(`${at(program)}/plays/${program.plays[1].playId}`).expect(200);
  await database.pool.query('UPDATE play SET removed_at = now() WHERE id = $1', [season.playIds[4]]);
  expect((await coordinator.get(`${at(program)}/editions/1`)).body).toEqual(first);
  for (const sql of [
    `UPDATE training_edition SET note = 'x' WHERE program_id = $1`,
    'DELETE FROM training_edition WHERE program_id = $1',
    'DELETE FROM training_program WHERE id = $1',
  ])
    await expect(database.pool.query(sql, [program.id])).rejects.toThrow(/was released/);
  await coordinator.delete(at(program)).expect(409);

  // A correction says what it corrects, and is another edition.
  expect((await release()).body.errors[0].field).toBe('note');
  expect((await release({ note: 'The second play is gone.' })).body).toEqual({ number: 2 });
  const editions = (await coordinator.get(`${at(program)}/editions`)).body;
  expect(editions.map(({ number }: { number: number }) => number)).toEqual([2, 1]);
  // Nothing that was released can be taken back.
  const { version } = await now(program);
  await coordinator
    .post(`${at(program)}/undo`)
    .send({ version })
    .expect(409);
});

test('a program of a closed season can still be made: that is when it is made', async () => {
  await database.pool.query(`UPDATE season SET state = 'closed', closed_at = now() WHERE id = $1`, [
    season.seasonId,
  ]);
  const program = await put(await open(), 5, 'umpire', 'good');
  await coordinator
    .post(`${at(program)}/editions`)
    .send({ version: program.version, untoldBecause: 'They were told by telephone.' })
    .expect(201);
});

test('another conference’s coordinator finds nothing of it, and each change is in the history', async () => {
  const program = await put(await open(), 5, 'umpire', 'good');
  const elsewhere = await makeConference(database.pool);
  const stranger = (await personSignedIn(app, elsewhere, ['coordinator'])).agent;
  await stranger.get(at(program)).expect(404);
  await stranger.get(programs()).expect(404);
  await stranger
    .post(`${at(program)}/undo`)
    .send({ version: 2 })
    .expect(404);
  await stranger.delete(`${at(program)}/plays/${season.playIds[4]}`).expect(404);
  const { rows } = await database.pool.query(
    `SELECT action FROM audit_entry WHERE subject_id = $1 ORDER BY number`,
    [program.id],
  );
  expect(rows.map(({ action }) => action)).toEqual([
    'training program opened',
    'training program: put in a play',
  ]);
});
