// @module-tag rest
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { writeReply } from '../../server/reports/review/replies.ts';
import { filmOfGame } from '../calibration/film-of-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TaughtSeason, taughtSeason } from './taught-season.ts';

let database: TestDatabase;
let app: FastifyInstance;
let season: TaughtSeason;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  season = await taughtSeason(database.pool);
  coordinator = await inSessionOf(app, {
    conferenceId: season.conferenceId,
    personId: season.coordinatorId,
  });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

// By the HTML standard, as tests/web/html.api.test.ts has it for the pages of the demo season.
const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });

const read = async (address: string, status = 200) => page(await coordinator.get(address), status);
async function page(answer: { status: number; text: string }, status: number) {
  expect([answer.status, answer.status === status ? '' : answer.text]).toEqual([status, '']);
  const { results } = await validator.validateString(answer.text);
  expect(
    results.flatMap(({ messages }) => messages).map(({ message, line }) => `${line}: ${message}`),
  ).toEqual([]);
  return parseHTML(answer.text).document;
}
const words = (document: Document) => document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
const send = (address: string, fields: Record<string, string>) =>
  coordinator.post(address).type('form').send(fields);

/** Sends the form of a button as a browser does: what its fields hold, with what is typed in place of it. */
async function press(document: Document, label: RegExp, typed: Record<string, string> = {}) {
  const button = [...document.querySelectorAll('main button')].find((one) =>
    label.test(one.getAttribute('aria-label') ?? one.textContent ?? ''),
  );
  if (!button) throw new Error(`There is no button ${label}: ${words(document)}`);
  const form = button.closest('form')!;
  const fields: Record<string, string> = {};
  for (const field of form.querySelectorAll('input, textarea, select')) {
    const name = field.getAttribute('name')!;
    if (field.tagName === 'SELECT') {
      const chosen = field.querySelector('option[selected]') ?? field.querySelector('option');
      if (!field.hasAttribute('multiple')) fields[name] = chosen?.getAttribute('value') ?? '';
    } else if (field.getAttribute('type') === 'checkbox') {
      if (field.hasAttribute('checked')) fields[name] = field.getAttribute('value')!;
    } else
      fields[name] = field.tagName === 'TEXTAREA' ? field.textContent! : (field.getAttribute('value') ?? '');
  }
  if (button.getAttribute('name')) fields[button.getAttribute('name')!] = button.getAttribute('value') ?? '';
  return send(form.getAttribute('action')!, { ...fields, ...typed });
}

let program: string;
const opened = async () => {
  const list = await read(`/seasons/${season.seasonId}/training`);
  const wrong = await page(await press(list, /Open it/, { title: '', goal: 'Look.', minutes: 'x' }), 400);
  expect(words(wrong)).toContain('give the program a title');
  expect((wrong.querySelector('#field-goal') as HTMLTextAreaElement).textContent).toBe('Look.');
  const answer = await press(list, /Open it/, { title: 'Eyes up', goal: 'Look at players.', minutes: '10' });
  expect(answer.status).toBe(303);
  return answer.headers.location!;
};

test('a program from nothing: opened, proposed, changed by hand with the meters moving, taken back', async () => {
  await coordinator.get('/training').expect(302);
  program = await opened();
  const empty = await read(program);
  expect(words(empty)).toContain('Put in a play, and this tells how fair the choice is');
  expect((await press(empty, /^Propose$/)).headers.location).toMatch(/\?proven=yes&short=0$/);
  const full = await read(`${program}?proven=yes&short=0`);
  expect(words(full)).toContain('5 good, 4 bad');
  expect(words(full)).toContain('that is proved');
  expect(full.querySelectorAll('[data-play]')).toHaveLength(9);

  // A good one goes: now there are as many bad as good; another: one is short.
  const place = (document: Document, showing: string) =>
    [...document.querySelectorAll('[data-play]')].findIndex((one) =>
      [...one.querySelectorAll('.tag')].some(({ textContent }) => textContent === showing),
    ) + 1;
  await press(full, new RegExp(`Take out play ${place(full, 'good')}$`));
  const even = await read(program);
  expect(words(even)).toContain('4 good, 4 bad');
  await press(even, new RegExp(`Take out play ${place(even, 'good')}$`));
  const short = await read(program);
  expect(words(short)).toContain('1 good play short');
  expect((await press(short, /Take it back/)).status).toBe(303);
  expect(words(await read(program))).toContain('4 good, 4 bad');
});

test('plays are moved one by one, and an order that somebody else changed is said and kept', async () => {
  const before = await read(program);
  const ids = (document: Document) =>
    [...document.querySelectorAll('[data-play]')].map(({ id }) => id.replace('play-', ''));
  const [first, second] = ids(before);
  await press(before, /Move play 2 up/);
  expect(ids(await read(program)).slice(0, 2)).toEqual([second, first]);
  // The page from before is old now.
  const refused = await page(await press(before, /Move play 3 up/), 409);
  expect(words(refused)).toMatch(/changed this program on .*: moved play 2 to place 1/);
  expect(ids(refused).slice(0, 2)).toEqual([second, first]);
  await press(refused, /Order by topic/);
  expect((await read(program)).querySelector('[data-play] .tag')!.textContent).toBe('good');
});

test('candidates are filtered, and put in and out from where one is', async () => {
  const all = await read(`${program}/candidates`);
  expect(all.querySelectorAll('main tbody tr').length).toBeGreaterThan(8);
  const address = `${program}/candidates?showing=good&position=referee`;
  const some = await read(address);
  expect(some.querySelectorAll('main tbody tr')).toHaveLength(1);
  expect(words(some)).toContain('Worth showing');
  const [button] = some.querySelectorAll('main tbody button');
  const isIn = button!.textContent === 'Take out';
  const answer = await press(some, isIn ? /^Take out: / : /^Put in: /);
  expect(answer.headers.location).toMatch(/candidates\?.*showing=good.*#play-/);
  const after = await read(answer.headers.location!.split('#')[0]!);
  expect(after.querySelector('main tbody button')!.textContent).toBe(isIn ? 'Put in' : 'Take out');
  if (isIn) await press(after, /^Put in: /);
  await read(`${program}/candidates?reason=changed+ruling`).then((none) =>
    expect(words(none)).toContain('No play fits.'),
  );
  // Nowhere else: an address of somebody else's making is not followed.
  const elsewhere = await press(all, /^(Put in|Take out): /, { back: 'https://elsewhere.test/', do: 'in' });
  expect(elsewhere.headers.location).toMatch(/^\/training\/programs\//);
});

test('a card: facts, who owed what, reading time; wrong fields beside their labels; a change meanwhile is shown', async () => {
  const list = await read(program);
  const address = list.querySelector('.program-play a')!.getAttribute('href')!;
  const card = await read(address);
  expect(words(card)).toContain('Who owed what');
  expect(words(card)).toContain('taught here');
  expect(card.querySelector('svg')).not.toBeNull();
  const wrong = await page(
    await press(card, /^Keep the card$/, { question: 'Where?', choice1: 'There' }),
    400,
  );
  expect(words(wrong)).toContain('a question needs two choices or more');
  const fields = {
    answer: 'Through the pile.',
    mechanicCited: 'Dead-ball section',
    firstKey: 'Feet still',
    secondKey: 'Eyes up',
    question: 'Where?',
    choice1: 'Players',
    right1: 'yes',
    choice2: 'Ball',
    narration: Array.from({ length: 60 }, () => 'word').join(' '),
  };
  const kept = await press(card, /^Keep the card$/, fields);
  expect(kept.headers.location).toBe(`${address}?kept`);
  const again = await read(kept.headers.location!);
  // 60 words at 183 a minute take 19.7 seconds; the clip is 16 seconds long and holds 48.
  expect(words(again)).toContain('60 words, 19.7 seconds aloud; the clip is 16 seconds long.');
  expect(words(again)).toContain('3.7 seconds too long: leave out 12 words');
  const late = await page(await press(card, /^Keep the card$/, { ...fields, firstKey: 'Hands still' }), 409);
  expect(words(late)).toContain('Somebody else changed this card while you wrote');
  expect(words(late)).toContain('First key point: Feet still');
  expect(late.querySelector('#field-firstKey')!.getAttribute('value')).toBe('Hands still');
  // Kept again on purpose, it is theirs now.
  expect((await press(late, /^Keep the card$/)).status).toBe(303);
});

test('the frame: what somebody else changed meanwhile is said, what was typed stays', async () => {
  const before = await read(`${program}/frame`);
  await press(before, /Keep it/, { minutes: '6' });
  const late = await page(await press(before, /Keep it/, { title: 'Eyes up, again' }), 409);
  expect(words(late)).toContain('changed the frame');
  expect(late.querySelector('#field-title')!.getAttribute('value')).toBe('Eyes up, again');
  expect((await press(late, /Keep it/)).status).toBe(303);
  expect(words(await read(program))).toContain('Eyes up, again');
});

test('a wrong field, with a change by somebody else meanwhile: theirs is told before it is written over', async () => {
  const card = (await read(program)).querySelector('.program-play a')!.getAttribute('href')!;
  for (const [address, button, wrong, theirs, mine, said] of [
    [
      card,
      /^Keep the card$/,
      { secondsBefore: 'x' },
      { firstKey: 'Stand still' },
      { secondsBefore: '4', firstKey: 'Mine' },
      'First key point: Stand still',
    ],
    [
      `${program}/frame`,
      /Keep it/,
      { minutes: 'x' },
      { goal: 'Theirs.' },
      { minutes: '7', goal: 'Mine.' },
      'changed the frame',
    ],
  ] as const) {
    const before = await read(address);
    expect((await press(before, button, theirs)).status).toBe(303);
    const refused = await page(await press(before, button, wrong), 400);
    expect(words(await page(await press(refused, button, mine), 409))).toContain(said);
    // Also when the field was found wrong before the other's change.
    const first = await page(await press(await read(address), button, wrong), 400);
    expect(
      (await press(await read(address), button, { ...theirs, firstKey: 'Theirs again', goal: 'Again.' }))
        .status,
    ).toBe(303);
    await page(await press(first, button, mine), 409);
  }
});

test('a release says what stands in its way; once released it is read as it was', async () => {
  const mark = season.marks.get('1 umpire')!;
  await inTransaction(database.pool, (client) =>
    writeReply(client, { conferenceId: season.conferenceId, personId: mark.personId }, mark.id, 'No.'),
  );
  const untold = { untoldBecause: 'They were told by telephone.' };
  const look = await read(`${program}/release`);
  expect(words(look)).toContain('waits for your ruling');
  expect(words(look)).toContain('tell them first');
  expect(words(look)).toContain('have no film');
  const refused = await page(await press(look, /Release edition 1/, untold), 409);
  expect(words(refused)).toMatch(/cannot be released: an official's reply/);
  const list = await read(program);
  const waits = [...list.querySelectorAll('[data-play]')].find((one) =>
    one.textContent!.includes('waits for your ruling'),
  )!;
  await press(list, new RegExp(`${waits.getAttribute('aria-label')!.replace('Play', 'Take out play')}$`));
  const ready = await read(`${program}/release`);
  const released = await press(ready, /Release edition 1/, { namesMeant: 'yes', ...untold });
  expect(released.headers.location).toBe(`${program}/editions/1`);
  const edition = await read(`${program}/editions/1`);
  expect(words(edition)).toContain('Edition 1: Eyes up, again');
  expect(words(edition)).toContain('Without film');
  await filmOfGame(database.pool, season);
  expect(words(await read(`${program}/editions/1`))).toContain('Film came after the release: play');
  expect(words(await read(`/seasons/${season.seasonId}/training`))).toContain('Edition 1');
  // A correction without a word of what it corrects is asked for it.
  const next = await read(`${program}/release`);
  const asked = await page(await press(next, /Release edition 2/, { namesMeant: 'yes', ...untold }), 400);
  expect(words(asked)).toContain('say what was corrected since the last edition');
});

test('a program that was never released can be removed', async () => {
  const other = await opened();
  const answer = await press(await read(other), /Remove it/);
  expect(answer.headers.location).toBe(`/seasons/${season.seasonId}/training`);
  await coordinator.get(other).expect(404);
  expect(words(await page(await send(`${program}/delete`, { _csrf: '' }), 409))).toContain('was released');
});
