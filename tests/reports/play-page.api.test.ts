// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import type { Play } from '../../server/football/play.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type OneGame, oneGame } from './one-game.ts';

// The page of one play: the field beside who owed what, and who may see it.

const run: Play = {
  kind: 'run',
  spot: 34,
  quarter: 2,
  down: 2,
  distance: 7,
  offense: 'home',
  snapSide: 'middle',
  playSide: 'line judge side',
  endSpot: 43,
  endSide: 'line judge side',
  outOfBounds: true,
  score: 'none',
};
const bare: Play = { kind: 'pass', spot: 60 };

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
const pageOf = (at: number) => `/games/${game.gameId}/plays/${game.playIds[at]}/duties`;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, [run, bare]);
  const { conferenceId, gameId } = game;
  await database.pool.query(
    `UPDATE game SET film_link = 'https://film.example.test/first.mp4' WHERE conference_id = $1 AND id = $2`,
    [conferenceId, gameId],
  );
  await database.pool.query(
    `UPDATE play SET film_seconds = 754, note = 'Ask the <umpire> about this.' WHERE conference_id = $1`,
    [conferenceId],
  );
  await database.pool.query(
    `UPDATE team SET name = 'Salt & Pine' WHERE conference_id = $1 AND name = 'Home'`,
    [conferenceId],
  );
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

describe('the drawing', () => {
  test('says in words what it shows, by the teams’ names', async () => {
    const { text } = await coordinator.get(pageOf(0)).expect(200);
    const svg = /<svg class="football-field" role="img"[^>]*aria-label="([^"]*)"/.exec(text)!;
    expect(svg[1]).toContain('Snapped at Salt &amp; Pine’s 34, in the middle');
    expect(svg[1]).toContain('Dead at Salt &amp; Pine’s 43, out of bounds on the line judge’s side');
    expect(svg[1]).toContain('center judge 12 yards behind the ball');
    expect(text).toContain('<li>Has the spot: <strong>the line judge</strong></li>');
  });

  test('carries no style of its own, which the content security policy would not obey', async () => {
    const { text } = await coordinator.get(pageOf(0));
    expect(text.slice(text.indexOf('<svg class="football'), text.indexOf('</svg>'))).not.toMatch(
      /style|<script/,
    );
  });

  test('leads to the film at that moment', async () => {
    const { text } = await coordinator.get(pageOf(0));
    expect(text).toContain('href="https://film.example.test/first.mp4#t&#x3D;754"');
  });

  test('rings who owed something and counts it, the same as the list beside it', async () => {
    const { text } = await coordinator.get(pageOf(0));
    const key = [...text.matchAll(/<a href="#(owed-[a-z-]+)">.*?: (\d+)<\/a>/g)];
    expect(key).toHaveLength(8);
    for (const [, anchor, owes] of key) {
      const section = text.slice(text.indexOf(`id="${anchor}"`)).split('</section>')[0]!;
      expect([anchor, [...section.matchAll(/<strong>/g)].length]).toEqual([anchor, Number(owes)]);
    }
    const ringed = key.filter(([, , owes]) => Number(owes) > 0);
    expect([...text.matchAll(/class="field-ring"/g)]).toHaveLength(ringed.length);
  });

  test('names what was not logged instead of guessing', async () => {
    const { text } = await coordinator.get(pageOf(1)).expect(200);
    expect(text).toContain(
      'Not logged, so not drawn: which team had the ball; the line to gain; what became of the pass',
    );
    expect(text).not.toContain('Hatched');
  });

  test('goes by the code that the rubric is kept with: wider between the hash marks in high school', async () => {
    const college = (await coordinator.get(pageOf(1))).text;
    await database.pool.query(`UPDATE rubric_version SET code = 'high school' WHERE conference_id = $1`, [
      game.conferenceId,
    ]);
    const school = (await coordinator.get(pageOf(1))).text;
    await database.pool.query(`UPDATE rubric_version SET code = 'college' WHERE conference_id = $1`, [
      game.conferenceId,
    ]);
    const spread = (text: string) => {
      const [, from, to] = /class="field-spread" d="M([\d.]+) [\d.]+H([\d.]+)/.exec(text)!;
      return Number(to) - Number(from);
    };
    // Yards between the hash marks: 40 feet, and a third of the field's 160 feet (from memory: check the edition).
    expect(spread(college) / 10).toBeCloseTo(40 / 3, 1);
    expect(spread(school) / 10).toBeCloseTo(160 / 9, 1);
  });

  test('without a crew nobody stands there, and it says so', async () => {
    const other = await oneGame(database.pool, [run]);
    await database.pool.query('DELETE FROM working_crew_member WHERE conference_id = $1', [
      other.conferenceId,
    ]);
    const agent = await inSessionOf(app, { conferenceId: other.conferenceId, personId: other.coordinatorId });
    const { text } = await agent.get(`/games/${other.gameId}/plays/${other.playIds[0]}/duties`).expect(200);
    expect(text).not.toContain('field-official');
    expect(text).toContain('Nobody is entered as working this game yet.');
  });
});

describe('an official', () => {
  test('sees the plays of a game they worked once a report of it is released, without the notes', async () => {
    const { conferenceId, gameId, observerId } = game;
    const umpire = await inSessionOf(app, { conferenceId, personId: game.crew.umpire! });
    const stranger = await personSignedIn(app, conferenceId, ['official']);
    await umpire.get(pageOf(0)).expect(404);
    const reportId = await inTransaction(database.pool, (client) =>
      openReport(client, { conferenceId, personId: observerId }, { gameId, observerId }),
    );
    await umpire.get(pageOf(0)).expect(404);
    await database.pool.query(
      `UPDATE report SET state = 'released', released_at = now(), filed_at = now(), rubric_version_id = $3
        WHERE conference_id = $1 AND id = $2`,
      [conferenceId, reportId, game.rubricVersionId],
    );
    const { text } = await umpire.get(pageOf(0)).expect(200);
    expect(text).toContain('Umpire (U): you');
    expect(text.indexOf('id="owed-umpire"')).toBeLessThan(text.indexOf('id="owed-referee"'));
    expect(text).not.toContain('Ask the');
    expect((await umpire.get(`/games/${gameId}/plays`).expect(200)).text).not.toContain('Ask the');
    expect((await coordinator.get(pageOf(0))).text).toContain('Ask the &lt;umpire&gt; about this.');
    await stranger.agent.get(pageOf(0)).expect(404);
  });
});
