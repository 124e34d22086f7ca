// @module-tag long
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

// Two seasons of one conference: what is shown of them side by side is what each season's own pages show.

let database: TestDatabase;
let app: FastifyInstance;
let season: TwoSeasons;
let coordinator: SignedInAgent;
let official: SignedInAgent;
let observer: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  season = await twoSeasons(database.pool);
  const sessionOf = (personId: string) => inSessionOf(app, { conferenceId: season.conferenceId, personId });
  coordinator = await sessionOf(season.coordinatorId);
  official = await sessionOf(season.officialId);
  observer = await sessionOf(season.observerId);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const pageAt = async (agent: SignedInAgent, address: string) => {
  const { text } = await agent.get(address).set('accept', 'text/html').expect(200);
  return parseHTML(text).document;
};
const wordsOf = (node: { textContent: string | null } | null | undefined) =>
  node?.textContent?.replace(/\s+/g, ' ').trim() ?? '';

test('an official’s history has each season’s own figures, in the order of play', async () => {
  const { body } = await coordinator.get(`/api/people/${season.officialId}/seasons`).expect(200);
  expect(body).toHaveLength(1);
  const [referee] = body;
  expect(referee.position).toBe('referee');
  expect(referee.seasons.map((one: { season: { name: string } }) => one.season.name)).toEqual([
    '2030',
    '2031',
  ]);
  for (const [at, { id }] of [season.first, season.second].entries()) {
    const { body: standings } = await coordinator.get(`/api/seasons/${id}/standings`).expect(200);
    const line = standings.lines.find(
      (one: { personId: string; position: string }) =>
        one.personId === season.officialId && one.position === 'referee',
    );
    const { raw, games, opportunities, misses } = referee.seasons[at];
    expect({ raw, games, opportunities, misses }).toEqual({
      raw: line.raw,
      games: line.games,
      opportunities: line.opportunities,
      misses: line.misses,
    });
    expect(misses).toBe(1);
  }
  const document = await pageAt(coordinator, `/over-seasons/officials/${season.officialId}`);
  const rows = [...document.querySelectorAll('table.standings tbody tr')].map(wordsOf);
  expect(rows).toHaveLength(2);
  expect(rows[0]).toMatch(/^2030 so far/);
});

test('the same duty reads alike on the official’s, the staff’s and each season’s page', async () => {
  const { body } = await coordinator.get(`/api/people/${season.officialId}/seasons`).expect(200);
  const [duty] = body[0].duties;
  expect(duty.seasons.map((one: { seasonId: string }) => one.seasonId)).toEqual([
    season.first.id,
    season.second.id,
  ]);
  const { body: staff } = await coordinator
    .get('/api/duties-over-seasons')
    .query({ position: 'referee' })
    .expect(200);
  const same = staff.duties.find((one: { key: string }) => one.key === duty.key);
  // He is the only referee, so the staff's are his own.
  expect(same.seasons).toEqual(
    duty.seasons.map(({ opportunities, misses }: { opportunities: number; misses: number }) => ({
      ...{ opportunities, misses, officials: 1 },
    })),
  );
  const own = wordsOf(
    await pageAt(coordinator, `/seasons/${season.first.id}/officials/${season.officialId}/grade`).then(
      (document) => document.querySelector('main'),
    ),
  );
  expect(own).toContain(`${duty.seasons[0].misses} of ${duty.seasons[0].opportunities}`);
  const document = await pageAt(coordinator, '/over-seasons/duties?position=referee');
  expect(wordsOf(document.querySelector('main'))).toContain(
    `${duty.seasons[1].misses} of ${duty.seasons[1].opportunities}`,
  );
});

test('an interval of a share is Wilson’s, as R’s prop.test without correction gives it', async () => {
  const { body } = await coordinator.get(`/api/people/${season.officialId}/seasons`).expect(200);
  const { misses, opportunities, interval } = body[0].duties[0].seasons[0];
  // Wilson (1927) by its closed form, z = qnorm(.975).
  const z = 1.959963984540054;
  const rate = misses / opportunities;
  const middle = (rate + z ** 2 / (2 * opportunities)) / (1 + z ** 2 / opportunities);
  const half =
    (z * Math.sqrt((rate * (1 - rate)) / opportunities + z ** 2 / (4 * opportunities ** 2))) /
    (1 + z ** 2 / opportunities);
  expect(interval.low).toBeCloseTo(middle - half, 9);
  expect(interval.high).toBeCloseTo(middle + half, 9);
});

test('an official sees their own seasons without a rank, and nobody else’s', async () => {
  const { body } = await official.get(`/api/people/${season.officialId}/seasons`).expect(200);
  expect(body[0].seasons.map(({ rank }: { rank: unknown }) => rank)).toEqual([null, null]);
  const document = await pageAt(official, '/my/evaluation/seasons');
  expect(wordsOf(document.querySelector('h1'))).toBe('My seasons');
  expect(wordsOf(document.querySelector('main'))).not.toContain('Likely rank');
  expect(wordsOf((await pageAt(official, '/my/evaluation')).querySelector('.lead'))).toContain(
    'Over the seasons',
  );
  await official.get(`/api/people/${season.observerId}/seasons`).expect(404);
  await official.get(`/over-seasons/officials/${season.officialId}`).expect(403);
  await official.get('/api/observers-over-seasons').expect(403);
  await observer.get('/over-seasons/observers').expect(403);
});

test('of fewer than three others nothing is shown: it would tell of single ones', async () => {
  const { rows: others } = await database.pool.query<{ id: string }>(
    `INSERT INTO person (conference_id, email, given_name, family_name)
     SELECT $1, 'other-' || n || '@crew.example', 'Other', 'Referee ' || n FROM generate_series(1, 3) n RETURNING id`,
    [season.conferenceId],
  );
  const add = (personId: string) =>
    database.pool.query(
      `INSERT INTO game_count (conference_id, game_id, person_id, position, duty_key, rubric_version_id, opportunities,
                               not_met, not_counted, model)
       SELECT conference_id, game_id, $2, position, duty_key, rubric_version_id, 10, 5, 0, model FROM game_count
        WHERE conference_id = $1 AND person_id = $3 AND position = 'referee'`,
      [season.conferenceId, personId, season.officialId],
    );
  const shown = async (): Promise<(number | null)[]> => {
    const { body } = await official.get(`/api/people/${season.officialId}/seasons`).expect(200);
    return body[0].duties[0].seasons.map((one: { othersMissRate: number | null }) => one.othersMissRate);
  };
  await add(others[0]!.id);
  await add(others[1]!.id);
  expect(await shown()).toEqual([null, null]);
  await add(others[2]!.id);
  expect(await shown()).toEqual([0.5, 0.5]);
});

test('observers of both seasons stand beside each other, by each season’s own severity', async () => {
  const { body } = await coordinator.get('/api/observers-over-seasons').expect(200);
  const row = body.observers.find((one: { observerId: string }) => one.observerId === season.observerId);
  expect(row.seasons.map(({ games }: { games: number }) => games)).toEqual([1, 1]);
  expect(wordsOf((await pageAt(coordinator, '/over-seasons/observers')).querySelector('tbody'))).toContain(
    '1 game',
  );
});
