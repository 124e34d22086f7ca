// @module-tag rest
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { type FinalToFill, finalToFill } from '../postseason/final-to-fill.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// A selection from tiers to its record: a committee votes, sealed, on a telephone and on a desk; a choice passes somebody
// over, with its reasons; the official accepts; and the record tells it all.

let database: TestDatabase;
let app: FastifyInstance;
let address: string;
let browser: Browser;
let final: FinalToFill;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  final = await finalToFill(database, app);
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await app?.close();
  await database?.drop();
});

async function pageOf(personId: string, width: number): Promise<Page> {
  const device = await browser.newContext({ viewport: { width, height: 900 } });
  const { conferenceId } = final.game;
  await signIn(device, address, await startSession(database.pool, { conferenceId, personId }));
  return device.newPage();
}

const pictures = process.env.PICTURES;
async function look(page: Page, name: string, widths: readonly number[] = []) {
  const at = page.viewportSize()!.width;
  for (const width of [at, ...widths]) {
    await page.setViewportSize({ width, height: 900 });
    const [inside, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    expect([name, width, inside! <= room!]).toEqual([name, width, true]);
    if (pictures)
      await page.screenshot({ path: path.join(pictures, `${name}-${width}.png`), fullPage: true });
  }
  await page.setViewportSize({ width: at, height: 900 });
  expect([name, await accessibilityProblems(page)]).toEqual([name, []]);
}
const words = async (page: Page) => (await page.textContent('main'))!.replaceAll(/\s+/g, ' ');

test('from tiers to the record: sealed votes, reasons, an offer accepted, and all of it in the PDF', async () => {
  const { game, reader } = final;
  const { id, gameId } = await final.made('The last game', { name: 'Last game', playedOn: '2199-12-12' });
  const desk = await pageOf(game.coordinatorId, 1280);
  await desk.goto(`${address}/postseason/${id}/candidates?position=umpire&game=${gameId}&slot=umpire`);
  expect(await words(desk)).toMatch(/Tier 1 .*not told apart for sure/);
  const ranked = await desk.locator('main tbody th[scope=row]').allInnerTexts();
  const [best, second] = ranked.map((name) => name.trim().split('\n')[0]!);
  await look(desk, 'walk-tiers', [820]);

  await desk.goto(`${address}/postseason/${id}`);
  await desk.click('button:text-is("Propose")');
  expect(await words(desk)).toContain('Nobody is chosen by it.');
  await desk.click('main a:text-is("Committee")');
  for (const who of ['Coordinator', 'Reader']) {
    await desk.selectOption('select[name=personId]', {
      label: (await desk.locator('select[name=personId] option').allInnerTexts()).find((one) =>
        one.includes(who === 'Coordinator' ? '(coordinator)' : 'Ottoline Reader'),
      )!,
    });
    await desk.click('button:text-is("Add")');
  }
  await look(desk, 'walk-committee', [820]);
  await desk.click('button:text-is("Begin sealed voting")');
  expect(await words(desk)).toContain('2 members, 0 sealed');

  // A third member writes something and is taken off: it is asked first, since what they wrote goes with them.
  await desk.selectOption('select[name=personId]', {
    label: (await desk.locator('select[name=personId] option').allInnerTexts()).find((one) =>
      one.includes('Lucan Latecomer'),
    )!,
  });
  await desk.click('button:text-is("Add")');
  const late = await pageOf(final.late, 390);
  await late.goto(`${address}/my/committee/${id}`);
  await late.click('button:text-is("Declare, be it none")');
  await late.click('main a:has-text("Umpire")');
  await late.locator('textarea >> nth=0').fill('Not to be read.');
  await late.click('button:text-is("Keep")');
  await desk.getByRole('button', { name: 'Take off Lucan Latecomer' }).click();
  expect(await words(desk)).toContain('has begun a ballot, and has sealed nothing yet.');
  await look(desk, 'walk-taking-off', [820, 390]);
  await desk.click('button:has-text("and delete what they wrote")');
  expect(await words(desk)).toContain('2 members, 0 sealed');

  const telephone = await pageOf(reader, 390);
  await telephone.goto(`${address}/my/committee`);
  await telephone.click('main a:text-is("The last game")');
  await look(telephone, 'walk-seat');
  expect(await words(telephone)).toMatch(/Umpire 8 to read/);
  await telephone.click('button:text-is("Declare, be it none")');
  await telephone.click('main a:has-text("Umpire")');
  await telephone
    .getByRole('group', { name: `Your vote on ${second}` })
    .getByLabel('For')
    .check();
  await telephone.locator('textarea >> nth=0').fill('Best in the rain.');
  await look(telephone, 'walk-ballot');
  await telephone.click('button:text-is("Keep")');
  await telephone.click('button:text-is("Seal your ballot")');
  expect(await words(telephone)).toContain('You sealed your ballot');

  await desk.goto(`${address}/my/committee/${id}`);
  await desk.click('button:text-is("Declare, be it none")');
  await desk.click('main a:has-text("Umpire")');
  await desk
    .getByRole('group', { name: `Your vote on ${second}` })
    .getByLabel('For')
    .check();
  await desk.click('button:text-is("Keep")');
  await desk.click('button:text-is("Seal your ballot")');
  await desk.goto(`${address}/postseason/${id}/decisions`);
  expect(await words(desk)).not.toContain('Best in the rain.');
  await desk.goto(`${address}/postseason/${id}/committee`);
  await desk.click('button:text-is("Open all together")');

  const who = final.umpires.indexOf(await idOf(second!));
  await desk.goto(`${address}/postseason/${id}/candidates?position=umpire&game=${gameId}&slot=umpire`);
  await desk
    .locator('tr', { hasText: second! })
    .getByRole('button', { name: /Choose/ })
    .click();
  // What was proposed stays beside it.
  await desk.goto(`${address}/postseason/${id}`);
  expect(await words(desk)).toMatch(/people chose otherwise|as chosen/);
  await look(desk, 'walk-proposed-and-chosen', [820, 390]);
  await desk.goto(`${address}/seasons/${final.game.seasonId}/official-facts`);
  await desk.fill('main tbody input[name$=".years"] >> nth=0', '7');
  await desk.click('main form button:text-is("Keep")');
  await look(desk, 'walk-facts', [820]);
  await desk.goto(`${address}/postseason/${id}/decisions`);
  const open = await words(desk);
  expect(open).toContain('umpire, Last game: the choice and one passed over');
  expect(open).toContain('2 for, 0 against');
  await look(desk, 'walk-decisions', [820]);
  await desk.getByLabel(`Why ${second}`).fill('Both votes, and the semifinal went well.');
  await desk.getByLabel(`Why not ${best}`).fill('In one tier, and asked not to travel.');
  await desk.click('button:has-text("Keep reasons")');
  expect(await words(desk)).toContain('Every choice, and everyone passed over, has a reason.');

  await desk.goto(`${address}/postseason/${id}/offers`);
  await desk.fill('#field-answerBy', '2199-11-28');
  await desk.fill('#field-embargoUntil', '2199-11-30T18:00');
  await desk.locator('main form button[type=submit]').first().click();
  expect(await words(desk)).toContain('Offered; each official is told.');
  const own = await pageOf(final.umpires[who]!, 390);
  await own.goto(`${address}/my/postseason`);
  expect(await words(own)).not.toMatch(/Best in the rain|tier|rank/i);
  await own.click('button:text-is("Accept")');

  await desk.goto(`${address}/postseason/${id}/close`);
  expect(await words(desk)).toContain('nobody is chosen');
  await look(desk, 'walk-close', [820]);
  await desk.fill('#reason', 'The other places are filled by the hosts.');
  await desk.click('button:text-is("Close it and write the record")');
  await look(desk, 'walk-record', [820]);
  const pdf = await desk.request.get(`${address}/postseason/${id}/record.pdf`);
  const text = execFileSync('pdftotext', ['-', '-'], {
    input: await pdf.body(),
    encoding: 'utf8',
  });
  const flat = text.replaceAll(/\s+/g, ' ');
  for (const told of [
    best,
    second,
    'Best in the rain.',
    'asked not to travel',
    'filled by the hosts',
    'accepted',
  ])
    expect(flat).toContain(told);

  // Written before lists of names were kept: whose data is erased is not known to be in it, and it goes all the same.
  await inTransaction(database.pool, async (client) => {
    await client.query(`SELECT set_config('crewmark.taking_away', 'on', true)`);
    await client.query('UPDATE selection_record SET named = NULL WHERE selection_id = $1', [id]);
  });
  await desk.goto(`${address}/postseason/${id}/record`);
  expect(await words(desk)).toContain(
    'so that the erasure of anybody’s data takes its file. Keep a copy elsewhere.',
  );
  await look(desk, 'record-unlisted', [820]);
  const erased = final.umpires[who]!;
  await desk.goto(`${address}/people/${erased}/data`);
  await desk.fill('input[name=name]', second!);
  await desk.fill('input[name=reason], textarea[name=reason]', 'Asked for it.');
  await desk.locator('form[action$="/erase"] button').click();
  const hash = createHash('sha256')
    .update(await pdf.body())
    .digest('hex');
  for (const page of ['record', 'decisions', 'offers', 'committee', 'candidates', '']) {
    await desk.goto(`${address}/postseason/${id}/${page}`);
    expect([page, (await words(desk)).includes(second!)]).toEqual([page, false]);
    await look(desk, `erased-${page}`, [820]);
  }
  await desk.goto(`${address}/postseason/${id}/decisions`);
  expect(await words(desk)).toContain('Nobody was chosen. Candidates');
  expect(await words(desk)).not.toMatch(/Choose|chosen yet/);
  await desk.goto(`${address}/postseason/${id}`);
  expect(await words(desk)).not.toMatch(/Choose|nobody yet/);
  await desk.goto(`${address}/postseason/${id}/record`);
  expect(await words(desk)).not.toContain('its record stays as it was written');
  expect(await words(desk)).toContain(
    'Its file went when somebody’s data was erased. It was written before it was kept whom a record names',
  );
  expect(await words(desk)).toContain(hash);
  expect(await desk.locator('a[href$="record.pdf"]').count()).toBe(0);
  // A link to the file that somebody kept says where to look.
  await desk.goto(`${address}/postseason/${id}/record.pdf`);
  expect(await words(desk)).toContain(
    'is no longer kept: the selection’s page Record says why, and its hash stays.',
  );
  await look(desk, 'erased-record-pdf', [820]);
});

async function idOf(name: string): Promise<string> {
  const { rows } = await database.pool.query<{ id: string }>(
    `SELECT id FROM person WHERE given_name || ' ' || family_name = $1`,
    [name],
  );
  return rows[0]!.id;
}
