// @module-tag long
import { createHash } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, onTestFinished, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { closeSeason, reopenSeason } from '../../server/schedule/season-states.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

let database: TestDatabase;
let app: FastifyInstance;
let seasons: TwoSeasons;
let coordinator: SignedInAgent;
let observer: SignedInAgent;
let official: SignedInAgent;

const sentence =
  'Season 2030 is closed: it can be read, not changed. A coordinator can reopen it on the Seasons page.';
const acting = () => ({ conferenceId: seasons.conferenceId, personId: seasons.coordinatorId });

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  seasons = await twoSeasons(database.pool);
  const { conferenceId } = seasons;
  coordinator = await inSessionOf(app, { conferenceId, personId: seasons.coordinatorId });
  observer = await inSessionOf(app, { conferenceId, personId: seasons.observerId });
  official = await inSessionOf(app, { conferenceId, personId: seasons.officialId });
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

/** Everything that belongs to the first season, as text. */
async function everythingOfIt(): Promise<string> {
  const { rows } = await database.pool.query<{ digest: string }>(
    `SELECT (SELECT jsonb_agg(r ORDER BY r.id) FROM report r WHERE r.season_id = $1)::text
         || (SELECT jsonb_agg(g ORDER BY g.id) FROM game g WHERE g.season_id = $1)::text
         || (SELECT jsonb_agg(o ORDER BY o.id) FROM observation o JOIN report r ON r.id = o.report_id WHERE r.season_id = $1)::text
         || (SELECT jsonb_agg(u) FROM ruling u WHERE u.reply_id = $2)::text
         || (SELECT jsonb_agg(p ORDER BY p.id) FROM play p JOIN game g ON g.id = p.game_id WHERE g.season_id = $1)::text
         AS digest`,
    [seasons.first.id, seasons.first.replyId],
  );
  return createHash('sha256')
    .update(rows[0]!.digest ?? '')
    .digest('hex');
}

describe('a closed season', () => {
  beforeEach(() =>
    inTransaction(database.pool, async (client) => {
      const { rows } = await client.query('SELECT state FROM season WHERE id = $1', [seasons.first.id]);
      if (rows[0].state === 'running') await closeSeason(client, acting(), seasons.first.id);
    }),
  );

  test('takes no ruling, release, mark, assignment, letter, rubric, play or setting, and says why in one sentence', async () => {
    const { first } = seasons;
    const before = await everythingOfIt();
    const tries: [SignedInAgent, string, object][] = [
      [coordinator, `/replies/${first.replyId}`, { ruling: 'stands', note: '' }],
      [coordinator, `/seasons/${first.id}/standings/settings`, settings],
      [coordinator, `/seasons/${first.id}/letters/make`, letters],
      [
        coordinator,

        `/seasons/${first.id}/weeks`,
        { 'first-1': '2030-09-02', 'last-1': '2030-09-08' },
      ],
    ];
    for (const [agent, url, body] of tries) {
      const answer = await agent.post(url).type('form').send(body);
      expect([url, answer.status], answer.text.slice(0, 2000)).toEqual([url, 409]);
      expect(answer.text).toContain(sentence);
    }
    expect(await everythingOfIt()).toBe(before);
  });

  test.each([
    ['report', `UPDATE report SET general_comment = 'x' WHERE season_id = $1`],
    ['report', `DELETE FROM report WHERE season_id = $1 AND state = 'draft'`],
    [
      'observation',
      `UPDATE observation SET comment = 'x' WHERE report_id IN (SELECT id FROM report WHERE season_id = $1)`,
    ],
    ['game', `UPDATE game SET film_link = 'x' WHERE season_id = $1`],
    ['play', `UPDATE play SET note = 'x' WHERE game_id IN (SELECT id FROM game WHERE season_id = $1)`],
    [
      'working_crew_member',
      `DELETE FROM working_crew_member WHERE game_id IN (SELECT id FROM game WHERE season_id = $1)`,
    ],
    [
      'observer_assignment',
      `UPDATE observer_assignment SET locked = true WHERE game_id IN (SELECT id FROM game WHERE season_id = $1)`,
    ],
    ['crew', `UPDATE crew SET name = 'x' WHERE season_id = $1`],
    ['crew_member', `DELETE FROM crew_member WHERE crew_id IN (SELECT id FROM crew WHERE season_id = $1)`],
    [
      'duty',
      `UPDATE duty SET weight = 2 WHERE rubric_version_id IN (SELECT id FROM rubric_version WHERE season_id = $1)`,
    ],
    [
      'opportunity_count',
      `UPDATE opportunity_count SET model = 0 WHERE report_id IN (SELECT id FROM report WHERE season_id = $1)`,
    ],
    [
      'reply',
      `UPDATE reply SET text = 'x' WHERE observation_id IN (SELECT o.id FROM observation o JOIN report r ON r.id = o.report_id WHERE r.season_id = $1)`,
    ],
    [
      'letter',
      `INSERT INTO letter (conference_id, season_id, person_id, kind, input_revision, sha256, pdf) SELECT conference_id, season_id, person_id, 'mid-season', 1, sha256, pdf FROM letter WHERE season_id = $1`,
    ],
    [
      'development_step',
      `INSERT INTO development_step (conference_id, point_id, kind, happened_on) SELECT conference_id, id, 'note', now() FROM development_point WHERE season_id = $1`,
    ],
    ['season', `UPDATE season SET minimum_games = 9 WHERE id = $1`],
  ])('the database refuses a change of %s, whoever makes it', async (_table, sql) => {
    await expect(database.pool.query(sql, [seasons.first.id])).rejects.toMatchObject({
      code: 'CM409',
      message: sentence,
    });
    // The other season goes on.
    const client = await database.pool.connect();
    await client.query('BEGIN');
    await client.query(sql, [seasons.second.id]).catch((error) => expect(error.code).not.toBe('CM409'));
    await client.query('ROLLBACK');
    client.release();
  });

  test('is still read by each role', async () => {
    const { first } = seasons;
    for (const [agent, pages] of [
      [
        coordinator,
        [`/seasons/${first.id}`, `/seasons/${first.id}/standings`, `/reports/${first.reportId}`, '/replies'],
      ],
      [observer, ['/my/games', `/reports/${first.reportId}`]],
      [official, ['/my/evaluation', '/my/marks', '/my/letters', '/my/patterns']],
    ] as const) {
      await agent.post('/season-in-view').type('form').send({ season: first.id }).expect(303);
      for (const page of pages) {
        const { status, text } = await agent.get(page);
        expect([page, status]).toEqual([page, 200]);
        expect(text).toContain('Season 2030 is closed: it can be read, not changed.');
      }
    }
  });

  test('keeps its season book as it was at the closing', { tags: ['long'] }, async () => {
    const book = async () => {
      const answer = await coordinator.get(`/api/seasons/${seasons.first.id}/season-book.pdf`).buffer(true);
      expect(answer.status).toBe(200);
      return createHash('sha256').update(answer.body).digest('hex');
    };
    const first = await book();
    await coordinator
      .put('/api/letter-templates/season-book')
      .send({ body: '# Quite another book\n' })
      .expect((answer) => expect([200, 400]).toContain(answer.status));
    expect(await book()).toBe(first);
    const { rows } = await database.pool.query('SELECT count(*)::int AS books FROM season_book');
    expect(rows[0].books).toBe(1);
  });
});

test('closing shows what is unfinished, waits for whoever writes, and can be taken back', async () => {
  const { second } = seasons;
  const page = await coordinator.get(`/seasons/${second.id}/close`).expect(200);
  expect(page.text).toContain('1 report with an observer');
  expect(page.text).toContain('1 answer of officials');
  expect(page.text).not.toContain('of teams');

  // What teams, a committee and officials are in the middle of is told as well; what is done is not.
  const { conferenceId, coordinatorId } = seasons;
  const own = [conferenceId, second.id];
  await database.pool.query(
    `INSERT INTO inquiry (conference_id, season_id, game_id, team_id, number, state, received_at, due_on, made_by)
     SELECT $1, $2, g.id, g.home_team_id, n.number, n.state, now(), current_date + 3, $4
       FROM game g, (VALUES (1, 'received'), (2, 'under review'), (3, 'answered')) AS n (number, state) WHERE g.id = $3`,
    [...own, second.gameId, coordinatorId],
  );
  await database.pool.query(
    `INSERT INTO selection (conference_id, season_id, title, rules, weights, made_by) VALUES ($1, $2, 'Bowls', '{}', '{}', $3)`,
    [...own, coordinatorId],
  );
  await database.pool.query(
    `INSERT INTO quiz (conference_id, season_id, title, opens_at, closes_at, minutes, announced_at)
     SELECT $1, $2, n.title, now() - interval '9 days', n.until, 30, n.told FROM (VALUES
       ('Open', now() + interval '1 day', now()), ('Over', now() - interval '1 day', now()),
       ('Draft', now() + interval '1 day', NULL)) AS n (title, until, told)`,
    own,
  );
  const { text } = await coordinator.get(`/seasons/${second.id}/close`).expect(200);
  expect(text).toContain('2 inquiries of teams');
  expect(text).toContain('1 selection for games after the season');
  expect(text).toMatch(/1 quiz <a [^>]*>not over/);

  // A mark is being written: closing waits for it, and what comes after the closing is refused.
  const writer = await database.pool.connect();
  onTestFinished(() => writer.release());
  await writer.query('BEGIN');
  await writer.query(`UPDATE report SET general_comment = 'in time' WHERE id = $1`, [second.draftId]);
  const closing = coordinator.post(`/seasons/${second.id}/close`).then((answer) => answer.status);
  await expect
    .poll(async () => {
      const { rowCount } = await database.pool.query(
        `SELECT FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`,
      );
      return rowCount;
    })
    .toBeGreaterThan(0);
  await writer.query('COMMIT');
  expect(await closing).toBe(303);
  await expect(
    database.pool.query(`UPDATE report SET general_comment = 'late' WHERE id = $1`, [second.draftId]),
  ).rejects.toMatchObject({ code: 'CM409' });
  const { rows } = await database.pool.query('SELECT general_comment FROM report WHERE id = $1', [
    second.draftId,
  ]);
  expect(rows).toEqual([{ general_comment: 'in time' }]);

  await coordinator.post(`/seasons/${second.id}/reopen`).expect(303);
  await database.pool.query(`UPDATE report SET general_comment = 'again' WHERE id = $1`, [second.draftId]);
  await expect(
    inTransaction(database.pool, (client) => reopenSeason(client, acting(), second.id)),
  ).rejects.toMatchObject({ status: 409 });
});

const settings = { minimumGames: '4', minimumOpportunities: '50', places: '2' };
const letters = { kind: 'end-of-season', paper: 'Letter', issuedOn: '2030-12-01', replyBy: '' };
