// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { openReport, putMarks } from '../../server/reports/filing/open-report.ts';
import { everybodysDuty, type OneGame, oneGame, plainPlay } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let season: string;

// Sixty plays; on the third, which has a foul, the umpire has a miss; on the fourth the referee did well. A second game
// is played next week, with no report.
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  const plays = Array.from({ length: 60 }, (_, at) => {
    const play = plainPlay(at + 1);
    return at === 2 ? { ...play, fouls: [{ foul: 'holding', by: 'offense' as const }] } : play;
  });
  game = await oneGame(database.pool, plays);
  season = `/seasons/${game.seasonId}`;
  const { conferenceId, gameId, observerId } = game;
  await database.pool.query(
    `UPDATE person SET given_name = 'Jarmila', family_name = 'Żurawiec' WHERE conference_id = $1 AND id = $2`,
    [conferenceId, game.crew.umpire],
  );
  await database.pool.query(`UPDATE game SET kickoff = now() - interval '3 days' WHERE conference_id = $1`, [
    conferenceId,
  ]);
  await database.pool.query(
    `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     SELECT conference_id, season_id, 'back', 2, now() + interval '4 days', visiting_team_id, home_team_id, venue_id
       FROM game WHERE conference_id = $1 AND id = $2`,
    [conferenceId, gameId],
  );
  await inTransaction(database.pool, async (client) => {
    const acting = { conferenceId, personId: observerId };
    const reportId = await openReport(client, acting, { gameId, observerId });
    await putMarks(client, acting, reportId, [
      {
        ...{ playId: game.playIds[2]!, personId: game.crew.umpire!, position: 'umpire', finding: 'missed' },
        ...{ dutyKey: everybodysDuty.key, comment: 'Late to the pile.' },
      },
      {
        ...{ playId: game.playIds[3]!, personId: game.crew.referee!, position: 'referee', finding: 'model' },
        ...{ dutyKey: everybodysDuty.key, comment: 'Well placed.' },
      },
    ]);
  });
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

const page = async (address: string) => (await coordinator.get(address).expect(200)).text;
const plain = (text: string) => text.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ');
const caption = (text: string) => /<caption>([^<]*)</.exec(text)?.[1];
const here = (text: string, list: string) =>
  plain(new RegExp(`aria-label="${list}">[\\s\\S]*?</ul>`).exec(text)![0]).trim();

describe('games', () => {
  test('open at this week; another week, or all, is a click away', async () => {
    const text = await page(season);
    expect(text).toContain('?week&#x3D;2" aria-current="page">2, this week</a>');
    expect(caption(text)).toBe("1 game; kickoff in the venue's time");
    expect(text).toContain('>Home at Visitors</a>');
    expect(await page(`${season}?week=1`)).toContain('>Visitors at Home</a>');
    expect(caption(await page(`${season}?week=all`))).toMatch(/^2 games/);
  });

  test('are found in every week, by report and by words', async () => {
    expect(caption(await page(`${season}?find=visitors+field`))).toMatch(/^2 games/);
    expect(caption(await page(`${season}?find=&state=no+report`))).toMatch(/^1 game;/);
    const begun = await page(`${season}?state=with+the+observer`);
    expect(begun).toContain('>Visitors at Home</a>');
    expect(begun).toContain('<option value="with the observer" selected>');
    expect(await page(`${season}?find=nobody%25`)).toContain('No game fits.');
  });
});

describe('officials', () => {
  test('are found by name without accents, by position, and lead to their page', async () => {
    const text = await page(`${season}/officials?find=zurawiec`);
    expect(caption(text)).toBe('1 official, by name');
    expect(text).toContain(`href="${season}/officials/${game.crew.umpire}">Jarmila Żurawiec</a>`);
    expect(text).toContain('value="zurawiec"');
    expect(caption(await page(`${season}/officials?position=line+judge`))).toBe('1 official, by name');
    expect(caption(await page(`${season}/officials`))).toBe('8 officials, by name');
  });
});

describe('plays', () => {
  test('are found by foul, remark, official and number, by kind and by marks', async () => {
    const found = async (query: string) => caption(await page(`${season}/plays?${query}`))?.split(',')[0];
    expect(await found('find=HOLDING')).toBe('1 play');
    expect(await found('find=pile')).toBe('1 play');
    expect(await found('find=zurawiec+late')).toBe('1 play');
    expect(await found('find=play+17')).toBe('1 play');
    expect(await found('kind=run')).toBe('30 plays');
    expect(await found('marked=with+marks')).toBe('2 plays');
    expect(await found('marked=with+misses')).toBe('1 play');
    expect(await found('week=2')).toBeUndefined();
  });

  test('come page by page, with the query kept in the address', async () => {
    const first = await page(`${season}/plays?kind=pass&find=visitors`);
    expect(plain(first)).toContain('1 to 25 of 30');
    const next = /rel="next" href="([^"]+)"/
      .exec(first)![1]!
      .replaceAll('&amp;', '&')
      .replaceAll('&#x3D;', '=');
    expect(next).toBe(`${season}/plays?find=visitors&kind=pass&page=2`);
    const second = await page(next);
    expect(plain(second)).toContain('26 to 30 of 30');
    expect(second).not.toContain('rel="next"');
    expect(plain(await page(`${season}/plays?page=99`))).toContain('51 to 60 of 60');
  });
});

test('one box searches all three; each list says how many it has', async () => {
  const text = await page(`${season}?find=umpire`);
  expect(here(text, 'Lists of the season')).toMatch(/Games 0 Officials 1 Plays 0$/);
  expect(text).toContain(`href="${season}/officials?find&#x3D;umpire"`);
  expect(await page('/desk')).toContain(`action="${season}/find"`);
  const leads = async (find: string) =>
    (await coordinator.get(`${season}/find?find=${find}`).expect(303)).headers.location;
  expect(await leads('zurawiec')).toBe(`${season}/officials?find=zurawiec`);
  expect(await leads('visitors')).toBe(`${season}?find=visitors`);
  expect(await leads('holding')).toBe(`${season}/plays?find=holding`);
  expect(await leads('nothing-like-it')).toBe(`${season}?find=nothing-like-it`);
});

test('what cannot be asked is refused with the name of the field', async () => {
  for (const query of ['page=0', 'page=x', 'week=99', 'marked=perhaps']) {
    const answer = await coordinator.get(`${season}/plays?${query}`);
    expect([query, answer.status]).toEqual([query, 400]);
    expect(answer.text).toContain(query.split('=')[0]);
  }
  const official = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.crew.umpire! });
  for (const list of ['', '/officials', '/plays', '/find'])
    await official.get(`${season}${list}`).expect(403);
});
