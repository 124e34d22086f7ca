// @module-tag long
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { StandingLine } from '../../../server/results/standings/season-standings.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { type MadeReport, type MadeSeason, madeSeason } from '../made-season.ts';

// Four umpires, each seen by three observers in turn; Cedar marks everybody down, and saw Reed most. Too few misses for the model of counts.

const misses: [official: string, observer: string, notMet: number][] = [
  ['Reed', 'Cedar', 6],
  ['Reed', 'Cedar', 5],
  ['Reed', 'Cedar', 5],
  ['Reed', 'Cedar', 6],
  ['Reed', 'Ash', 0],
  ['Sedge', 'Ash', 1],
  ['Sedge', 'Birch', 2],
  ['Sedge', 'Ash', 1],
  ['Sedge', 'Birch', 1],
  ['Sedge', 'Cedar', 6],
  ['Tansy', 'Ash', 2],
  ['Tansy', 'Birch', 2],
  ['Tansy', 'Ash', 3],
  ['Tansy', 'Birch', 3],
  ['Tansy', 'Cedar', 8],
  ['Yarrow', 'Birch', 4],
  ['Yarrow', 'Ash', 4],
];
const reports = misses.map(
  ([official, observer, notMet], at): MadeReport => ({
    game: `game ${at}`,
    week: 1 + (at % 5),
    observer,
    lines: [{ official, opportunities: 25, notMet }],
  }),
);

let database: TestDatabase;
let app: FastifyInstance;
let season: MadeSeason;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  season = await madeSeason(database.pool, reports, { minimumGames: 3 });
  coordinator = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

const addressOf = (name: string) => `/seasons/${season.seasonId}/officials/${season.people.get(name)}`;

test.each(['linear', 'counts'])(
  '%s: the page, its file and the API say of the rank as it stands what the standings say',
  async (model) => {
    await coordinator.put(`/api/seasons/${season.seasonId}/standings/model`).send({ model }).expect(200);
    const standings = await coordinator.get(`/api/seasons/${season.seasonId}/standings`).expect(200);
    for (const name of ['Reed', 'Sedge', 'Tansy']) {
      const line = (standings.body.lines as StandingLine[]).find(
        ({ personId }) => personId === season.people.get(name),
      )!;
      const { body } = await coordinator.get(`/api${addressOf(name)}/why`).expect(200);
      const [why] = body;
      const stands = why.ways.find((way: { stands: boolean }) => way.stands);
      expect([why.place, why.adjusted, why.raw]).toEqual([line.rank!.place, line.adjusted!.grade, line.raw]);
      expect(stands.adjusted).toBe(line.adjusted!.grade);
      const { place, tied, low, high } = line.rank!;
      expect(stands.rank).toEqual({ place, tied, low, high, ranked: 3, placeChance: line.placeChance });

      const lost = why.games.reduce((sum: number, game: { pointsLost: number }) => sum + game.pointsLost, 0);
      expect(lost).toBeCloseTo(100 - line.raw!, 9);
      const { official, observers, others } = why.uncertainty;
      const inGames = why.games.reduce(
        (sum: number, game: { uncertainty: number }) => sum + game.uncertainty,
        0,
      );
      expect(inGames + official + observers + others).toBeCloseTo(1, 9);
      // Of the same duties as the points, and nothing is left over.
      const chances = (why.duties as { pointsLost: number; chance: number }[]).filter(
        ({ chance }) => chance > 0,
      );
      expect(chances.every(({ pointsLost }) => pointsLost > 0)).toBe(true);
      expect(chances.reduce((sum, { chance }) => sum + chance, 0)).toBeCloseTo(1, 9);
      for (const { without } of why.games) expect(without.grade).not.toBe(line.adjusted!.grade);

      const page = (await coordinator.get(`${addressOf(name)}/why`).expect(200)).text.replaceAll(/\s+/g, ' ');
      expect(page).toContain(`<span class="figure">${place}</span> of 3 ranked`);
      expect(page).toContain(`<b>${line.adjusted!.grade.toFixed(2)}</b>`);
      expect(page).toContain('Adjusted without it');
      expect(page).toContain('A grade is one input to a human decision.');
      const rows = parse((await coordinator.get(`${addressOf(name)}/why.csv`).expect(200)).text, {
        columns: true,
      }) as Record<string, string>[];
      expect(rows.find((row) => row['as it stands'] === 'yes')).toMatchObject({
        'adjusted grade': line.adjusted!.grade.toFixed(2),
        '90% low': line.adjusted!.low.toFixed(2),
        '90% high': line.adjusted!.high.toFixed(2),
        rank: `${place}`,
        'rank 90% low': `${low}`,
        'rank 90% high': `${high}`,
      });
    }
  },
);

test('left to the season again, the model is the one it speaks for', async () => {
  const address = `/api/seasons/${season.seasonId}/standings`;
  await coordinator.put(`${address}/model`).send({ model: 'by its games' }).expect(200);
  expect((await coordinator.get(address)).body.model.used).toBe('linear');
});

test('it is told what would change the place: the strict observer by name, and single games', async () => {
  const cedar = season.people.get('Cedar');
  const [why] = (await coordinator.get(`/api${addressOf('Reed')}/why`).expect(200)).body;
  expect(why.strictestObserverId).toBe(cedar);
  // As marked Reed is last; where Cedar's severity is not taken out, last again.
  const equal = why.ways.find(({ way }: { way: string }) => way === 'equally strict');
  expect(equal.rank.place).toBe(3);
  expect(why.place).toBe(1);
  expect(why.places).toMatchObject({ best: 1, worst: 3 });
  const page = (await coordinator.get(`${addressOf('Reed')}/why`).expect(200)).text;
  expect(page).toContain('It moves between 1 and 3, by the way it is looked at.');
  expect(page).toContain('Without the reports of Observer Cedar, whose marks are the strictest');
  expect(page).toContain('<li>As though all observers were equally strict: rank 3.</li>');
});

test('whom too few games leave unranked is told so, and what a game less would do', async () => {
  const [yarrow] = (await coordinator.get(`/api${addressOf('Yarrow')}/why`).expect(200)).body;
  expect(yarrow).toMatchObject({ place: null, unrankedReason: '2 of at least 3 games graded', places: null });
  for (const { rank, reason } of yarrow.ways) {
    expect(rank).toBeNull();
    expect(reason).toBeTruthy();
  }
  const page = (await coordinator.get(`${addressOf('Yarrow')}/why`).expect(200)).text;
  expect(page).toContain('Not ranked: 2 of at least 3 games graded.');
  expect(page).not.toContain('What would change this place');
  expect(page).toContain('Not ranked: 1 of at least 3 games graded');
});

test('officials and observers do not see it, nor another conference; nobody is at a wrong address', async () => {
  const other = await personSignedIn(app, (await madeSeason(database.pool, [])).conferenceId, [
    'coordinator',
  ]);
  const own = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.people.get('Reed')!,
  });
  const observer = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.people.get('Ash')!,
  });
  for (const path of [`${addressOf('Reed')}/why`, `${addressOf('Reed')}/why.csv`]) {
    await own.get(path).expect(403);
    await observer.get(path).expect(403);
    await other.agent.get(path).expect(404);
  }
  await own.get(`/api${addressOf('Reed')}/why`).expect(403);
  await other.agent.get(`/api${addressOf('Reed')}/why`).expect(404);
  await coordinator.get(`/seasons/${season.seasonId}/officials/${season.seasonId}/why`).expect(404);
  // The official's own evaluation and grade lead nowhere they may not go.
  expect((await own.get('/my/evaluation').expect(200)).text).not.toContain('/why');
  expect((await own.get(`${addressOf('Reed')}/grade`).expect(200)).text).not.toContain('/why');
  expect((await coordinator.get(addressOf('Reed')).expect(200)).text).toContain(`${addressOf('Reed')}/why`);
  const standings = await coordinator
    .get(`/seasons/${season.seasonId}/standings?position=umpire`)
    .expect(200);
  expect(standings.text).toContain(`${addressOf('Reed')}/why`);
  expect(standings.text).toContain(`${addressOf('Yarrow')}/why`);
});
