// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, Locator, Page } from 'playwright-core';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// A coordinator's week in ten tasks: clicks from the first page after signing in to done, and the same by the menus, as
// it was before there was a desk. Typing is no click. The table stands in DEVELOPERS.md.

let database: TestDatabase;
let app: FastifyInstance;
let browser: Browser;
let page: Page;
let address: string;
let game: OneGame;
let observer: SignedInAgent;
let official: SignedInAgent;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  game = await oneGame(database.pool, 30);
  const { conferenceId } = game;
  observer = await inSessionOf(app, { conferenceId, personId: game.observerId });
  official = await inSessionOf(app, { conferenceId, personId: game.crew.umpire! });
  await database.pool.query(
    `UPDATE game SET kickoff = now() - interval '5 days' WHERE conference_id = $1 AND id = $2`,
    [conferenceId, game.gameId],
  );
  await database.pool.query('DELETE FROM observer_assignment WHERE conference_id = $1 AND observer_id = $2', [
    conferenceId,
    game.secondObserverId,
  ]);
  browser = await launchChromium();
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  await signIn(
    context,
    address,
    await startSession(database.pool, { conferenceId, personId: game.coordinatorId }),
  );
  page = await context.newPage();
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

const menu = (label: string) => page.locator('nav[aria-label=Main] a', { hasText: label }).first();
const inMain = (selector: string, words: string | RegExp) =>
  page.locator(`main ${selector}`, { hasText: words }).first();
const link = (words: string | RegExp) => inMain('a', words);
const button = (words: string | RegExp) => inMain('button', words);

type Step = Locator | (() => Promise<void>);

/** Clicks one after the other from the desk; returns how many. The last is only looked for where it is not to be done. */
async function clicks(steps: readonly Step[], { done }: { done: boolean }): Promise<number> {
  await page.goto(`${address}/desk`);
  let count = 0;
  for (const [at, step] of steps.entries()) {
    if (typeof step === 'function') {
      await step();
      continue;
    }
    count += 1;
    if (at === steps.length - 1 && !done) await step.waitFor();
    else await step.click();
    await page.waitForLoadState();
  }
  return count;
}

interface Task {
  /** By the menus; undefined where there was no way. */
  readonly before?: readonly Step[];
  readonly now: readonly Step[];
  /** What tells that it is done. */
  readonly done: () => Promise<unknown>;
}
async function counted({ before, now, done }: Task) {
  const byMenus = before && (await clicks(before, { done: false }));
  const fromDesk = await clicks(now, { done: true });
  expect(await done()).toBeTruthy();
  return [byMenus ?? '–', fromDesk];
}
const one = async (sql: string) => (await database.pool.query(sql, [game.conferenceId])).rows[0];
const stateOfReport = async () => (await one('SELECT state FROM report WHERE conference_id = $1')).state;

/** Typing is no click. */
const typing = (field: string, text: string) => () => page.fill(field, text);

test('ten tasks, each in as few clicks as the table says', async () => {
  const table: Record<string, (number | string)[]> = {};
  table['confirm who worked a game'] = await counted({
    before: [menu('Season'), link('Visitors at Home'), link(/crew/i), button('Confirm the crew')],
    now: [link('Confirm the crew'), button('Confirm the crew')],
    done: () => one('SELECT FROM game WHERE conference_id = $1 AND crew_confirmed_at IS NOT NULL'),
  });
  table['remind of an overdue report'] = await counted({
    now: [button('Remind Test Observer')],
    done: () => one(`SELECT FROM message WHERE conference_id = $1 AND kind = 'reminder'`),
  });

  const { reportId } = (await observer.post(`/api/games/${game.gameId}/reports`).expect(200)).body;
  const markId = uuidv7();
  const mark = {
    ...{ kind: 'put mark', id: uuidv7(), basedOn: null, markId, playId: game.playIds[2], position: 'umpire' },
    ...{ dutyKey: everybodysDuty.key, finding: 'missed', comment: 'Late to the pile.' },
  };
  await observer
    .post(`/api/reports/${reportId}/changes`)
    .send({ changes: [mark] })
    .expect(200);
  const file = () => observer.post(`/api/reports/${reportId}/file`).expect(200);
  await file();
  const returning = inMain('summary', 'Return to the observer');
  const why = typing('main textarea[name=reason], main input[name=reason]', 'Three plays are missing.');
  table['return a report with a reason'] = await counted({
    before: [menu('Reports'), link('Visitors at Home'), returning, why, button('Return')],
    now: [link(/^Review/), returning, why, button('Return')],
    done: async () => (await stateOfReport()) === 'returned',
  });
  await file();
  table['review a report and accept it'] = await counted({
    before: [menu('Reports'), link('Visitors at Home'), button('Accept')],
    now: [link(/^Review/), button('Accept')],
    done: async () => (await stateOfReport()) === 'accepted',
  });
  table['release it to its officials'] = await counted({
    before: [menu('Reports'), button('Release the chosen')],
    now: [button('Release')],
    done: async () => (await stateOfReport()) === 'released',
  });
  await official
    .post(`/observations/${markId}/reply`)
    .type('form')
    .send({ text: 'I had to give ground.' })
    .expect(303);
  table['rule on a reply'] = await counted({
    before: [menu('Reports'), link('Replies of officials'), link('Test umpire'), button('Rule')],
    now: [link('Rule on it'), button('Rule')],
    done: () => one('SELECT FROM ruling WHERE conference_id = $1'),
  });
  await database.pool.query(
    `UPDATE message SET mail = 'failed', not_mailed_because = NULL, last_error = 'the mail server was away'
      WHERE conference_id = $1 AND kind = 'released' AND person_id = $2`,
    [game.conferenceId, game.crew.umpire],
  );
  table['send a mail again that failed'] = await counted({
    now: [button('Send again')],
    done: async () => !(await one(`SELECT FROM message WHERE conference_id = $1 AND mail = 'failed'`)),
  });

  await database.pool.query(
    `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     SELECT conference_id, season_id, 'soon', week, now() + interval '2 days', visiting_team_id, home_team_id, venue_id
       FROM game WHERE conference_id = $1 AND id = $2`,
    [game.conferenceId, game.gameId],
  );
  const offered = () =>
    one(`SELECT FROM observer_assignment WHERE conference_id = $1 AND answer = 'offered'`);
  const takeBack = () =>
    database.pool.query(`DELETE FROM observer_assignment WHERE conference_id = $1 AND answer = 'offered'`, [
      game.conferenceId,
    ]);
  const pick = page.locator('main input[name=pick]').first();
  table['fill an open place by hand'] = await counted({
    before: [menu('Observers'), link('Choose'), pick, button('Offer the game')],
    now: [link('Choose an observer'), pick, button('Offer the game')],
    done: offered,
  });
  await takeBack();
  const suggested = [menu('Observers'), link('Suggest this week'), button('Offer the ticked games')];
  table['fill a week by the suggestion'] = await counted({
    before: suggested,
    now: suggested,
    done: offered,
  });
  table['an official’s season, for a call'] = await counted({
    before: [menu('Standings'), link('Umpire'), link('Test umpire')],
    now: [typing('main input[name=find]', 'umpire'), button('Find'), link('Test umpire')],
    done: async () => (await page.textContent('main h1'))?.includes('Test umpire'),
  });

  expect(table).toEqual({
    'confirm who worked a game': [4, 2],
    'remind of an overdue report': ['–', 1],
    'return a report with a reason': [4, 3],
    'review a report and accept it': [3, 2],
    'release it to its officials': [2, 1],
    'rule on a reply': [4, 2],
    'send a mail again that failed': ['–', 1],
    'fill an open place by hand': [4, 3],
    'fill a week by the suggestion': [3, 3],
    'an official’s season, for a call': [3, 2],
  });
});
