// @module-tag rest
import type { FastifyInstance } from 'fastify';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { makePerson } from '../support/people.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// An inquiry from its question to its letter, by pages alone: the contact and the official on a telephone (390 px), the
// coordinator on a tablet (820) and at a desk (1280). No page is wider than its window.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let season: TaughtSeason;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  season = await taughtSeason(database.pool);
  await database.pool.query(`UPDATE game SET kickoff = now() - interval '20 hours' WHERE id = $1`, [
    season.gameId,
  ]);
  browser = await launchChromium();
});
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function pageOf(personId: string, width: number): Promise<Page> {
  const { conferenceId } = season;
  const context = await browser.newContext({ viewport: { width, height: 900 } });
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
  return context.newPage();
}

/** Nothing sticks out; and a picture, where somebody wants to look. */
async function look(page: Page, name: string) {
  expect([name, await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)]).toEqual(
    [name, 0],
  );
  const folder = process.env.SCREENSHOTS;
  if (folder) await page.screenshot({ path: `${folder}/inquiry-${name}.png`, fullPage: true });
}

test('a contact asks on a telephone, the crew is asked, the coordinator answers, the letter is there', async () => {
  const { conferenceId } = season;
  const person = await makePerson(database.pool, conferenceId, ['team contact'], { familyName: 'Contact' });
  await database.pool.query(
    `INSERT INTO team_contact (conference_id, person_id, team_id)
     SELECT conference_id, $2, visiting_team_id FROM game WHERE id = $1`,
    [season.gameId, person.personId],
  );

  const contact = await pageOf(person.personId, 390);
  await contact.goto(address);
  expect(contact.url()).toBe(`${address}/my/inquiries`);
  await look(contact, 'own-390');
  await contact.click('text=Ask about a play');
  await contact.click('summary:has-text("It is not in the list")');
  await contact.selectOption('#quarter', '1');
  await contact.fill('[name=clock]', '0:01');
  await contact.selectOption('#category', 'a foul that was not called');
  await contact.fill('#film', 'Our end zone view, 0:42:10 to 0:42:25');
  await contact.fill('#question', 'Was the grasp at the edge by rule a foul?');
  await contact.click('button:has-text("Send to the conference")');
  // The play is not there: the nearest are named, and nothing that was written is gone.
  await contact.waitForSelector('text=There is no play at Q1 0:01');
  expect(await contact.inputValue('#question')).toBe('Was the grasp at the edge by rule a foul?');
  await look(contact, 'ask-refused-390');
  await contact.selectOption('#playId', season.playIds[1]!);
  await contact.click('button:has-text("Send to the conference")');
  await contact.waitForSelector('text=The conference answers by');
  await look(contact, 'sent-390');

  const coordinator = await pageOf(season.coordinatorId, 1280);
  await coordinator.goto(`${address}/desk`);
  await look(coordinator, 'desk-1280');
  await coordinator.click('text=Take it up');
  await look(coordinator, 'received-1280');
  await coordinator.click('button:has-text("Take it up")');
  await coordinator.click('summary:has-text("Ask for a statement")');
  await coordinator.check(`input[value="${season.crew.umpire}"]`);
  await coordinator.click('button:has-text("Ask them")');
  await coordinator.waitForSelector('text=no statement yet');

  const official = await pageOf(season.crew.umpire!, 390);
  await official.goto(`${address}/desk`);
  await official.click('.notice a:has-text("Visitors at Home")');
  await official.fill('#text', 'I had the tackle in view and saw no grasp.');
  await look(official, 'statement-390');
  await official.click('button:has-text("Send it to the coordinator")');
  await official.waitForSelector('text=Sent to the coordinator');

  await coordinator.setViewportSize({ width: 820, height: 1100 });
  await coordinator.reload();
  await coordinator.waitForSelector('text=I had the tackle in view');
  await coordinator.check('input[name=ruling][value=incorrect]');
  await coordinator.fill('#field-rule', 'Rule 9-3');
  await coordinator.click('button:has-text("Answer and send the letter")');
  await coordinator.waitForSelector('text=a ruling without one is not answered');
  await look(coordinator, 'answer-refused-820');
  await coordinator.fill('#reason', 'The grasp restricts the receiver at the point of attack.');
  await coordinator.click('button:has-text("Answer and send the letter")');
  await coordinator.waitForSelector('text=Answered: the letter goes to the team');
  await look(coordinator, 'answered-820');
  await coordinator.setViewportSize({ width: 1280, height: 900 });
  await coordinator.goto(`${address}/inquiries`);
  await look(coordinator, 'list-1280');
  await coordinator.click('text=By category and outcome');
  await look(coordinator, 'counts-1280');

  await contact.goto(`${address}/my/inquiries`);
  await contact.click('text=Inquiry 1');
  await contact.waitForSelector('text=Answer: incorrect');
  await look(contact, 'answered-390');
  const link = await contact.getAttribute('a:has-text("The letter")', 'href');
  const letter = await contact.request.get(`${address}${link}`);
  expect((await letter.body()).subarray(0, 5).toString()).toBe('%PDF-');
  for (const width of [820, 1280]) {
    await contact.setViewportSize({ width, height: 900 });
    await look(contact, `answered-${width}`);
  }
});
