// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type FinalToFill, finalToFill } from './final-to-fill.ts';

// Rotation is told by seasons, as pages say it: a season may begin or end a postseason game on either side of a calendar day.

let database: TestDatabase;
let app: FastifyInstance;
let there: FinalToFill;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  there = await finalToFill(database, app);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

/** A game after a season that an official accepted. */
async function worked(seasonId: string, playedOn: string, officialId: string) {
  const { conferenceId, coordinatorId } = there.game;
  const { rows } = await database.pool.query(
    `WITH s AS (
       INSERT INTO selection (conference_id, season_id, title, rules, weights, made_by)
       VALUES ($1, $2, $3, '{}', '{}', $4) RETURNING id),
     g AS (
       INSERT INTO selection_game (conference_id, selection_id, name, played_on, crew_size)
       SELECT $1, id, 'A final', $5, 4 FROM s RETURNING id, selection_id)
     INSERT INTO selection_offer (conference_id, selection_id, game_id, slot, position, official_id, offered_by, answer_by,
                                  answer, answered_at)
     SELECT $1, selection_id, id, 'umpire', 'umpire', $6, $4, $5, 'accepted', now() FROM g RETURNING id`,
    [conferenceId, seasonId, `Of ${playedOn}`, coordinatorId, playedOn, officialId],
  );
  expect(rows).toHaveLength(1);
}

test('games of this season so far and of the three before it count, whatever their day', async () => {
  const { pool } = database;
  const { conferenceId, seasonId } = there.game;
  const [umpire, other] = there.umpires as [string, string];
  const seasons: string[] = [];
  for (const year of [2025, 2024, 2023, 2022]) {
    const { rows } = await pool.query(
      `INSERT INTO season (conference_id, name) VALUES ($1, $2) RETURNING id`,
      [conferenceId, String(year)],
    );
    seasons.push(rows[0].id);
    await pool.query(
      `INSERT INTO season_week (conference_id, season_id, number, first_day, last_day) VALUES ($1, $2, 1, $3, $4)`,
      [conferenceId, rows[0].id, `${year}-08-25`, `${year}-08-31`],
    );
  }
  // The season of the final has its week, too: its day decides, not when it was entered.
  await pool.query(
    `INSERT INTO season_week (conference_id, season_id, number, first_day, last_day)
     VALUES ($1, $2, 1, '2026-08-24', '2026-08-30') ON CONFLICT DO NOTHING`,
    [conferenceId, seasonId],
  );
  await worked(seasonId, '2026-12-05', umpire);
  await worked(seasons[0]!, '2026-01-03', umpire);
  // More than three calendar years before December 12, 2026, yet of the third season before.
  await worked(seasons[2]!, '2023-12-02', umpire);
  // Within them, yet of the fourth season before.
  await worked(seasons[3]!, '2024-01-01', other);
  // Later than the final: not lately yet.
  await worked(seasonId, '2026-12-19', other);
  const { body } = await there.coordinator
    .get(`/api/selections/${there.final.id}/candidates`)
    .query({ position: 'umpire', game: there.final.gameId })
    .expect(200);
  const lately = Object.fromEntries(
    body.candidates.map((one: { officialId: string; lately: number | null }) => [one.officialId, one.lately]),
  );
  expect(lately[umpire]).toBe(3);
  // Of nobody else is any known.
  expect(lately[other]).toBeNull();
});
