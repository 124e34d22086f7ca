// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Play } from '../../server/football/play.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type OneGame, oneGame } from './one-game.ts';

// A log that contradicts itself is kept, and shown wherever the log is.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let reportId: string;

const down = (play: Partial<Play>): Play => ({
  kind: 'run',
  quarter: 1,
  spot: 30,
  down: 1,
  distance: 10,
  endSpot: 34,
  score: 'none',
  turnover: 'none',
  looseBall: 'none',
  fouls: [],
  ...play,
});

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, [
    down({}),
    down({ spot: 34, down: 2, distance: 6, endSpot: 50 }),
    down({ spot: 50, down: 3, endSpot: 52 }),
    down({ spot: 52, down: 4, distance: 8, score: 'touchdown' }),
    // Logged before there were such facts: nobody can say that it is wrong.
    { kind: 'run', spot: 10 },
  ]);
  reportId = await openReport(
    database.pool,
    { conferenceId: game.conferenceId, personId: game.observerId },
    { gameId: game.gameId, observerId: game.observerId },
  );
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const page = async (personId: string, address: string): Promise<string> => {
  const agent = await inSessionOf(app, { conferenceId: game.conferenceId, personId });
  return (await agent.get(address).expect(200)).text;
};

describe('a play log that contradicts itself', () => {
  it('is counted and linked on the game, its list of plays and the review', async () => {
    for (const [address, who, correct] of [
      [`/games/${game.gameId}`, game.coordinatorId, true],
      [`/games/${game.gameId}/plays`, game.coordinatorId, true],
      [`/reports/${reportId}`, game.coordinatorId, true],
      [`/reports/${reportId}`, game.observerId, false],
    ] as const) {
      const html = await page(who, address);
      expect(html, address).toContain('2 plays contradict themselves or others');
      for (const at of [2, 3]) {
        const link = `/games/${game.gameId}/plays/${game.playIds[at]}${correct ? '' : '/duties'}`;
        expect(html, address).toContain(`<a href="${link}">Play ${at + 1}</a>`);
      }
      expect(html, address).not.toContain(
        `<a href="/games/${game.gameId}/plays/${game.playIds[4]}">Play 5</a>`,
      );
    }
  });

  it('says at the play what contradicts and how to mend it', async () => {
    const says = 'It is 3rd down, but after play 2 it should be 1st.';
    const fix = 'Correct the down or play 2, or insert the play that is missing.';
    const address = `/games/${game.gameId}/plays/${game.playIds[2]}`;
    for (const each of [address, `${address}/duties`]) {
      const html = await page(game.coordinatorId, each);
      expect(html).toContain(`${says} ${fix}`);
    }
    const other = await page(game.coordinatorId, `/games/${game.gameId}/plays/${game.playIds[4]}/duties`);
    expect(other).not.toContain('This cannot be right');
  });

  it('keeps every play', async () => {
    const { rows } = await database.pool.query(
      'SELECT count(*)::int AS plays FROM play WHERE conference_id = $1 AND removed_at IS NULL',
      [game.conferenceId],
    );
    expect(rows[0].plays).toBe(5);
  });
});
