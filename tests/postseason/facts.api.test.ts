import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let second: SignedInAgent;
let at: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 1);
  const { conferenceId } = game;
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
  second = (await personSignedIn(app, conferenceId, ['coordinator'])).agent;
  at = `/seasons/${game.seasonId}/official-facts`;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const read = async (agent: SignedInAgent) => parseHTML((await agent.get(at).expect(200)).text).document;
const fieldsOf = (document: Document): Record<string, string> =>
  Object.fromEntries([
    ...[...document.querySelectorAll('main form input')].map(
      (input) => [input.getAttribute('name')!, input.getAttribute('value') ?? ''] as const,
    ),
    ...[...document.querySelectorAll('main form select')].map(
      (select) =>
        [
          select.getAttribute('name')!,
          select.querySelector('option[selected]')?.getAttribute('value') ?? '',
        ] as const,
    ),
  ]);
const keep = (agent: SignedInAgent, fields: Record<string, string>) => {
  const { _csrf, ...typed } = fields;
  return agent.post(at).type('form').send(typed);
};
const umpire = () => game.crew.umpire!;

test('the table is typed and kept, what is empty is not known, and who entered it is told', async () => {
  const fields = fieldsOf(await read(coordinator));
  expect(Object.keys(fields).filter((name) => name.endsWith('.revision'))).toHaveLength(8);
  const answer = await keep(coordinator, {
    ...fields,
    [`${umpire()}.years`]: '12',
    [`${umpire()}.fitness`]: 'yes',
    [`${umpire()}.fitnessUntil`]: '2027-06-30',
    [`${umpire()}.rulesTest`]: '91,5',
    [`${umpire()}.daysAway`]: '2026-12-12; 2026-12-05',
    [`${umpire()}.ties`]: 'home',
  }).expect(303);
  expect(answer.headers.location).toBe(`${at}?kept=1`);
  const { body } = await coordinator.get(`/api${at}`).expect(200);
  const line = body.find(({ personId }: { personId: string }) => personId === umpire());
  expect(line).toMatchObject({
    facts: {
      ...{ yearsOfService: 12, fitnessPassed: true, fitnessUntil: '2027-06-30', rulesTestScore: 91.5 },
      ...{ goodStanding: null, available: null, daysAway: ['2026-12-05', '2026-12-12'] },
      postseasonsLately: null,
    },
    ...{ enteredHow: 'page', enteredBy: game.coordinatorId, revision: 1 },
  });
  expect(line.ties).toHaveLength(1);
  const { textContent } = (await read(coordinator)).querySelector('main')!;
  expect(textContent!.replaceAll(/\s+/g, ' ')).toMatch(/by Test Coordinator, [A-Z][a-z]{2}, /);
  expect(textContent).not.toMatch(/\s,/);
  const none = await keep(coordinator, fieldsOf(await read(coordinator))).expect(303);
  expect(none.headers.location).toBe(`${at}?kept=0`);
});

test('what is no fact is refused beside its cell, nothing is kept, and what was typed stays', async () => {
  const answer = await keep(coordinator, {
    ...fieldsOf(await read(coordinator)),
    [`${umpire()}.years`]: 'many',
    [`${umpire()}.rulesTest`]: '101',
    [`${umpire()}.daysAway`]: 'Christmas',
    [`${umpire()}.ties`]: 'Nowhere',
    [`${game.crew.referee}.years`]: '3',
  }).expect(400);
  const { document } = parseHTML(answer.text);
  const said = [...document.querySelectorAll('.wrong')].map((one) => one.textContent);
  expect(said).toEqual([
    'Write a whole number of years, or nothing where it is not known.',
    'Must be at most 100',
    'Must be days such as 2031-12-06',
    'There is no team “Nowhere”. Write teams as they are called here, with ; between.',
  ]);
  expect(document.querySelector(`[name="${umpire()}.years"]`)!.getAttribute('value')).toBe('many');
  expect(document.querySelector(`[name="${game.crew.referee}.years"]`)!.getAttribute('value')).toBe('3');
  const { body } = await coordinator.get(`/api${at}`).expect(200);
  expect(
    body.find(({ personId }: { personId: string }) => personId === game.crew.referee).facts.yearsOfService,
  ).toBeNull();
});

test('two at once: other officials are merged, the same one is refused with what there is now', async () => {
  const before = fieldsOf(await read(coordinator));
  await keep(second, { ...before, [`${game.crew['line judge']}.years`]: '4' }).expect(303);
  await keep(coordinator, { ...before, [`${game.crew['back judge']}.years`]: '6' }).expect(303);
  const late = await keep(coordinator, { ...before, [`${game.crew['line judge']}.years`]: '9' }).expect(409);
  const { document } = parseHTML(late.text);
  expect(document.querySelector('[role=alert]')!.textContent).toContain(
    'Somebody else changed the same officials',
  );
  expect(document.querySelector('main')!.textContent).toContain('Now: years 4');
  // Sent again as shown, it is kept.
  const shown = fieldsOf(document);
  expect(shown[`${game.crew['line judge']}.years`]).toBe('9');
  await keep(coordinator, shown).expect(303);
  const { body } = await coordinator.get(`/api${at}`).expect(200);
  const years = Object.fromEntries(
    body.map((line: { personId: string; facts: { yearsOfService: number } }) => [
      line.personId,
      line.facts.yearsOfService,
    ]),
  );
  expect(years[game.crew['line judge']!]).toBe(9);
  expect(years[game.crew['back judge']!]).toBe(6);
});
