// @module-tag long
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
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
let home: string;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 4);
  const { conferenceId } = game;
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
  second = (await personSignedIn(app, conferenceId, ['coordinator'])).agent;
  const { rows } = await database.pool.query(
    `SELECT id FROM team WHERE conference_id = $1 AND name = 'Home'`,
    [conferenceId],
  );
  home = rows[0].id;
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

// By the HTML standard, as tests/web/html.api.test.ts has it for the pages of the demo season.
const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function read(agent: SignedInAgent, address: string, status = 200) {
  const answer = await agent.get(address).expect(status);
  const { results } = await validator.validateString(answer.text);
  expect(results.flatMap(({ messages }) => messages).map(({ message }) => message)).toEqual([]);
  return parseHTML(answer.text).document;
}
const words = (document: Document) => document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
const send = (agent: SignedInAgent, address: string, fields: Record<string, string | string[]>) =>
  agent.post(address).type('form').send(fields);

const made = async (title: string) =>
  (await coordinator.post(`/api/seasons/${game.seasonId}/selections`).send({ title }).expect(201)).body;
const withGame = async (id: string, more: object = {}) => {
  const { body } = await coordinator
    .post(`/api/selections/${id}/games`)
    .send({ name: 'Final', playedOn: '2026-12-05', crewSize: 4, alternates: 1, ...more })
    .expect(201);
  const { name = 'Final' } = more as { name?: string };
  return body.games.find((one: { name: string }) => one.name === name).id as string;
};
const place = (id: string, gameId: string, slot: string) =>
  `/api/selections/${id}/games/${gameId}/places/${encodeURIComponent(slot)}`;

test('a selection from nothing by pages: made, its rules kept, a game added, changed and taken out', async () => {
  const { seasonId } = game;
  expect(words(await read(coordinator, `/seasons/${seasonId}/postseason`))).toContain(
    'No selection of Season yet',
  );
  const wrong = await send(coordinator, `/seasons/${seasonId}/postseason`, { title: ' ' }).expect(400);
  expect(wrong.text).toContain('Give the selection a title');
  const answer = await send(coordinator, `/seasons/${seasonId}/postseason`, { title: 'Bowls' }).expect(303);
  const at = answer.headers.location!;
  const twice = await send(coordinator, `/seasons/${seasonId}/postseason`, { title: 'Bowls' }).expect(409);
  expect(twice.text).toContain('is taken by another selection of this season');
  expect(words(await read(coordinator, at))).toContain('No game yet');

  const rules = await read(coordinator, `${at}/rules`);
  const form = Object.fromEntries(
    [...rules.querySelectorAll('form[action$=rules] input:not([type=checkbox])')].map((input) => [
      input.getAttribute('name')!,
      input.getAttribute('value') ?? '',
    ]),
  );
  const unread = await send(coordinator, `${at}/rules`, {
    ...form,
    notKnown: 'take in',
    minimumGames: 'three',
    'weight.tier': '-1',
  }).expect(400);
  expect(unread.text).toContain('The least games in the position must be a whole number');
  expect(unread.text).toContain('The weight of a tier must be at least 0');
  expect(unread.text).toContain('value="three"');
  await send(coordinator, `${at}/rules`, { ...form, notKnown: 'take in', minimumGames: '1' }).expect(303);

  const misplaced = await send(coordinator, `${at}/games/new`, {
    ...{ name: 'Semifinal', playedOn: '2026-12-05', crewSize: '4', alternates: '1', coordinates: 'north' },
    ...{ homeTeamId: home, visitorTeamId: home },
  }).expect(400);
  expect(misplaced.text).toContain('Write degrees north and east');
  expect(misplaced.text).toContain('Is the home team as well');
  await send(coordinator, `${at}/games/new`, {
    ...{ name: 'Semifinal', playedOn: '2026-12-05', crewSize: '4', alternates: '1' },
    ...{ coordinates: '41.62, -93.98', homeTeamId: home, visitorName: 'Elsewhere' },
  }).expect(303);
  const page = await read(coordinator, at);
  expect(words(page)).toContain('Elsewhere at Home');
  expect(words(page)).toContain('0 of 5 places chosen');
  const change = page.querySelector('a[href*="/games/"][aria-label^=Change]')!.getAttribute('href')!;
  expect((await read(coordinator, change)).querySelector('[name=coordinates]')!.getAttribute('value')).toBe(
    '41.62, -93.98',
  );
  // Two change it at once: the second is told what the first kept, and keeps what they typed.
  const seen = (await read(second, change)).querySelector('[name=seen]')!.getAttribute('value')!;
  const typed = { name: 'Semifinal', playedOn: '2026-12-06', crewSize: '5', alternates: '0' };
  await send(coordinator, change, { ...typed, seen, kickoff: '12:30' }).expect(303);
  const late = await send(second, change, { ...typed, seen, place: 'Meadow' }).expect(409);
  expect(late.text).toContain('Somebody else changed this game meanwhile');
  const told = parseHTML(late.text).document;
  expect(words(told)).toContain('As it is kept: Kickoff: 12:30; Place: nothing.');
  expect(told.querySelector('[name=place]')!.getAttribute('value')).toBe('Meadow');
  expect((await read(second, change)).querySelector('[name=kickoff]')!.getAttribute('value')).toBe('12:30');
  const now = told.querySelector('[name=seen]')!.getAttribute('value')!;
  await send(second, change, { ...typed, seen: now, kickoff: '12:30', place: 'Meadow' }).expect(303);
  expect(words(await read(coordinator, at))).toContain('0 of 5 places chosen');
  await send(coordinator, `${change}/delete`, {}).expect(303);
  expect(words(await read(coordinator, at))).toContain('No game yet');
  await send(coordinator, `${at}/delete`, {}).expect(303);
  await coordinator.get(at).expect(404);
});

test('two coordinators at once: the second is told, keeps what was typed, and nothing of the first is lost', async () => {
  const { id, revision, rules, weights } = await made('Two at once');
  const kept = { title: 'Two at once', rules, weights, revision };
  await coordinator
    .put(`/api/selections/${id}`)
    .send({ ...kept, rules: { ...rules, minimumYears: 7 } })
    .expect(200);
  const late = await second
    .put(`/api/selections/${id}`)
    .send({ ...kept, rules: { ...rules, minimumYears: 2 } })
    .expect(409);
  expect(late.body.detail).toContain('was changed by somebody else meanwhile');
  const page = await send(second, `/postseason/${id}/rules`, {
    ...{ title: 'Two at once', revision: String(revision), minimumYears: '2', mostGamesEach: '1' },
    ...{ notKnown: 'leave out', 'weight.chance': '1', 'weight.tier': '2', 'weight.rotation': '3' },
    'weight.travel': '4',
  }).expect(409);
  const { document } = parseHTML(page.text);
  expect(document.querySelector('[name=minimumYears]')!.getAttribute('value')).toBe('2');
  // Sent again it is upon what there is now.
  expect(document.querySelector('[name=revision]')!.getAttribute('value')).toBe(String(revision + 1));
  const now = await coordinator.get(`/api/selections/${id}`).expect(200);
  expect(now.body.rules.minimumYears).toBe(7);
});

test('an official at two games on one day is refused with one sentence, in a selection and across them', async () => {
  const first = await made('One day');
  const other = await made('The same day');
  const one = await withGame(first.id);
  const two = await withGame(first.id, { name: 'Other final' });
  const three = await withGame(other.id, { name: 'Elsewhere' });
  const later = await withGame(other.id, { name: 'Later', playedOn: '2026-12-12' });
  const umpire = { officialId: game.crew.umpire, position: 'umpire' };
  await coordinator
    .put(place(first.id, one, 'umpire'))
    .send(umpire)
    .expect(200);
  for (const [id, at, slot] of [
    [first.id, two, 'umpire'],
    [first.id, one, 'alternate 1'],
    [other.id, three, 'umpire'],
  ]) {
    const refused = await coordinator
      .put(place(id, at, slot))
      .send(umpire)
      .expect(409);
    expect(refused.body.detail).toBe(
      'Test umpire is chosen as umpire of Final (One day) on December 5, 2026 already, and nobody works two places on one day: choose another official, or take them out there first.',
    );
  }
  await coordinator
    .put(place(other.id, later, 'umpire'))
    .send(umpire)
    .expect(200);
  // Moved to the same day, the game would take them to two places.
  const moved = await coordinator
    .put(`/api/selections/${other.id}/games/${later}`)
    .send({ name: 'Later', playedOn: '2026-12-05', crewSize: 4 })
    .expect(409);
  expect(moved.body.detail).toContain('is chosen for another game on December 5, 2026');
});

test('two who choose the same official at once for two games: one is kept, the other told', async () => {
  const { id } = await made('At the same time');
  const other = await made('Elsewhere at the same time');
  const [one, two] = [
    await withGame(id, { playedOn: '2026-12-19' }),
    await withGame(other.id, { name: 'B', playedOn: '2026-12-19' }),
  ];
  const referee = { officialId: game.crew.referee, position: 'referee' };
  const answers = await Promise.all([
    coordinator.put(place(id, one, 'referee')).send(referee),
    second.put(place(other.id, two, 'referee')).send(referee),
  ]);
  expect(answers.map(({ status }) => status).sort()).toEqual([200, 409]);
  const chosen = await Promise.all(
    [id, other.id].map(async (one) => (await coordinator.get(`/api/selections/${one}`)).body.choices.length),
  );
  expect(chosen.sort()).toEqual([0, 1]);
});

test('a place takes who belongs there, and is freed again', async () => {
  const { id } = await made('Places');
  const at = await withGame(id, { playedOn: '2027-01-02' });
  const wrong = await coordinator
    .put(place(id, at, 'umpire'))
    .send({ officialId: game.crew.umpire, position: 'referee' })
    .expect(400);
  expect(wrong.body.errors[0].message).toBe('must be umpire, the place itself');
  const stranger = await coordinator
    .put(place(id, at, 'umpire'))
    .send({ officialId: game.observerId, position: 'umpire' })
    .expect(400);
  expect(stranger.body.errors[0].message).toContain('is no official of this conference');
  await coordinator
    .put(place(id, at, 'back judge'))
    .send({ officialId: game.crew['back judge'], position: 'back judge' })
    .expect(404);
  await coordinator
    .put(place(id, at, 'alternate 1'))
    .send({ officialId: game.crew['line judge'], position: 'line judge', reason: 'Knows both wings.' })
    .expect(200);
  const shown = words(await read(coordinator, `/postseason/${id}`));
  expect(shown).toContain('Test line judge as line judge');
  expect(shown).toContain('Knows both wings.');
  await coordinator.delete(place(id, at, 'alternate 1')).expect(204);
  await coordinator.delete(place(id, at, 'alternate 1')).expect(404);
  const { rows } = await database.pool.query(
    `SELECT action FROM audit_entry WHERE conference_id = $1 AND subject_id = $2 ORDER BY number`,
    [game.conferenceId, id],
  );
  expect(rows.map(({ action }) => action)).toEqual([
    'selection made',
    'selection: game added',
    'selection: official chosen',
    'selection: choice taken back',
  ]);
});

test('a closed selection and a closed season are read only, for every table of it', async () => {
  const { id } = await made('To be closed');
  const at = await withGame(id, { playedOn: '2027-01-09' });
  await database.pool.query(
    `UPDATE selection SET state = 'closed', closed_at = now() WHERE conference_id = $1 AND id = $2`,
    [game.conferenceId, id],
  );
  const refused = await coordinator
    .put(place(id, at, 'umpire'))
    .send({ officialId: game.crew.umpire, position: 'umpire' })
    .expect(409);
  expect(refused.body.detail).toBe('The selection To be closed is closed: it can be read, not changed.');
  await coordinator.delete(`/api/selections/${id}`).expect(409);
  const pages = await send(coordinator, `/postseason/${id}/games/${at}/places/umpire`, {
    officialId: game.crew.umpire!,
    position: 'umpire',
  }).expect(409);
  expect(pages.text).toContain('it can be read, not changed');

  const open = await made('Of a closed season');
  await withGame(open.id, { playedOn: '2027-01-02' });
  // What nobody may do any more is not offered, but for the season's own settings, which have their pages.
  const buttons = async (address: string) =>
    [...(await read(coordinator, address)).querySelectorAll('main form:not([action^="/season"]) button')].map(
      (button) => button.textContent!.trim(),
    );
  const pagesOfIt = ['', '/rules', '/committee', '/decisions', '/offers'].map(
    (page) => `/postseason/${open.id}${page}`,
  );
  const before = await Promise.all(pagesOfIt.map(buttons));
  expect(before.flat()).toEqual(expect.arrayContaining(['Propose', 'Keep', 'Remove it']));
  await database.pool.query(
    `UPDATE season SET state = 'closed', closed_at = now() WHERE conference_id = $1 AND id = $2`,
    [game.conferenceId, game.seasonId],
  );
  const closed = await coordinator
    .post(`/api/selections/${open.id}/games`)
    .send({ name: 'G', playedOn: '2027-01-09' })
    .expect(409);
  expect(closed.body.detail).toContain('Season Season is closed');
  expect((await Promise.all(pagesOfIt.map(buttons))).flat()).toEqual([]);
  const list = await read(coordinator, `/seasons/${game.seasonId}/postseason`);
  expect(list.querySelector('main form')).toBeNull();
  await database.pool.query(
    `UPDATE season SET state = 'open', closed_at = NULL WHERE conference_id = $1 AND id = $2`,
    [game.conferenceId, game.seasonId],
  );
});

test('of nobody ranked nothing is proposed, and each place says why', async () => {
  const { id } = await made('No reports');
  const none = await coordinator.post(`/api/selections/${id}/proposal`).expect(409);
  expect(none.body.detail).toContain('There is no game in this selection yet');
  await withGame(id, { playedOn: '2027-01-16' });
  const { body } = await coordinator.post(`/api/selections/${id}/proposal`).expect(200);
  expect(body.choices).toEqual([]);
  expect(body.unfilled.map(({ why }: { why: string }) => why)).toEqual([
    ...['referee', 'umpire', 'head linesman', 'line judge'].map((one) => `Nobody is graded as ${one}.`),
    'Nobody is graded in any of its positions.',
  ]);
  expect(words(await read(coordinator, `/postseason/${id}`))).toContain('Nobody is graded as umpire.');
  expect(words(await read(coordinator, `/postseason/${id}/candidates?position=umpire`))).toContain(
    'Nobody is ranked in this position',
  );
});

test('who is no coordinator of the conference sees nothing of it', async () => {
  const { id } = await made('Hidden');
  const observer = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.observerId });
  const official = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.crew.umpire! });
  const elsewhere = await oneGame(database.pool, 1);
  const stranger = await inSessionOf(app, {
    conferenceId: elsewhere.conferenceId,
    personId: elsewhere.coordinatorId,
  });
  for (const address of [`/postseason/${id}`, `/api/selections/${id}`, `/postseason/${id}/candidates`]) {
    await observer.get(address).expect(403);
    await official.get(address).expect(403);
    await stranger.get(address).expect(404);
  }
});
