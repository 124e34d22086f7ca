// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { manySittings } from '../quizzes/many-sittings.ts';
import { takenQuiz } from '../quizzes/taken-quiz.ts';
import { type MadeSeason, madeSeason } from '../results/made-season.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A letter says which quizzes its official took and which clinics they attended. What is noted after it was drafted makes
// that one letter out of date, and nobody else's.
let database: TestDatabase;
let app: FastifyInstance;
let season: MadeSeason;
let coordinator: SignedInAgent;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  season = await madeSeason(database.pool, [
    {
      game: 'g1',
      observer: 'Able',
      lines: ['Baker', 'Calder'].map((official) => ({ official, opportunities: 20, notMet: 2 })),
    },
  ]);
  coordinator = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const address = () => `/api/seasons/${season.seasonId}`;
async function draft() {
  await coordinator
    .post(`${address()}/letter-batches`)
    .send({ kind: 'mid-season', replyBy: null })
    .expect(202);
  await app.letterWork.idle();
}
async function outOfDate(): Promise<string[]> {
  const { body } = await coordinator.get(`${address()}/letters?kind=mid-season`).expect(200);
  const lines = body.letters as { name: string; letter: { outOfDate: boolean } | null }[];
  expect(lines.map(({ letter }) => letter !== null)).toEqual([true, true]);
  return lines.filter(({ letter }) => letter!.outOfDate).map(({ name }) => name);
}
const ofBaker = () => ({
  conferenceId: season.conferenceId,
  seasonId: season.seasonId,
  officialId: season.people.get('Baker')!,
});

test('a quiz handed in after a letter was drafted makes that letter out of date, until it is made again', async () => {
  await draft();
  expect(await outOfDate()).toEqual([]);
  const { quizId } = await takenQuiz(database.pool, ofBaker());
  expect(await outOfDate()).toEqual([]); // handed in before the draft
  await database.pool.query('UPDATE quiz_attempt SET ended_at = now() WHERE quiz_id = $1', [quizId]);
  expect(await outOfDate()).toEqual(['Official Baker']);
  const release = () => coordinator.post(`${address()}/letters/release`).send({ kind: 'mid-season' });
  expect((await release().expect(200)).body).toMatchObject({ released: 1, outOfDate: 1 });
  await draft();
  expect(await outOfDate()).toEqual([]);
});

test('so does a clinic at which somebody is noted', async () => {
  const { conferenceId, seasonId, officialId } = ofBaker();
  const { rows } = await database.pool.query<{ id: string }>(
    `INSERT INTO clinic (conference_id, season_id, title, held_on) VALUES ($1, $2, 'August', '2026-08-01') RETURNING id`,
    [conferenceId, seasonId],
  );
  await database.pool.query(
    'INSERT INTO clinic_attendance (conference_id, clinic_id, season_id, official_id) VALUES ($1, $2, $3, $4)',
    [conferenceId, rows[0]!.id, seasonId, officialId],
  );
  expect(await outOfDate()).toEqual([]);
  await coordinator
    .put(`/api/clinics/${rows[0]!.id}/attendance`)
    .send({ people: [{ officialId, state: 'attended' }] })
    .expect(200);
  expect(await outOfDate()).toEqual(['Official Baker']);
});

test('others’ sittings move the measure of who took the same quiz, once ten have taken it', async () => {
  const { conferenceId, seasonId, officialId } = ofBaker();
  const { rows: others } = await database.pool.query<{ id: string }>(
    `INSERT INTO person (conference_id, given_name, family_name, email)
     SELECT $1, 'Taker', n::text, n || '@takers.example.test' FROM generate_series(1, 9) AS n RETURNING id`,
    [conferenceId],
  );
  const takers = [officialId, ...others.map(({ id }) => id)];
  const quizId = await manySittings(database.pool, {
    conferenceId,
    seasonId,
    title: 'Measured',
    closesAt: new Date(Date.now() - 3_600_000),
    // Each question is right of some and wrong of others.
    taken: new Map(takers.map((id, at) => [id, [[0, 1, 2, 3].map((n) => ((at + n) % 3 === 0 ? 0 : 1))]])),
  });
  const sits = (id: string, ended: string) =>
    database.pool.query(
      `UPDATE quiz_attempt SET ended_at = ${ended} WHERE conference_id = $1 AND quiz_id = $2 AND official_id = $3`,
      [conferenceId, quizId, id],
    );
  await sits(takers[9]!, 'NULL, ended_by = NULL');
  await draft();
  await sits(takers[8]!, 'now()');
  expect(await outOfDate()).toEqual([]); // nine have taken it: counts alone
  await sits(takers[9]!, "now(), ended_by = 'official'");
  expect(await outOfDate()).toEqual(['Official Baker']);
  // A batch that reads a season, and makes its last letter after somebody sat.
  await database.pool.query(
    'UPDATE letter SET created_at = now() WHERE conference_id = $1 AND released_at IS NULL',
    [conferenceId],
  );
  expect(await outOfDate()).toEqual(['Official Baker']);
  await draft();
  expect(await outOfDate()).toEqual([]);
});
