// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeEach, describe, expect, test } from 'vitest';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

let database: TestDatabase;
let app: FastifyInstance;
let seasons: TwoSeasons;
let coordinator: SignedInAgent;

afterAll(async () => {
  await app?.close();
  await database?.drop();
});
beforeEach(async () => {
  database ??= await testDatabase();
  app ??= await testApp(database);
  seasons = await twoSeasons(database.pool);
  const { conferenceId, coordinatorId, second } = seasons;
  coordinator = await inSessionOf(app, { conferenceId, personId: coordinatorId });
  await database.pool.query(
    `UPDATE season SET minimum_games = 7, postseason_places = 5 WHERE conference_id = $1 AND id = $2`,
    [conferenceId, second.id],
  );
});

const rowsOf = async (sql: string, ...values: unknown[]) =>
  (await database.pool.query(sql, [seasons.conferenceId, ...values])).rows;
const seasonNamed = async (name: string): Promise<string> =>
  (await rowsOf('SELECT id FROM season WHERE conference_id = $1 AND name = $2', name))[0]?.id;

const form = (more: Record<string, string | string[]> = {}) => ({
  name: '2032',
  firstDay: '2032-08-30',
  weeks: '3',
  firstWeek: '1',
  asks: 'on',
  'crew-0': 'Silver crew',
  'crew-0-referee': seasons.officialId,
  ...more,
});
const roll = (more?: Record<string, string | string[]>) =>
  coordinator.post(`/seasons/${seasons.second.id}/next`).type('form').send(form(more));

describe('the page that opens the next season', () => {
  test('suggests what the last one was', async () => {
    const { text } = await coordinator.get(`/seasons/${seasons.second.id}/next`).expect(200);
    expect(text).toContain('name="name" type="text" value="2032"');
    expect(text).toContain('name="crew-0" value="Silver crew"');
    expect(text).toMatch(new RegExp(`<option value="${seasons.officialId}" selected>referee, Test`));
  });

  test('takes over settings, the rubric with its versions, crews as given, and asks who is away', async () => {
    const { conferenceId, observerId, second } = seasons;
    await roll({ leaves: observerId }).expect(303).expect('location', '/seasons');
    const id = await seasonNamed('2032');
    expect(
      await rowsOf(
        `SELECT state, minimum_games, postseason_places, opened_from_id,
                (SELECT current_season_id = $2 FROM conference WHERE id = $1) AS current
           FROM season WHERE conference_id = $1 AND id = $2`,
        id,
      ),
    ).toEqual([
      { state: 'open', minimum_games: 7, postseason_places: 5, opened_from_id: second.id, current: false },
    ]);
    const duties = (season: string) =>
      rowsOf(
        `SELECT v.number, v.note, v.created_at, d.key, d.weight, d.definition FROM rubric_version v
           JOIN duty d ON d.conference_id = v.conference_id AND d.rubric_version_id = v.id
          WHERE v.conference_id = $1 AND v.season_id = $2 ORDER BY v.number, d.key`,
        season,
      );
    expect((await duties(id)).length).toBeGreaterThan(50);
    expect(await duties(id)).toEqual(await duties(second.id));
    expect(
      await rowsOf(
        `SELECT c.name, m.position, m.person_id FROM crew c
           JOIN crew_member m ON m.conference_id = c.conference_id AND m.crew_id = c.id
          WHERE c.conference_id = $1 AND c.season_id = $2`,
        id,
      ),
    ).toEqual([{ name: 'Silver crew', position: 'referee', person_id: seasons.officialId }]);
    const asked = await rowsOf(
      'SELECT person_id FROM season_availability WHERE conference_id = $1 AND season_id = $2',
      id,
    );
    // Eight officials and the other observer; not who leaves, not the coordinator.
    expect(asked).toHaveLength(9);
    expect(asked.map((row) => row.person_id)).not.toContain(observerId);

    // Who leaves is not planned for, and reads on.
    const planned = async (season: string) => {
      await coordinator.post('/season-in-view').type('form').send({ season }).expect(303);
      return (await coordinator.get('/observers/coverage')).status;
    };
    expect(await planned(id)).toBe(200);
    const observer = await inSessionOf(app, { conferenceId, personId: observerId });
    await observer.get(`/reports/${second.reportId}`).expect(200);
  });

  test.each([
    ['no name', { name: '' }, 'Write the season’s name'],
    ['no day', { firstDay: '30 August' }, 'Write a date as year-month-day'],
    ['too many weeks', { weeks: '31' }, 'It is at most 30.'],
    ['a crew without a name', { 'crew-0': '' }, 'Give the crew a name'],
    ['two crews of a name', { 'crew-1': 'Silver crew' }, 'Another crew has this name.'],
    ['the name of another season', { name: '2030' }, 'There is a season &quot;2030&quot; already'],
  ])('keeps what was typed and says what is wrong: %s', async (_what, more, says) => {
    const { status, text } = await roll({ note: 'kept', ...more, 'crew-2': 'A crew of mine' });
    expect(status).toBe(422);
    expect(text).toContain(says);
    expect(text).toContain('value="A crew of mine"');
    expect(await seasonNamed('2032')).toBeUndefined();
  });

  test('refuses an official in two places, or one who leaves', async () => {
    const twice = await roll({ 'crew-0-umpire': seasons.officialId });
    expect(twice.text).toContain('referee, Test is in crew Silver crew, as referee already.');
    const gone = await roll({ leaves: seasons.officialId });
    expect(gone.text).toContain('referee, Test is marked as leaving.');
  });

  test('twice, also at the same moment, opens one season', async () => {
    const answers = await Promise.all([roll(), roll({ name: '2033' })]);
    expect(answers.map(({ status }) => status).sort()).toEqual([303, 422]);
    expect(answers.find(({ status }) => status === 422)!.text).toMatch(/was opened from 2031 already/);
    expect(await rowsOf('SELECT id FROM season WHERE conference_id = $1')).toHaveLength(3);
    const { text } = await coordinator.get(`/seasons/${seasons.second.id}/next`);
    expect(text).toMatch(/Season 203[23] was opened from 2031 already/);
  });
});

describe('undoing an opening', () => {
  test('takes all of the new season back and leaves the others as they were', async () => {
    const counts = () =>
      rowsOf(
        `SELECT (SELECT count(*)::int FROM season WHERE conference_id = $1) AS seasons,
                (SELECT count(*)::int FROM crew WHERE conference_id = $1) AS crews,
                (SELECT count(*)::int FROM duty WHERE conference_id = $1) AS duties,
                (SELECT count(*)::int FROM game WHERE conference_id = $1) AS games,
                (SELECT count(*)::int FROM person WHERE conference_id = $1) AS people`,
      );
    const before = await counts();
    await roll().expect(303);
    const id = await seasonNamed('2032');
    await coordinator.post(`/seasons/${id}/current`).expect(303);
    const asked = await coordinator.get(`/seasons/${id}/undo`).expect(200);
    expect(asked.text).toContain('2032 is the current season; 2031 becomes the current one in its place.');
    await coordinator.post(`/seasons/${id}/undo`).expect(303);
    expect(await counts()).toEqual(before);
    // What it was opened from is current again.
    expect(await rowsOf('SELECT current_season_id FROM conference WHERE id = $1')).toEqual([
      { current_season_id: seasons.second.id },
    ]);
    await roll().expect(303);
  });

  const gameIn = async (season: string) =>
    (
      await rowsOf(
        `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
         SELECT conference_id, $2, 'first', 1, '2032-09-04T18:00:00Z', home_team_id, visiting_team_id, venue_id
           FROM game WHERE conference_id = $1 LIMIT 1 RETURNING id`,
        season,
      )
    )[0];

  test('is refused while a game of it has a film, and not any more when that is removed', async () => {
    await roll().expect(303);
    const id = await seasonNamed('2032');
    const game = await gameIn(id);
    const angle = { angle: 'Press box', link: 'https://films.example.test/1.mp4' };
    const film = await coordinator.post(`/api/games/${game.id}/films`).send(angle).expect(201);
    const answer = await coordinator.post(`/seasons/${id}/undo`).expect(409);
    expect(answer.text).toContain('Season 2032 has films of its games; remove them');
    expect(await seasonNamed('2032')).toBe(id);
    await coordinator.delete(`/api/games/${game.id}/films/${film.body.id}`).expect(204);
    await coordinator.post(`/seasons/${id}/undo`).expect(303);
    expect(await seasonNamed('2032')).toBeUndefined();
  });

  test('is refused from the first report on', async () => {
    await roll().expect(303);
    const id = await seasonNamed('2032');
    const { conferenceId, observerId } = seasons;
    const game = await gameIn(id);
    await openReport(database.pool, { conferenceId, personId: observerId }, { gameId: game.id, observerId });
    const answer = await coordinator.post(`/seasons/${id}/undo`).expect(409);
    expect(answer.text).toContain('Season 2032 has reports, so its opening cannot be undone any more.');
    expect(await seasonNamed('2032')).toBe(id);
  });
});

test('people answer when they are away, and the observer planner goes by it', async () => {
  const { conferenceId, observerId, officialId } = seasons;
  await roll().expect(303);
  const id = await seasonNamed('2032');
  const official = await inSessionOf(app, { conferenceId, personId: officialId });
  const observer = await inSessionOf(app, { conferenceId, personId: observerId });
  expect((await official.get('/my/seasons')).text).toContain('Week 3');
  for (const agent of [official, observer])
    await agent
      .post(`/my/seasons/${id}/availability`)
      .type('form')
      .send({ away: ['2', '9'], note: 'A wedding' })
      .expect(303);
  const { text } = await coordinator.get(`/seasons/${id}/availability`).expect(200);
  expect(text).toContain('8 of 10 have not answered yet');
  expect(text).toContain('A wedding');
  const { loadObservers } = await import('../../server/observers/stores/season-store.ts');
  const absences = async (seasonId?: string) =>
    (await loadObservers(database.pool, conferenceId, seasonId)).find(({ id: one }) => one === observerId)!
      .absences;
  // Week 9 is none of the season's.
  expect(await absences(id)).toEqual([{ from: '2032-09-06', to: '2032-09-12', of: 'all work' }]);
  expect(await absences(seasons.second.id)).toEqual([]);
  // Answered again, it takes the place of the first.
  await observer.post(`/my/seasons/${id}/availability`).type('form').send({}).expect(303);
  expect(await absences(id)).toEqual([]);
  await coordinator.post(`/my/seasons/${id}/availability`).type('form').send({}).expect(404);
});
