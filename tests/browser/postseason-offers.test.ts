// @module-tag rest
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { decidedSelection } from '../support/decided-selection.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// A coordinator offers what was chosen; two officials answer on their telephones; a place is free again and the coordinator
// sees who stands by.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let game: OneGame;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  game = await oneGame(database.pool, 8);
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function pageOf(personId: string, width: number): Promise<Page> {
  const device = await browser.newContext({ viewport: { width, height: 900 } });
  await signIn(
    device,
    address,
    await startSession(database.pool, { conferenceId: game.conferenceId, personId }),
  );
  return device.newPage();
}

const pictures = process.env.PICTURES;
async function look(page: Page, name: string) {
  const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  expect([name, inside! <= room!]).toEqual([name, true]);
  if (pictures) await page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });
  expect([name, await accessibilityProblems(page)]).toEqual([name, []]);
}
const words = async (page: Page) => (await page.textContent('main'))!.replaceAll(/\s+/g, ' ');

test('offered on a desk, answered on telephones, and a place is free again', async () => {
  const { crew, conferenceId, coordinatorId, seasonId } = game;
  const agent = await inSessionOf(app, { conferenceId, personId: coordinatorId });
  const { id } = await decidedSelection(database.pool, agent, seasonId, {
    ...{ title: 'Semifinals', playedOn: '2199-12-05' },
    choices: { referee: crew.referee!, umpire: crew.umpire!, 'alternate 1': crew['back judge']! },
  });
  const desk = await pageOf(coordinatorId, 1280);
  await desk.goto(`${address}/postseason/${id}`);
  await desk.click('main a:text-is("Offers")');
  await look(desk, 'offers-chosen-1280');
  await desk.click('button:text-is("Offer all 3 chosen places")');
  expect(await words(desk)).toContain('say the last day to answer');
  await desk.fill('#field-answerBy', '2199-11-28');
  await desk.fill('#field-embargoUntil', '2199-11-30T18:00');
  await desk.click('button:text-is("Offer all 3 chosen places")');
  expect(await words(desk)).toContain('Offered; each official is told.');
  expect(await words(desk)).toContain('0 of 5 places accepted, 3 not answered yet');

  const telephone = await pageOf(crew.umpire!, 390);
  await telephone.goto(`${address}/desk`);
  await look(telephone, 'offers-desk-390');
  await telephone.click('main a:has-text("Semifinals final")');
  await look(telephone, 'offers-message-390');
  await telephone.click('main a:text-is("Accept or decline")');
  const own = await words(telephone);
  expect(own).toContain('Please keep it to yourself until');
  expect(own).toContain('November 28, 2199');
  expect(own).not.toMatch(/rank|tier|vote|chance/i);
  const { rows } = await database.pool.query<{ name: string }>(
    `SELECT given_name || ' ' || family_name AS name FROM person WHERE conference_id = $1 AND id = ANY ($2)`,
    [conferenceId, [crew.referee, crew['back judge']]],
  );
  const names = rows.map(({ name }) => name);
  for (const name of names) expect(own).not.toContain(name);
  await look(telephone, 'offers-own-390');
  await telephone.click('button:text-is("Accept")');
  expect(await words(telephone)).toContain('You have accepted.');
  await look(telephone, 'offers-accepted-390');

  const other = await pageOf(crew.referee!, 390);
  await other.goto(`${address}/my/postseason`);
  await other.fill('textarea[name=reason]', 'My daughter marries that day.');
  await other.click('button:text-is("Decline")');
  expect(await words(other)).toContain('You have declined.');
  await look(other, 'offers-declined-390');

  await database.pool.query(`UPDATE selection_offer SET answer_by = '2020-11-28' WHERE slot = 'alternate 1'`);
  const third = await pageOf(crew['back judge']!, 390);
  await third.goto(`${address}/my/postseason`);
  expect(await words(third)).toContain('the coordinator decides now');
  expect(await third.locator('main button').count()).toBe(0);
  await look(third, 'offers-late-390');

  await desk.reload();
  await desk.goto(`${address}/postseason/${id}/offers`);
  const now = await words(desk);
  expect(now).toContain('1 of 5 places accepted, 1 not answered in time, 1 free again');
  expect(now).toContain('My daughter marries that day.');
  expect(now).toMatch(/Move \S+ \S+ ?\S* up/);
  // The desk leads here: what was not answered, and what is free.
  await desk.goto(`${address}/desk`);
  await look(desk, 'offers-coordinators-desk-1280');
  await desk.click('main a:text-is("Fill the place")');
  expect(new URL(desk.url()).pathname).toBe(`/postseason/${id}/offers`);
  await desk.click('summary:has-text("Withdraw") >> nth=0');
  await desk.click('summary:has-text("Answered by telephone") >> nth=0');
  await desk.click('summary:has-text("Move") >> nth=0');
  for (const width of [1280, 820, 390]) {
    await desk.setViewportSize({ width, height: 900 });
    await look(desk, `offers-free-${width}`);
  }
  // The alternate moves up to the free place in one step, and answers by telephone.
  const moving = desk.locator('form[action$="/move-up"]:has(button:text-is("Move up and offer referee"))');
  await moving.locator('input[name=reason]').fill('Named by the committee for this.');
  await moving.locator('input[name=answerBy]').fill('2199-12-01');
  await moving.locator('button').click();
  expect(await words(desk)).toContain('Moved up and offered; they are told of the one new place.');
  await third.goto(`${address}/my/postseason`);
  expect(await words(third)).toContain('You were offered another place of this game instead');
  expect(await words(third)).not.toContain('do not travel');
  await look(third, 'offers-moved-up-390');
  const calling = desk.locator('details:has(form[action$="/telephone"])');
  expect(await calling.count()).toBe(1);
  await calling.locator('summary').click();
  await calling.locator('input[name=note]').fill('Taken by the office, November 27, 7 p.m.');
  await calling.locator('button:text-is("They accepted")').click();
  expect(await words(desk)).toContain('Written down as you were told; the official is told so, too.');
  expect(await words(desk)).toContain('2 of 5 places accepted');
  await look(desk, 'offers-recorded-390');
  await desk.setViewportSize({ width: 1280, height: 900 });
  await look(desk, 'offers-recorded-1280');
  await third.reload();
  expect(await words(third)).toContain('wrote this down as what you told by telephone');
  await look(third, 'offers-recorded-own-390');
  await third.goto(`${address}/desk`);
  await third.click('main a:has-text("Written down for you")');
  expect(await words(third)).toContain('Taken by the office, November 27, 7 p.m.');

  const taking = desk.locator('tr:has(th:text-is("Umpire")) details:has-text("Withdraw")');
  await taking.locator('summary').click();
  await taking.locator('input[name=reason]').fill('Your home team plays in it now.');
  await taking.locator('button').click();
  expect(await words(desk)).toContain('Withdrawn; the official is told.');
  await telephone.goto(`${address}/my/postseason`);
  expect(await words(telephone)).toContain('Your home team plays in it now.');
  await look(telephone, 'offers-withdrawn-390');
});
