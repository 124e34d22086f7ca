// @module-tag rest
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { startSession } from '../../server/accounts/session.ts';
import { type MailServer, mailServer } from '../support/mail-server.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { accessibilityProblems } from './support/accessibility.ts';
import { launchChromium, signIn } from './support/chromium.ts';

// What it exports is the function itself, which its types do not say.
const readSquare = createRequire(import.meta.url)('jsqr') as typeof import('jsqr').default;

let database: TestDatabase;
let app: FastifyInstance;
let mail: MailServer;
let address: string;
let browser: Browser;
let context: BrowserContext;
let page: Page;
let folder: string;

const names = ['Otto Brandt', 'Ines Falk', 'Jonas Hartwell-Castellane', 'Wilma Kestrel', 'Aino Salmi'];

beforeAll(async () => {
  database = await testDatabase();
  mail = await mailServer();
  app = await testApp(database, { SMTP_URL: mail.url, PUBLIC_URL: 'https://grades.lakeshore.example.test' });
  address = await app.listen({ port: 0, host: '127.0.0.1' });
  browser = await launchChromium();
  folder = mkdtempSync(path.join(tmpdir(), 'sheet-'));
});
afterAll(async () => {
  rmSync(folder, { recursive: true, force: true });
  await browser?.close();
  await app?.close();
  await mail?.close();
  await database?.drop();
});
beforeEach(async () => {
  await context?.close();
  context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  page = await context.newPage();
  const conferenceId = await makeConference(database.pool, 'Lakeshore Conference');
  for (const name of names) {
    const [givenName, familyName] = name.split(' ') as [string, string];
    const email = `${givenName.toLowerCase()}.${familyName.toLowerCase()}@officials.example.test`;
    await makePerson(database.pool, conferenceId, ['official'], { givenName, familyName, email });
  }
  const { personId } = await makePerson(database.pool, conferenceId, ['coordinator'], {
    givenName: 'Maren',
    familyName: 'Okafor',
    email: 'maren.okafor@example.test',
    passwordHash: 'none',
  });
  await signIn(context, address, await startSession(database.pool, { conferenceId, personId }));
});

/** What a telephone's camera would read on a page of the PDF, wherever it is: jsQR on overlapping parts of it. */
function squaresOn(pdf: string): Set<string> {
  const image = execFileSync('pdftoppm', ['-r', '150', pdf], { maxBuffer: 100e6 });
  const [, width, height] = /^P6\s+(\d+)\s+(\d+)\s+255\s/
    .exec(image.toString('latin1', 0, 40))!
    .map(Number) as [number, number, number];
  const from = image.length - width * height * 3;
  const found = new Set<string>();
  const size = 380;
  for (let top = 0; top < height - 200; top += 60) {
    for (let left = 0; left < width - 200; left += 150) {
      const rows = Math.min(size, height - top);
      const columns = Math.min(size, width - left);
      const pixels = new Uint8ClampedArray(rows * columns * 4).fill(255);
      for (let y = 0; y < rows; y++) {
        for (let x = 0; x < columns; x++) {
          const at = from + ((top + y) * width + left + x) * 3;
          pixels.set(image.subarray(at, at + 3), (y * columns + x) * 4);
        }
      }
      const square = readSquare(pixels, columns, rows, { inversionAttempts: 'dontInvert' });
      if (square?.data) found.add(square.data);
    }
  }
  return found;
}

test('the sheet prints a card for each person, whose square and words say the same link', async () => {
  await page.goto(`${address}/people`);
  await page.getByRole('link', { name: 'Invite all, and who has come' }).click();
  expect(await accessibilityProblems(page)).toEqual([]);
  await page.getByLabel('On a sheet to print').check();
  await page.getByRole('button', { name: 'Invite', exact: true }).click();
  expect(await page.textContent('h1')).toBe('5 invitations to hand over');
  expect(await page.getByRole('button', { name: 'Print' }).isVisible()).toBe(true);
  expect(await accessibilityProblems(page)).toEqual([]);
  const links = await page.locator('.invitation-address').allTextContents();
  expect(new Set(links).size).toBe(5);

  const pdf = path.join(folder, 'sheet.pdf');
  await page.pdf({
    path: pdf,
    format: 'Letter',
    margin: { top: '12mm', bottom: '12mm', left: '12mm', right: '12mm' },
  });
  const words = execFileSync('pdftotext', [pdf, '-'], { encoding: 'utf8' });
  const unwrapped = words.replace(/\s+/g, '');
  for (const name of names) expect(unwrapped).toContain(name.replace(' ', ''));
  // What is for the coordinator alone is not on paper.
  expect(words).not.toContain('Back to invitations');
  expect(execFileSync('pdfinfo', [pdf], { encoding: 'utf8' })).toMatch(/Pages:\s+1\b/);
  expect(squaresOn(pdf)).toEqual(new Set(links));

  const phone = await browser.newPage({ viewport: { width: 390, height: 844 } });
  await phone.goto(links[0]!.replace('https://grades.lakeshore.example.test', address));
  expect(await phone.textContent('h1')).toBe('Welcome, Otto');
  await phone.close();
});

test('invited by e-mail, each line says how it stands; a refused address says why and can be sent again', async () => {
  mail.refuse.set('ines.falk@officials.example.test', { code: 550, words: 'No such mailbox here' });
  await page.goto(`${address}/people/invitations`);
  await page.getByRole('button', { name: 'Invite', exact: true }).click();
  expect(await page.textContent('[role=status]')).toContain('5 mails are on their way');
  await app.outbox.idle();
  await page.reload();
  const line = page.locator('tr', { hasText: 'Falk, Ines' });
  expect(await line.textContent()).toContain('550 No such mailbox here');
  expect(await accessibilityProblems(page)).toEqual([]);
  mail.refuse.clear();
  await line.getByRole('button', { name: 'Send again' }).click();
  await app.outbox.idle();
  await page.reload();
  expect(await line.locator('.tag').textContent()).toBe('invited');
  await line.getByRole('button', { name: 'Withdraw' }).click();
  expect(await line.locator('.tag').textContent()).toBe('withdrawn');
});

test('on a telephone, who forgot the password gets a link by mail and is in', async () => {
  const phone = await browser.newContext({ viewport: { width: 390, height: 844 } });
  const own = await phone.newPage();
  await database.pool.query("UPDATE person SET password_hash = 'none' WHERE email LIKE 'wilma.kestrel@%'");
  await own.goto(`${address}/sign-in`);
  await own.getByRole('link', { name: 'Forgotten your password?' }).click();
  expect(await accessibilityProblems(own)).toEqual([]);
  await own.getByLabel('E-mail').fill('wilma.kestrel@officials.example.test');
  await own.getByRole('button', { name: 'Send the link' }).click();
  expect(await own.textContent('[role=status]')).toContain('a mail with a link is on its way');
  expect(await accessibilityProblems(own)).toEqual([]);
  expect(await own.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  await app.outbox.idle();
  const mails = mail.to('wilma.kestrel@officials.example.test');
  const link = /\/new-password\/[\w-]{43}/.exec(mails.at(-1)!.text!)![0];
  await own.goto(address + link);
  await own.getByLabel('Password', { exact: true }).fill('whistle under wet boots');
  await own.getByLabel('The same again').fill('whistle under wet boots');
  await own.getByRole('button', { name: 'Set the password' }).click();
  expect(await own.locator('.who', { hasText: 'Wilma Kestrel' }).count()).toBe(1);
  await phone.close();
});
