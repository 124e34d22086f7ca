// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { newestEntries } from '../../server/accounts/audit/audit-reading.ts';
import { inTransaction } from '../../server/database/transaction.ts';
import { openSeason } from '../../server/schedule/season-states.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let conferenceId: string;
let agent: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});
beforeEach(async () => {
  conferenceId = await makeConference(database.pool);
  ({ agent } = await personSignedIn(app, conferenceId, ['coordinator']));
});

const open = (name = '2031') =>
  inTransaction(database.pool, (client) => openSeason(client, { conferenceId, personId: null }, { name }));
const send = (url: string, form: object) => agent.post(url).type('form').send(form);
/** The state that the list shows of a step. */
async function stateOf(step: string): Promise<string> {
  const { text } = await agent.get('/setup').expect(200);
  const item = text.slice(text.indexOf(`<li id="${step}"`));
  return /<span class="tag[^"]*">([^<]*)</.exec(item)![1]!;
}
const crewSizeOf = async (seasonId: string) =>
  (await database.prisma.season.findUnique({ where: { conferenceId_id: { conferenceId, id: seasonId } } }))!
    .crewSize;

describe('a coordinator’s first day', () => {
  test('the desk leads to the list, and each of its addresses opens', async () => {
    expect((await agent.get('/')).headers.location).toBe('/desk');
    expect((await agent.get('/desk').expect(200)).text).toContain('href="/setup"');
    const { text } = await agent.get('/setup').expect(200);
    for (const [, href] of text.matchAll(/<a class="button[^"]*" href="([^"]+)"/g)) {
      expect((await agent.get(href!).redirects(2)).status, href).toBe(200);
    }
  });

  test('the conference is looked through and kept, again too', async () => {
    expect(await stateOf('conference')).toBe('to do');
    const form = { name: 'Hill League', timeZone: 'America/Denver', code: 'high school', crewSize: '5' };
    for (let turn = 0; turn < 2; turn++) await send('/setup/conference', form).expect(303);
    expect(await stateOf('conference')).toBe('done');
    expect((await agent.get('/setup')).text).toContain(
      'Hill League, America/Denver, high school rules, crews of 5.',
    );
    const [entry] = await newestEntries(database.pool, conferenceId, { most: 1 });
    expect(entry).toMatchObject({ action: 'conference looked through', after: { crewSize: 5 } });
  });

  test('what cannot be is said beside its field, and what was typed stays', async () => {
    const answer = await send('/setup/conference', {
      name: 'Kept text',
      timeZone: 'Mars/Olympus',
      crewSize: '3',
    });
    expect(answer.status).toBe(400);
    expect(answer.text).toContain('value="Kept text"');
    expect(answer.text).toContain('value="Mars/Olympus"');
    expect(answer.text).toMatch(/id="wrong-timeZone">Choose a zone from the list/);
    expect(answer.text).toMatch(/id="wrong-code">Choose the rules book/);
    expect(answer.text).toMatch(/id="wrong-crewSize">Choose a crew size from 4 to 8/);
    expect(await stateOf('conference')).toBe('to do');
  });

  test('a season opened afterwards starts with the crew size; one opened before takes it over', async () => {
    const before = await open('2031');
    expect(await crewSizeOf(before)).toBe(8);
    const form = { name: 'Hill League', timeZone: 'America/Denver', code: 'college', crewSize: '7' };
    await send('/setup/conference', form).expect(303);
    expect(await crewSizeOf(before)).toBe(7);
    expect(await crewSizeOf(await open('2032'))).toBe(7);
  });
});

describe('settings', () => {
  test('wait for a season, then are kept in one place', async () => {
    expect((await agent.get('/settings').expect(200)).text).toContain('No season yet');
    const seasonId = await open();
    expect(await stateOf('settings')).toBe('to do');
    const form = {
      reportDays: '2',
      replyDays: '7',
      minimumGames: '2',
      minimumOpportunities: '50',
      places: '1',
    };
    const wrong = await send(`/seasons/${seasonId}/settings`, {
      ...form,
      reportDays: '0',
      replyDays: '-1',
      places: 'two',
    });
    expect(wrong.status).toBe(400);
    expect(wrong.text).toMatch(/id="wrong-reportDays">Must be at least 1/);
    expect(wrong.text).toMatch(/id="wrong-replyDays">Must be at least 0/);
    expect(wrong.text).toMatch(/id="wrong-places">Must be a whole number/);
    expect(wrong.text).toContain('value="50"');
    await send(`/seasons/${seasonId}/settings`, form).expect(303);
    expect(await stateOf('settings')).toBe('done');
    expect((await agent.get('/setup')).text).toContain(
      '2 days to file a report; 7 days to answer a released mark; ranked from 2 games and 50 opportunities; 1 place a position.',
    );
  });
});

describe('the rubric', () => {
  test('is begun and confirmed on its page; both can be done twice, and out of order', async () => {
    const seasonId = await open();
    await send(`/seasons/${seasonId}/rubric/confirm`, {}).expect(303);
    expect(await stateOf('rubric')).toBe('to do');
    const start = await agent.get('/rubric').redirects(3).expect(200);
    expect(start.text).toContain('2031 has no rubric yet');
    await send(`/seasons/${seasonId}/rubric/start`, {}).expect(400);
    for (let turn = 0; turn < 2; turn++) {
      await send(`/seasons/${seasonId}/rubric/start`, { from: 'starting' }).expect(303);
    }
    expect(await stateOf('rubric')).toBe('in part');
    const rubric = await agent.get(`/seasons/${seasonId}/rubric/start`).redirects(2).expect(200);
    expect(rubric.text).toContain('Rubric version 1 of');
    expect(rubric.text).toContain('Confirm the rubric');
    for (let turn = 0; turn < 2; turn++) await send(`/seasons/${seasonId}/rubric/confirm`, {}).expect(303);
    expect(await stateOf('rubric')).toBe('done');
    expect((await agent.get(`/seasons/${seasonId}/rubric`)).text).not.toContain('Confirm the rubric');
    const actions = (await newestEntries(database.pool, conferenceId, { most: 50 })).map((one) => one.action);
    expect(actions.filter((action) => action === 'began the rubric')).toHaveLength(1);
    expect(actions.filter((action) => action === 'answered a step of setting up: rubric')).toHaveLength(1);
  });

  test('of an earlier season is taken over as it is now', async () => {
    const first = await open('2031');
    const second = await open('2032');
    await send(`/seasons/${second}/rubric/start`, { from: first }).expect(409);
    await send(`/seasons/${first}/rubric/start`, { from: 'starting' }).expect(303);
    const duty = (await agent.get(`/api/seasons/${first}/rubric`)).body.duties[0];
    const { text } = await agent.get(`/seasons/${first}/rubric/duties/${duty.key}`);
    const seen = /name="seen" value="([^"]+)"/.exec(text)![1];
    await send(`/seasons/${first}/rubric/duties/${duty.key}/remove`, { seen }).expect(303);
    expect((await agent.get(`/seasons/${second}/rubric/start`)).text).toContain('That of 2031');
    await send(`/seasons/${second}/rubric/start`, { from: first }).expect(303);
    const keys = async (season: string) =>
      (await agent.get(`/api/seasons/${season}/rubric`)).body.duties.map((one: { key: string }) => one.key);
    expect(await keys(second)).toEqual(await keys(first));
    expect(await keys(second)).not.toContain(duty.key);
  });

  test('of another conference is not taken over', async () => {
    const seasonId = await open();
    const other = await makeConference(database.pool);
    const theirs = await inTransaction(database.pool, (client) =>
      openSeason(client, { conferenceId: other, personId: null }, { name: '2031' }),
    );
    await send(`/seasons/${seasonId}/rubric/start`, { from: theirs }).expect(409);
    await send(`/seasons/${theirs}/rubric/start`, { from: 'starting' }).expect(404);
  });

  test('not begun is told to observers and officials in a sentence', async () => {
    await open();
    for (const role of ['observer', 'official'] as const) {
      const other = await personSignedIn(app, conferenceId, [role]);
      const { text } = await other.agent.get('/rubric').redirects(3).expect(200);
      expect(text).toContain('The coordinator sets it up.');
      expect(text).not.toContain('Begin the rubric');
    }
  });
});

test('crews and invitations can be left out and taken up again', async () => {
  await open();
  await makePerson(database.pool, conferenceId, ['observer']);
  for (const step of ['crews', 'invitations']) {
    expect(await stateOf(step)).toBe('to do');
    await send(`/setup/${step}`, { answer: 'left out' }).expect(303);
    expect(await stateOf(step)).toBe('done');
    await send(`/setup/${step}`, { answer: 'take up' }).expect(303);
    expect(await stateOf(step)).toBe('to do');
  }
  await send('/setup/schedule', { answer: 'left out' }).expect(400);
});

test('a closed season’s steps stay as they were answered, and its rubric asks for nothing', async () => {
  const id = await open();
  await send(`/seasons/${id}/rubric/start`, { from: 'starting' }).expect(303);
  expect((await agent.get(`/seasons/${id}/rubric`)).text).toContain('Confirm the rubric');
  expect((await agent.get(`/seasons/${id}/undo`)).text).toContain('class="danger"');
  expect((await agent.get(`/seasons/${id}/close`)).text).toContain('2031 is still being prepared');
  await database.pool.query(
    "UPDATE season SET state = 'closed', closed_at = now() WHERE conference_id = $1 AND id = $2",
    [conferenceId, id],
  );
  const answer = await send(`/seasons/${id}/rubric/confirm`, {});
  expect(answer.status).toBe(409);
  expect(answer.text).toContain('Season 2031 is closed: it can only be read.');
  expect((await send('/setup/crews', { answer: 'left out' })).status).toBe(409);
  expect((await agent.get(`/seasons/${id}/rubric`)).text).not.toContain('Confirm the rubric');
  expect((await agent.get(`/seasons/${id}/undo`)).text).not.toContain('class="danger"');
  expect((await agent.get(`/seasons/${id}/close`)).text).toContain('2031 is closed already');
});

test('a page too early or of no address says so in plain words', async () => {
  const early = await agent.get('/observers/weeks/1').expect(200);
  expect(early.text).toContain('No season yet');
  const nowhere = await agent.get('/seasons/abc').expect(404);
  expect(nowhere.text).toContain('There is nothing at this address.');
  expect(nowhere.text).not.toContain('UUID');
  const invitations = await agent.get('/people/invitations').expect(200);
  expect(invitations.text).not.toMatch(/object%20Object/);
});
