// @module-tag long
import type { FastifyInstance } from 'fastify';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import type { Finding } from '../../server/duties/finding.ts';
import { everybodyWatched } from '../../server/duties/watched.ts';
import type { Play } from '../../server/football/play.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { everybodysCall, everybodysDuty, type OneGame, oneGame, plainPlay } from './one-game.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let observer: SignedInAgent;
let coordinator: SignedInAgent;
let official: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, 30);
  const as = (personId: string) => inSessionOf(app, { conferenceId: game.conferenceId, personId });
  observer = await as(game.observerId);
  coordinator = await as(game.coordinatorId);
  official = await as(game.crew['line judge']!);
});

const mark = (
  play: number,
  finding: Finding = 'missed',
  position = 'line judge',
  comment = 'Turned away.',
) => ({
  kind: 'put mark',
  id: uuidv7(),
  basedOn: null,
  markId: uuidv7(),
  playId: game.playIds[play - 1]!,
  position,
  dutyKey: everybodysDuty.key,
  finding,
  comment,
});

/** A report filed through the API by an observer, as their device would do it. */
async function filed(by: SignedInAgent, ...marks: ReturnType<typeof mark>[]): Promise<string> {
  const { reportId } = (await by.post(`/api/games/${game.gameId}/reports`).expect(200)).body;
  const crew = Object.entries(game.crew).map(([position, personId]) => ({ position, personId }));
  const changes = [...marks, { kind: 'confirm crew', id: uuidv7(), was: crew, crew }];
  const sent = await by.post(`/api/reports/${reportId}/changes`).send({ changes }).expect(200);
  expect(sent.body.results.map((result: { outcome: string }) => result.outcome)).toEqual(
    changes.map(() => 'applied'),
  );
  await by.post(`/api/reports/${reportId}/file`).expect(200);
  return reportId;
}

async function released(...marks: ReturnType<typeof mark>[]): Promise<string> {
  const reportId = await filed(observer, ...marks);
  await coordinator.post(`/api/reports/${reportId}/accept`).expect(200);
  await coordinator
    .post(`/api/seasons/${game.seasonId}/reports/release`)
    .send({ reportIds: [reportId] })
    .expect(200, { released: 1 });
  return reportId;
}

const notMet = async (reportId: string, position = 'line judge') => {
  const { body } = await coordinator.get(`/api/reports/${reportId}`).expect(200);
  return body.officials.find((row: { position: string }) => row.position === position).notMet as number;
};

test('an incomplete report is refused with what is missing', async () => {
  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`)).body;
  await observer
    .post(`/api/reports/${reportId}/changes`)
    .send({ changes: [mark(3, 'missed', 'umpire', '')] })
    .expect(200);
  const answer = await observer.post(`/api/reports/${reportId}/file`).expect(422);
  expect(answer.headers['content-type']).toContain('application/problem+json');
  expect(answer.body.errors.map((error: { field: string }) => error.field)).toEqual(['crew', 'comment']);
  const missing = await observer.get(`/api/reports/${reportId}/missing`).expect(200);
  expect(missing.body[1]).toMatchObject({ what: 'comment', playId: game.playIds[2], position: 'umpire' });
  const own = await observer.get(`/reports/${reportId}`).expect(200);
  expect(own.text).toContain('has no comment');
  expect(own.text).toContain(`href="/reports/${reportId}/entry"`);
  expect((await coordinator.get(`/reports/${reportId}`)).text).not.toContain(`/reports/${reportId}/entry`);
});

test('what a call cost is told with its mark, corrected, ruled on, and counted', async () => {
  const on = {
    ...mark(4, 'wrong call', 'line judge', 'Both feet were in.'),
    dutyKey: everybodysCall.key,
    consequence: 'possession',
  };
  const reportId = await released(on, mark(5));
  const costs = async () => {
    const { rows } = await database.pool.query(
      `SELECT not_met, cost_none, cost_yards, cost_possession, cost_score FROM opportunity_count
        WHERE conference_id = $1 AND report_id = $2 AND duty_key = $3 AND position = 'line judge'`,
      [game.conferenceId, reportId, everybodysCall.key],
    );
    return rows;
  };
  const none = { not_met: 1, cost_none: 0, cost_yards: 0, cost_possession: 0, cost_score: 0 };
  expect(await costs()).toEqual([{ ...none, cost_possession: 1 }]);
  const { body } = await coordinator.get(`/api/reports/${reportId}`).expect(200);
  expect(body.observations.find((row: { id: string }) => row.id === on.markId)).toMatchObject({
    finding: 'wrong call',
    consequence: 'possession',
  });
  const words = 'wrong call, cost possession';
  expect((await coordinator.get(`/reports/${reportId}`)).text).toContain(words);
  expect((await official.get('/my/marks')).text).toContain(words);

  // The coordinator's form: what it cost is chosen, and changed.
  const address = `/reports/${reportId}/marks/${on.markId}`;
  expect((await coordinator.get(address)).text).toContain('<option value="possession" selected>');
  const form = { comment: 'Both feet were in.', reason: 'The drive went on.' };
  await coordinator
    .post(address)
    .type('form')
    .send({ ...form, finding: 'wrong call', consequence: 'yards' })
    .expect(303);
  expect(await costs()).toEqual([{ ...none, cost_yards: 1 }]);
  expect((await coordinator.get(`/reports/${reportId}/revisions/1`)).text).toContain(words);
  expect((await coordinator.get(`/reports/${reportId}`)).text).toContain('wrong call, cost yards: “Both');

  const misfit = await coordinator.post(`/api/reports/${reportId}/revisions`).send({
    reason: 'It was right.',
    corrections: [{ markId: on.markId, finding: 'right call', comment: '', consequence: 'yards' }],
  });
  expect(misfit.status).toBe(409);
  expect(misfit.body.detail).toContain('only a wrong call or a missed foul has one');

  // A ruling may leave the finding and change only what it cost.
  const { replyId } = (
    await official.post(`/api/observations/${on.markId}/reply`).send({ text: 'It cost nothing.' }).expect(200)
  ).body;
  const rule = (consequence: string) =>
    coordinator
      .post(`/api/replies/${replyId}/ruling`)
      .send({ ruling: 'changed', changedTo: 'wrong call', consequence });
  expect((await rule('yards').expect(409)).body.detail).toContain('"wrong call, cost yards" already');
  await rule('none').expect(200);
  expect(await costs()).toEqual([{ ...none, cost_none: 1 }]);
  expect((await official.get(`/replies/${replyId}`)).text).toContain('wrong call, cost nothing');
});

test('returned with a reason, filed again, accepted; a step out of turn is refused', async () => {
  const reportId = await filed(observer, mark(1));
  await coordinator.post(`/api/reports/${reportId}/release`).expect(409);
  await coordinator.post(`/api/reports/${reportId}/return`).send({ reason: ' ' }).expect(400);
  await coordinator
    .post(`/api/reports/${reportId}/return`)
    .send({ reason: 'Look at play 1 again.' })
    .expect(200);
  const entry = await observer.get(`/api/reports/${reportId}/entry`).expect(200);
  expect(entry.body.report).toMatchObject({ state: 'returned', returnedReason: 'Look at play 1 again.' });
  await observer.post(`/api/reports/${reportId}/file`).expect(200);
  await coordinator.post(`/api/reports/${reportId}/accept`).expect(200);
  await observer.post(`/api/reports/${reportId}/accept`).expect(403);
});

test('an official answers a mark, the coordinator rules, the counts follow, and the trail shows it', async () => {
  const on = mark(4);
  const reportId = await released(on, mark(5));
  expect(await notMet(reportId)).toBe(2);
  const mine = await official.get('/api/my/marks').expect(200);
  expect(mine.body.map((row: { id: string }) => row.id).sort()).toContain(on.markId);
  const umpire = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.crew.umpire! });
  await umpire.post(`/api/observations/${on.markId}/reply`).send({ text: 'Mine?' }).expect(404);
  const { replyId } = (
    await official
      .post(`/api/observations/${on.markId}/reply`)
      .send({ text: 'I had the runner all the way.' })
      .expect(200)
  ).body;
  await official.post(`/api/observations/${on.markId}/reply`).send({ text: 'Again.' }).expect(409);
  await coordinator
    .post(`/api/replies/${replyId}/ruling`)
    .send({ ruling: 'changed', changedTo: 'wrong call' })
    .expect(409);
  await coordinator
    .post(`/api/replies/${replyId}/ruling`)
    .send({ ruling: 'changed', changedTo: 'model', note: 'The film shows it.' })
    .expect(200);
  expect(await notMet(reportId)).toBe(1);
  await coordinator.post(`/api/replies/${replyId}/ruling`).send({ ruling: 'stands' }).expect(409);

  const { rows } = await database.pool.query(
    `SELECT revision, reason, content->'observations' AS marks FROM report_revision
      WHERE conference_id = $1 AND report_id = $2 ORDER BY revision`,
    [game.conferenceId, reportId],
  );
  const findingIn = (marks: { id: string; finding: string }[]) =>
    marks.find((other) => other.id === on.markId)!.finding;
  expect(rows.map((row) => [row.revision, findingIn(row.marks)])).toEqual([
    [1, 'missed'],
    [2, 'model'],
  ]);
  const trail = await database.pool.query(
    `SELECT action, actor_id, before, after FROM audit_entry WHERE conference_id = $1 AND subject_kind IN ('reply', 'observation')
      ORDER BY number`,
    [game.conferenceId],
  );
  expect(trail.rows).toMatchObject([
    { action: 'replied', actor_id: game.crew['line judge'] },
    {
      action: 'ruled',
      actor_id: game.coordinatorId,
      before: { finding: 'missed' },
      after: { finding: 'worth showing' },
    },
  ]);
});

/** A page's words, tags and runs of space gone. */
async function textOf(agent: SignedInAgent, path: string): Promise<string> {
  const { text } = await agent.get(path).expect(200);
  return text.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ');
}

test('the pages show who ruled and when, before and after, and each revision as it was', async () => {
  const on = mark(4);
  const reportId = await released(on, mark(5, 'missed', 'umpire', 'Late to the pile.'));
  const reply = await official.post(`/api/observations/${on.markId}/reply`).send({ text: 'I had him.' });
  const { replyId } = reply.body;
  await coordinator
    .post(`/api/replies/${replyId}/ruling`)
    .send({ ruling: 'changed', changedTo: 'model', note: 'The film shows it.' })
    .expect(200);
  await coordinator
    .post(`/api/games/${game.gameId}/plays/${game.playIds[8]}/corrections`)
    .send({ play: { ...plainPlay(9), spot: 44 }, reason: 'The film says 44.' })
    .expect(200);

  const report = await textOf(coordinator, `/reports/${reportId}`);
  expect(report).toMatch(/Test line judge replied observation: play 4, line judge reply: I had him\./);
  expect(report).toMatch(
    /Test Coordinator ruled reply: play 4, line judge finding: missed ruling: changed finding: worth showing The film shows it\./,
  );
  expect(report).toMatch(
    /revised report .+ play 4, line judge, Everybody watches players: missed: “Turned away\.” .+ worth showing: “Turned away\.”/,
  );
  expect(report).toMatch(/play corrected play: play 9 spot: 29 spot: 44 The film says 44\./);
  expect(report).toMatch(/State filed|state: draft state: filed/);

  for (const agent of [coordinator, official]) {
    const own = await textOf(agent, `/replies/${replyId}`);
    expect(own).toMatch(/\d{4}, \d+:\d{2} [AP]M C[DS]T Test Coordinator ruled finding: missed/);
    expect(own).not.toContain('Late to the pile.');
  }
  expect(await textOf(official, '/my/marks')).toContain('ruling: changed to worth showing');

  const first = await textOf(coordinator, `/reports/${reportId}/revisions/1`);
  expect(first).toContain('before it was corrected');
  expect(first).toMatch(/4 Test line judge Line judge \(L\) Everybody watches players missed Turned away\./);
  expect(await textOf(coordinator, `/reports/${reportId}/revisions/2`)).toMatch(
    /4 Test line judge Line judge \(L\) Everybody watches players worth showing Turned away\./,
  );
  await coordinator.get(`/reports/${reportId}/revisions/99`).expect(404);
  await official.get(`/reports/${reportId}/revisions/1`).expect(403);
});

test('the audit trail is read newest first, a page at a time, by the coordinator only', async () => {
  const reportId = await released(mark(4));
  for (let times = 0; times < 52; times++) {
    await coordinator
      .post(`/seasons/${game.seasonId}/standings/settings?position=umpire`)
      .type('form')
      .send({ minimumGames: String(1 + (times % 2)), minimumOpportunities: '10', places: '2' })
      .expect(303);
  }
  const newest = await textOf(coordinator, '/trail');
  expect(newest).toMatch(/standings settings changed season: Season minimum games: 1 minimum games: 2/);
  expect(newest).not.toContain('released');
  const { text } = await coordinator.get('/trail');
  const older = /href="(\/trail\?below=\d+)"/.exec(text)![1]!;
  const rest = await textOf(coordinator, older);
  expect(rest).toMatch(
    /Test Coordinator released report: Visitors at Home, by Test Observer state: accepted/,
  );
  expect((await coordinator.get(older)).text).toContain(`href="/reports/${reportId}"`);
  expect(rest).not.toContain('Older');
  await observer.get('/trail').expect(403);
  await official.get('/trail').expect(403);
  await coordinator.get('/trail?below=x').expect(400);
  const elsewhere = await oneGame(database.pool, 0);
  const other = await inSessionOf(app, {
    conferenceId: elsewhere.conferenceId,
    personId: elsewhere.coordinatorId,
  });
  expect(await textOf(other, '/trail')).toContain('Nothing yet.');
});

test('the coordinator sets for how long officials may answer; what was released keeps its day', async () => {
  const days = async (reportId: string) => {
    const { rows } = await database.pool.query<{ days: number }>(
      `SELECT extract(epoch FROM reply_until - released_at)::int / 86400 AS days FROM report
        WHERE conference_id = $1 AND id = $2`,
      [game.conferenceId, reportId],
    );
    return rows[0]!.days;
  };
  const first = await released(mark(4));
  const set = (replyDays: string) => coordinator.post('/replies/window').type('form').send({ replyDays });
  expect((await set('soon').expect(422)).text).toMatch(/Must be a whole number[\s\S]+value="soon"/);
  await set('21').expect(303);
  expect((await coordinator.get('/replies')).text).toContain('value="21"');
  const second = await filed(
    await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.secondObserverId }),
  );
  await coordinator.post(`/api/reports/${second}/accept`).expect(200);
  await coordinator.post(`/api/reports/${second}/release`).expect(200);
  expect([await days(first), await days(second)]).toEqual([10, 21]);
  expect(await textOf(coordinator, '/trail')).toContain('reply days: 10 reply days: 21');
  await coordinator.put('/api/reply-window').send({ replyDays: 400 }).expect(400);
  await coordinator.put('/api/reply-window').send({ replyDays: 0 }).expect(200, { replyDays: 0 });
  await official.put('/api/reply-window').send({ replyDays: 9 }).expect(403);
});

test('after the window no answer is taken', async () => {
  const on = mark(4);
  const reportId = await released(on);
  await database.pool.query(
    `UPDATE report SET reply_until = now() - interval '1 hour' WHERE conference_id = $1 AND id = $2`,
    [game.conferenceId, reportId],
  );
  const answer = await official
    .post(`/api/observations/${on.markId}/reply`)
    .send({ text: 'Too late?' })
    .expect(409);
  expect(answer.body.detail).toMatch(/The time to answer this evaluation ended on/);
});

test('a released report is corrected by a revision with its reason; the first stays as it was', async () => {
  const on = mark(4);
  const reportId = await released(on);
  const corrections = [{ markId: on.markId, remove: true }];
  await coordinator.post(`/api/reports/${reportId}/revisions`).send({ reason: '', corrections }).expect(400);
  await coordinator
    .post(`/api/reports/${reportId}/revisions`)
    .send({ reason: 'It was the side judge.', corrections })
    .expect(200, { revision: 2 });
  expect(await notMet(reportId)).toBe(0);
  await expect(
    database.pool.query(`UPDATE report_revision SET reason = 'x' WHERE conference_id = $1`, [
      game.conferenceId,
    ]),
  ).rejects.toThrow(/permission denied|append-only/);
});

test('a corrected play is counted again in filed and released reports, with the difference shown', async () => {
  const reportId = await released(mark(4));
  const play: Play = { ...plainPlay(4), kind: 'free kick' };
  delete play.down;
  delete play.distance;
  const answer = await coordinator
    .post(`/api/games/${game.gameId}/plays/${game.playIds[3]}/corrections`)
    .send({ play, reason: 'Logged as a run.' })
    .expect(200);
  const [recounted] = answer.body.recounted;
  expect(recounted).toMatchObject({ reportId, state: 'released' });
  // The duty is owed by nobody on this play now: the line judge's mark is kept and does not count.
  const of = (position: string) =>
    recounted.differences.find(
      (row: { position: string; dutyKey: string }) =>
        row.position === position && row.dutyKey === everybodysDuty.key,
    );
  expect(of('umpire')).toMatchObject({ before: 30, after: 29 });
  expect(of('line judge')).toMatchObject({ before: 30, after: 29 });
  const { body } = await coordinator.get(`/api/reports/${reportId}`).expect(200);
  expect(body.revision).toBe(2);
  expect(body.observations).toMatchObject([{ standing: 'not owed' }]);
  const page = (await coordinator.get(`/reports/${reportId}`).expect(200)).text;
  expect(page).toContain('does not count: not owed on this play');
});

test('a play with marks on it is removed only after a second look; released reports become a new revision', async () => {
  const on = mark(4);
  const reportId = await released(on, mark(6));
  const play = `/games/${game.gameId}/plays/${game.playIds[3]}`;
  expect(await textOf(coordinator, play)).toMatch(
    /One mark goes with it: Test line judge \(line judge\), Everybody watches players: missed Turned away\. by Test Observer/,
  );
  const remove = (form: object) => coordinator.post(`${play}/removal`).type('form').send(form);
  expect((await remove({ reason: 'Logged twice.' }).expect(422)).text).toContain('A mark is on this play');
  expect((await remove({ marksToo: 'yes', reason: ' ' }).expect(422)).text).toContain('Give the reason');
  expect(await notMet(reportId)).toBe(2);
  const done = await remove({ marksToo: 'yes', reason: 'Logged twice.' }).expect(200);
  expect(done.text).toContain('the released report is a new revision');
  expect(await notMet(reportId)).toBe(1);
  const { rows } = await database.pool.query(
    `SELECT count(*)::int AS plays, max(number)::int AS last FROM play
      WHERE conference_id = $1 AND removed_at IS NULL`,
    [game.conferenceId],
  );
  expect(rows[0]).toEqual({ plays: 29, last: 29 });
  expect(await textOf(coordinator, `/reports/${reportId}`)).toMatch(
    /play removed play: play 4 .+ spot: 24 .+ mark: Test line judge \(line judge\), Everybody watches players, missed: “Turned away\.” removed Logged twice\./,
  );
  expect(await textOf(coordinator, `/reports/${reportId}/revisions/1`)).toContain('Turned away.');
  const api = `/api/games/${game.gameId}/plays/${game.playIds[5]}/removal`;
  await coordinator.post(api).send({ reason: 'Never was.' }).expect(409);
  await observer.post(api).send({ reason: 'Never was.', marksToo: true }).expect(403);
  const { body } = await coordinator.post(api).send({ reason: 'Never was.', marksToo: true }).expect(200);
  expect(body.recounted).toMatchObject([{ reportId, state: 'released' }]);
});

test('two observers of one game side by side', async () => {
  const second = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.secondObserverId });
  await filed(observer, mark(1), mark(2), mark(3));
  await filed(second, mark(1), mark(2), mark(7, 'missed', 'umpire'), mark(8, 'not seen', 'umpire', ''));
  const { body } = await coordinator.get(`/api/games/${game.gameId}/agreement`).expect(200);
  const duty = body.duties.find((row: { dutyKey: string }) => row.dutyKey === everybodysDuty.key);
  // 30 plays by 8 officials, less the one not seen; both missed twice, three apart.
  const flip = duty.onlyFirst === 1 ? [duty.onlyFirst, duty.onlySecond] : [duty.onlySecond, duty.onlyFirst];
  expect({ judged: duty.judged, bothNotMet: duty.bothNotMet, bothMet: duty.bothMet, flip }).toEqual({
    judged: 239,
    bothNotMet: 2,
    bothMet: 235,
    flip: [1, 1],
  });
  // Kappa by hand from the 2 by 2 table: observed 237/239; chance (236² + 3²)/239².
  const chance = (236 ** 2 + 3 ** 2) / 239 ** 2;
  expect(duty.kappa.value).toBeCloseTo((237 / 239 - chance) / (1 - chance), 10);
  expect(duty.agreed.share).toBeCloseTo(237 / 239, 12);
  expect(duty.agreed.low).toBeLessThan(duty.agreed.share);
  const page = await textOf(coordinator, `/games/${game.gameId}/agreement`);
  expect(page).toMatch(
    /Everybody watches players 239 235 2 1 1 99\.2 % \(97\.0 % to 99\.8 %\) 0\.66 \(0\.\d\d to 1\.00\)/,
  );
  expect(page).toContain('neither noted a miss');
  // Chapman by hand: 4 × 4 / 3 − 1.
  expect(body.detection).toMatchObject({
    both: 2,
    onlyFirst: 1,
    onlySecond: 1,
    firstAgainst: 0,
    secondAgainst: 0,
  });
  expect(body.detection.misses.estimate).toBeCloseTo(13 / 3, 12);
  expect(body.detection.firstSees).toMatchObject({ some: 2, of: 3 });
  expect(page).toMatch(
    /Both noted 2 misses; .+ alone 1 , .+ alone 1 \. .+ noted 2 of 3, 67 % \(9 to 99 %\) of those/,
  );
  expect(page).toMatch(/By that about 0 more \(0 to \d+\) were noted by neither/);
});

test('what one marked missed and the other as done was overlooked by neither', async () => {
  const second = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.secondObserverId });
  await filed(observer, mark(1), mark(2));
  await filed(second, mark(1), mark(2, 'done', 'line judge', ''));
  const { body } = await coordinator.get(`/api/games/${game.gameId}/agreement`).expect(200);
  const { both, onlyFirst, onlySecond, firstAgainst, secondAgainst } = body.detection;
  expect([both, onlyFirst, onlySecond, firstAgainst + secondAgainst]).toEqual([1, 0, 0, 1]);
  expect(await textOf(coordinator, `/games/${game.gameId}/agreement`)).toContain(
    'Both marked, and judged differently:',
  );
});

test('two observers who never differed are not taken for certain to agree', async () => {
  const second = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.secondObserverId });
  await filed(observer, mark(1));
  await filed(second, mark(1));
  expect(await textOf(coordinator, `/games/${game.gameId}/agreement`)).toMatch(
    /Everybody watches players 240 239 1 0 0 100\.0 % \(98\.4 % to 100\.0 %\) 1\.00, too few misses for an interval/,
  );
});

test('every page of a report on its way opens', async () => {
  const on = mark(4);
  const reportId = await released(on, mark(5, 'model', 'umpire', ''));
  await official.post(`/api/observations/${on.markId}/reply`).send({ text: 'I saw it.' }).expect(200);
  const { rows } = await database.pool.query('SELECT id FROM reply WHERE conference_id = $1', [
    game.conferenceId,
  ]);
  const text = async (agent: SignedInAgent, url: string) => (await agent.get(url).expect(200)).text;
  expect(await text(coordinator, '/reports')).toContain('Visitors at Home');
  expect(await text(coordinator, `/reports/${reportId}`)).toContain('Turned away.');
  const observers = await text(observer, `/reports/${reportId}`);
  expect(observers).toContain('Turned away.');
  expect(observers).toContain('waiting for a ruling');
  expect(observers).not.toContain('href="/replies/');
  expect(await text(coordinator, `/reports/${reportId}/marks/${on.markId}`)).toContain('Make the revision');
  expect(await text(coordinator, '/replies')).toContain('I saw it.');
  expect(await text(coordinator, `/replies/${rows[0].id}`)).toContain('withdrawn');
  expect(await text(official, `/replies/${rows[0].id}`)).not.toContain('withdrawn');
  expect(await text(official, '/my/marks')).toContain('waiting for a ruling');
  expect(await text(observer, '/my/games')).toContain('Visitors at Home');
  expect(await text(coordinator, `/games/${game.gameId}`)).toContain('Play log');
  expect(await text(coordinator, `/games/${game.gameId}/agreement`)).toContain('there are not two yet');
  expect(await text(coordinator, `/games/${game.gameId}/plays/${game.playIds[0]}`)).toContain('Reason');
  const umpire = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.crew.umpire! });
  expect(await text(umpire, '/my/marks')).not.toContain('Turned away.');
});

test('a report says what was watched and what its log gives, and each mark that does not count why not', async () => {
  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`)).body;
  await observer
    .post(`/api/reports/${reportId}/changes`)
    .send({
      changes: [
        {
          kind: 'watched',
          id: uuidv7(),
          was: everybodyWatched,
          watched: {
            positions: everybodyWatched.positions.filter((position) => position !== 'back judge'),
            stretches: [{ from: game.playIds[0], to: game.playIds[4], positions: ['umpire'] }],
          },
        },
        mark(3),
        mark(6),
      ],
    })
    .expect(200);
  await database.pool.query('UPDATE game SET crew_confirmed_at = now() WHERE conference_id = $1', [
    game.conferenceId,
  ]);
  await observer.post(`/api/reports/${reportId}/file`).expect(200);
  const { body } = await coordinator.get(`/api/reports/${reportId}`).expect(200);
  expect(body.watched.positions).not.toContain('back judge');
  expect(body.observations).toMatchObject([
    { number: 3, standing: 'not watched' },
    { number: 6, standing: 'counted' },
  ]);
  const of = (position: string) =>
    body.officials.find((row: { position: string }) => row.position === position) ?? {};
  expect(of('back judge')).toMatchObject({ opportunities: 0, watchedShare: 0 });
  expect(of('umpire')).toMatchObject({ watchedShare: 1 });
  expect(of('line judge').watchedShare).toBeGreaterThan(0.7);
  expect(of('line judge').watchedShare).toBeLessThan(1);
  expect(of('line judge').decidedShare).toBeLessThan(1);
  expect(body.leftOut.length).toBeGreaterThan(0);
  const page = (await coordinator.get(`/reports/${reportId}`).expect(200)).text;
  expect(page).toContain('Everybody but back judge; plays 1 to 5 umpire');
  expect(page).toContain('does not count: position not watched');
  expect(page).toContain(body.leftOut[0].title.replaceAll("'", '&#x27;'));

  // The official is told, in a sentence; the mark that does not count is not among what took points off.
  await coordinator.post(`/api/reports/${reportId}/accept`).expect(200);
  await coordinator
    .post(`/api/seasons/${game.seasonId}/reports/release`)
    .send({ reportIds: [reportId] })
    .expect(200, { released: 1 });
  expect((await official.get('/my/marks').expect(200)).text).toContain(
    'The observer was not watching this position here',
  );
  const own = (await official.get('/my/evaluation').expect(200)).text;
  expect(own).toMatch(/The observers watched <b>\d+ %<\/b> of the chances/);
  expect(own).toMatch(/The logs of these games give <b>\d+ %<\/b>/);
  const grade = await official.get(`/seasons/${game.seasonId}/officials/${game.crew['line judge']}/grade`);
  expect(grade.status).toBe(200);
  expect(grade.text).toContain('counts neither for nor against');
  expect(grade.text).toContain(`/plays/${game.playIds[5]}/duties`);
  expect(grade.text).not.toContain(`/plays/${game.playIds[2]}/duties`);
});

test('what one of two observers watched was watched: the shares are those of the game, counted once', async () => {
  const other = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.secondObserverId });
  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`)).body;
  const positions = everybodyWatched.positions.filter((position) => position !== 'line judge');
  const watched = { ...everybodyWatched, positions };
  await observer
    .post(`/api/reports/${reportId}/changes`)
    .send({ changes: [{ kind: 'watched', id: uuidv7(), was: everybodyWatched, watched }] })
    .expect(200);
  const first = await released(mark(3));
  expect(first).toBe(reportId);
  const own = async () => (await official.get('/my/evaluation').expect(200)).text;
  expect(await own()).not.toContain('The observers watched every chance');
  const second = await filed(other);
  await coordinator.post(`/api/reports/${second}/accept`).expect(200);
  await coordinator
    .post(`/api/seasons/${game.seasonId}/reports/release`)
    .send({ reportIds: [second] })
    .expect(200, { released: 1 });
  expect(await own()).toContain('The observers watched every chance');
});
