// @module-tag rest
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { navigation } from '../../server/navigation.ts';
import { samePageIn } from '../../server/schedule/pages/season-switch.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type PlantedSeason, type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

let database: TestDatabase;
let app: FastifyInstance;
let seasons: TwoSeasons;
const agents = {} as Record<'coordinator' | 'observer' | 'official', SignedInAgent>;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  seasons = await twoSeasons(database.pool);
  const { conferenceId, coordinatorId, observerId, officialId } = seasons;
  agents.coordinator = await inSessionOf(app, { conferenceId, personId: coordinatorId });
  agents.observer = await inSessionOf(app, { conferenceId, personId: observerId });
  agents.official = await inSessionOf(app, { conferenceId, personId: officialId });
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

const look = (agent: SignedInAgent, season: PlantedSeason, page = '/') =>
  agent.post('/season-in-view').type('form').send({ season: season.id, page });

const mainOf = (html: string) => /<main[\s\S]*<\/main>/.exec(html)?.[0] ?? '';
/** Pages of the whole conference, which belong to no season; nor does what a person was told. */
const ofTheConference =
  /^\/(messages|mail-trouble|people|teams|venues|trail|import|my\/account|seasons$|over-seasons|my\/evaluation\/seasons|seasons\/(new|next))/;

const around = (text: string, word: string) => {
  const at = text.indexOf(word);
  return at < 0 ? '' : text.slice(Math.max(0, at - 200), at + 100);
};

/** Every page that can be reached by links from the menu on, with what its main part says. */
async function walk(agent: SignedInAgent, role: keyof typeof agents): Promise<Map<string, string>> {
  const found = new Map<string, string>();
  const waiting = navigation.filter((item) => item.roles.includes(role)).map((item) => item.href);
  const seen = new Set(waiting);
  const kinds = new Set<string>();
  while (waiting.length > 0) {
    const address = waiting.shift()!;
    const answer = await agent.get(address).redirects(3);
    expect(answer.status, address).toBeLessThan(500);
    if (answer.status !== 200 || !String(answer.headers['content-type']).startsWith('text/html')) continue;
    const main = mainOf(answer.text);
    // Teams and venues belong to the conference: any of them is chosen for a game, or named as a tie.
    const choices =
      /<optgroup label="Teams">[\s\S]*?<\/optgroup>|<option[^>]*>[^<]*(Copper|Silver)( Field)?\s*<\/option>/g;
    const told = /<section aria-labelledby="messages">[\s\S]*?<\/section>/;
    found.set(address, main.replace(choices, '').replace(told, ''));
    // What the whole conference's pages link to may be of any season.
    if (ofTheConference.test(address)) continue;
    for (const [, href] of found.get(address)!.matchAll(/href="(\/[^"#]*)"/g)) {
      const next = href!.replaceAll('&amp;', '&').replaceAll('&#x3D;', '=');
      // Each page of a kind is like the others.
      const kind = next.replaceAll(/[0-9a-f-]{36}/g, ':id').replace(/\/duties\/[^/]+/, '/duties/:key');
      if (/^\/(api|assets)\//.test(next) || seen.has(next) || kinds.has(kind)) continue;
      seen.add(next);
      kinds.add(kind);
      waiting.push(next);
    }
  }
  return found;
}

describe.each([
  ['coordinator', 25],
  ['observer', 6],
  ['official', 6],
] as const)('the pages of the %s', (role, atLeast) => {
  test.each(['first', 'second'] as const)('belong to the season in view, the %s', async (which) => {
    const season = seasons[which];
    const other = which === 'first' ? seasons.second : seasons.first;
    await look(agents[role], season).expect(303);
    const pages = await walk(agents[role], role);
    const ofSeason = [...pages].filter(([address]) => !ofTheConference.test(address));
    expect(ofSeason.length).toBeGreaterThan(atLeast);
    for (const [address, main] of ofSeason) {
      const here = `${role} at ${address}, looking at ${season.name}`;
      expect(main.includes(other.word), `${here}: ${around(main, other.word)}`).toBe(false);
      for (const id of [other.id, other.gameId, other.reportId, other.draftId, other.replyId])
        expect(main.includes(`/${id}`), `${here}: ${around(main, id)}`).toBe(false);
    }
    expect(ofSeason.some(([, main]) => main.includes(season.word))).toBe(true);
  });

  test('name the season in view and offer the others, without script', async () => {
    await look(agents[role], seasons.second).expect(303);
    const { text } = await agents[role].get(role === 'official' ? '/my/marks' : '/rubric').redirects(2);
    const head = /<header[\s\S]*<\/header>/.exec(text)![0];
    expect(head).toContain('</span>2031</summary>');
    expect(head).toContain(`name="season" value="${seasons.first.id}"`);
    expect(text).toContain('Season 2031 is not the current one.');
    expect(text).toContain('Go to 2030, the current season');
  });
});

describe('the switcher', () => {
  test('keeps the page, as far as the other season has it', () => {
    const { first, second } = seasons;
    const there = (path: string) => samePageIn(path, second.id);
    expect(there('/my/marks')).toBe('/my/marks');
    expect(there(`/seasons/${first.id}/standings`)).toBe(`/seasons/${second.id}/standings`);
    expect(there(`/seasons/${first.id}/patterns/crews`)).toBe(`/seasons/${second.id}/patterns`);
    expect(there(`/seasons/${first.id}/officials/${seasons.officialId}`)).toBe(
      `/seasons/${second.id}/officials`,
    );
    expect(there(`/seasons/${first.id}`)).toBe(`/seasons/${second.id}`);
    expect(there(`/reports/${first.reportId}`)).toBe('/reports');
    expect(there('/observers/weeks/3')).toBe('/observers');
    expect(there('/seasons')).toBe('/seasons');
    expect(there(`/postseason/${first.id}/offers`)).toBe('/postseason');
    for (const section of ['quizzes', 'availability', 'find'])
      expect(there(`/seasons/${first.id}/${section}`)).toBe(`/seasons/${second.id}/${section}`);
    for (const foreign of ['//elsewhere.example', 'https://elsewhere.example', '/\\elsewhere.example', ''])
      expect(there(foreign)).toBe('/');
  });

  test('is remembered, and a page of a season brings that season into view', async () => {
    const agent = agents.coordinator;
    await look(agent, seasons.second, '/reports').expect(303).expect('location', '/reports');
    expect(mainOf((await agent.get('/reports')).text)).toContain('Silver');
    await agent.get(`/seasons/${seasons.first.id}`).expect(200);
    expect(mainOf((await agent.get('/reports')).text)).toContain('Copper');
    await agent.get(`/reports/${seasons.second.reportId}`).expect(200);
    expect(mainOf((await agent.get('/replies')).text)).toContain('Silver');
  });

  test('says on the page that brought another season into view which one was before, and only there', async () => {
    const { first, second, coordinatorId, conferenceId } = seasons;
    const agent = await inSessionOf(app, { conferenceId, personId: coordinatorId });
    const noteOf = async (path: string) =>
      /<div class="season-note"[\s\S]*?<\/div>/.exec((await agent.get(path).expect(200)).text)?.[0] ?? '';
    await look(agent, second, '/reports').expect(303);
    const led = await noteOf(`/reports/${first.reportId}`);
    expect(led).toContain(
      'This page belongs to season 2030, so that season is in view now and no longer 2031.',
    );
    expect(led).toContain(`value="${second.id}">Back to 2031</button>`);
    expect(await noteOf('/reports')).toBe('');
    // Into a season that is not the current one: the way back is the way to the current one, and stands there once.
    const away = await noteOf(`/reports/${second.reportId}`);
    expect(away).toContain(`value="${first.id}">Back to 2030</button>`);
    expect(away).not.toContain('the current season');
    expect(await noteOf('/reports')).toContain('Go to 2030, the current season');
  });

  test('knows of quizzes and clinics, too, to which season they belong', async () => {
    const { first, second, coordinatorId, conferenceId } = seasons;
    const agent = await inSessionOf(app, { conferenceId, personId: coordinatorId });
    const made = {
      title: 'Rules',
      opensAt: '2031-05-01T08:00:00Z',
      closesAt: '2031-05-09T20:00:00Z',
      minutes: 20,
    };
    const quiz = await agent.post(`/api/seasons/${second.id}/quizzes`).send(made);
    const clinic = await agent
      .post(`/api/seasons/${second.id}/clinics`)
      .send({ title: 'Spring clinic', heldOn: '2031-04-01' });
    for (const path of [`/quizzes/${quiz.body.id}`, `/clinics/${clinic.body.id}`]) {
      await look(agent, first).expect(303);
      const { text } = await agent.get(path).expect(200);
      expect(text, path).toContain('</span>2031</summary>');
    }
  });

  test('also where a form is shown again: what its page says of the season in view holds', async () => {
    const { first, second, coordinatorId, conferenceId } = seasons;
    const agent = await inSessionOf(app, { conferenceId, personId: coordinatorId });
    await look(agent, first).expect(303);
    // As from a second window, in which the page of the other season still stands.
    const { text } = await agent
      .post(`/seasons/${second.id}/clinics`)
      .type('form')
      .send({ title: '' })
      .expect(400);
    expect(text).toContain('so that season is in view now and no longer 2030.');
    expect((await agent.get('/messages').expect(200)).text).toContain('</span>2031</summary>');
  });

  test('what is not there for somebody tells them no season, and leaves the one in view', async () => {
    const { first, second, coordinatorId, officialId, conferenceId } = seasons;
    const coordinator = await inSessionOf(app, { conferenceId, personId: coordinatorId });
    const draft = await coordinator
      .post(`/api/seasons/${second.id}/quizzes`)
      .send({
        title: 'Not announced',
        opensAt: '2031-06-01T08:00:00Z',
        closesAt: '2031-06-09T20:00:00Z',
        minutes: 20,
      })
      .expect(201);
    const official = await inSessionOf(app, { conferenceId, personId: officialId });
    await look(official, first).expect(303);
    const there = await official.get(`/my/quizzes/${draft.body.id}`).expect(404);
    const nowhere = await official.get(`/my/quizzes/${first.id}`).expect(404);
    const shown = (text: string) => text.replaceAll(/[0-9a-f-]{36}|value="[^"]*"|content="[^"]*"/g, '');
    expect(shown(there.text)).toBe(shown(nowhere.text));
    expect((await official.get('/messages').expect(200)).text).toContain('</span>2030</summary>');
  });

  test('follows the current season when the coordinator moves it, unless another was chosen', async () => {
    const { conferenceId } = seasons;
    const current = async (agent: SignedInAgent) =>
      /<\/span>(203\d)<\/summary>/.exec((await agent.get('/my/account')).text)?.[1];
    await look(agents.observer, seasons.first).expect(303);
    await look(agents.official, seasons.second).expect(303);
    expect(await current(agents.observer)).toBe('2030');
    await agents.coordinator.post(`/seasons/${seasons.second.id}/current`).expect(303);
    expect(await current(agents.observer)).toBe('2031');
    expect(await current(agents.official)).toBe('2031');
    await agents.coordinator.post(`/seasons/${seasons.first.id}/current`).expect(303);
    expect(await current(agents.observer)).toBe('2030');
    const { rows } = await database.pool.query(
      `SELECT count(*)::int AS chosen FROM session WHERE conference_id = $1 AND season_id IS NOT NULL`,
      [conferenceId],
    );
    expect(rows[0].chosen).toBeLessThan(3);
  });

  test("takes no other conference's season, nor anything else", async () => {
    const other = await twoSeasons(database.pool);
    await look(agents.observer, other.first).expect(404);
    await agents.observer.post('/season-in-view').type('form').send({ season: 'x' }).expect(400);
  });

  test('leaves what waits in another season a click away', async () => {
    await look(agents.observer, seasons.second).expect(303);
    const games = mainOf((await agents.observer.get('/my/games')).text);
    expect(games).toContain('2030: 2 games, 1 to report on');
    await look(agents.official, seasons.second).expect(303);
    expect(mainOf((await agents.official.get('/my/marks')).text)).toContain('2030: 1 mark');
    expect(mainOf((await agents.official.get('/my/letters')).text)).toContain('2030: 1 letter');
    await look(agents.coordinator, seasons.second).expect(303);
    expect(mainOf((await agents.coordinator.get('/replies')).text)).toContain(
      '2030: 1 answer waiting for a ruling',
    );
  });
});
