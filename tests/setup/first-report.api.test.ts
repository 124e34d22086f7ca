// @module-tag long
import type { FastifyInstance } from 'fastify';
import supertest from 'supertest';
import { v7 as uuidv7 } from 'uuid';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openConference } from '../../server/accounts/open-conference.ts';
import { everybodyWatched } from '../../server/duties/watched.ts';
import { positionsOf } from '../../server/football/crews.ts';
import { navigation } from '../../server/navigation.ts';
import { brokenFigure } from '../support/broken-figure.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A conference made from nothing, by pages alone, to its first filed report: no loader, no file, and nothing read from
// the database. At each half-finished state every page of every role's menu is opened.

let database: TestDatabase;
let app: FastifyInstance;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

const password = 'seven quiet whistles';

/** A person at a browser: reads pages, and sends the forms on them with the page's token. */
class Visitor {
  private readonly agent = supertest.agent(app.server);

  async page(address: string): Promise<string> {
    const answer = await this.agent.get(address).redirects(4);
    expect(answer.status, address).toBe(200);
    return answer.text;
  }

  /** Fills in the form at an address and gives the page that comes of it. */
  async fillIn(
    address: string,
    fields: Record<string, string>,
    { at = address, status = 200 } = {},
  ): Promise<string> {
    const _csrf = /name="_csrf" value="([^"]+)"/.exec(await this.page(at))?.[1] ?? '';
    const answer = await this.agent
      .post(address)
      .type('form')
      .redirects(4)
      .send({ ...fields, _csrf });
    expect(answer.status, `${address}: ${wrongOn(answer.text)}`).toBe(status);
    return answer.text;
  }

  /** What the device of an observer sends. */
  async send(address: string, body: object): Promise<supertest.Response> {
    const token = /name="_csrf" value="([^"]+)"/.exec(await this.page('/my/account'))![1]!;
    return this.agent.post(address).set('x-csrf-token', token).send(body);
  }

  async read(address: string) {
    return (await this.agent.get(address).expect(200)).body;
  }
}

const wrongOn = (text: string) =>
  [...text.matchAll(/class="wrong"[^>]*>([^<]+)</g)].map(([, what]) => what).join(' ');
const inLink = (text: string, pattern: RegExp) => {
  const found = pattern.exec(text)?.[1];
  if (found === undefined) throw new Error(`No ${pattern} on the page`);
  return found;
};
const optionOf = (page: string, name: string) =>
  inLink(page, new RegExp(`<option value="([^"]+)"[^>]*>${name}</option>`));

async function signUp(token: string): Promise<Visitor> {
  const visitor = new Visitor();
  await visitor.fillIn(`/invitation/${token}`, { password, repeated: password });
  return visitor;
}

async function statesOf(coordinator: Visitor): Promise<Record<string, string>> {
  const list = await coordinator.page('/setup');
  return Object.fromEntries(
    [...list.matchAll(/<li id="(\w+)"[\s\S]*?<span class="tag[^"]*">([^<]*)</g)].map((found) => [
      found[1]!,
      found[2]!,
    ]),
  );
}

describe('a conference from nothing', () => {
  const roles: { coordinator?: Visitor; observer?: Visitor; official?: Visitor } = {};
  let season: string;
  let game: string;

  /** Every page of every role's menu opens, and shows no broken figure. */
  async function walkMenus() {
    for (const [role, visitor] of Object.entries(roles)) {
      for (const { href } of navigation.filter((item) => item.roles.includes(role as 'coordinator'))) {
        const text = (await visitor.page(href)).replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ');
        expect(brokenFigure(text), `${role} at ${href}`).toBeUndefined();
      }
    }
  }

  const invite = async (givenName: string, familyName: string, role: string): Promise<string> => {
    const text = await roles.coordinator!.fillIn('/people/invite', {
      givenName,
      familyName,
      email: `${givenName}.${familyName}@example.test`.toLowerCase(),
      roles: role,
    });
    return inLink(text, /\/invitation\/([\w-]{43})/);
  };

  test('the first coordinator comes in at the list of what is to do', async () => {
    const { token } = await openConference(database.pool, {
      name: 'Two Rivers League',
      slug: 'two-rivers',
      timeZone: 'America/Chicago',
      coordinator: { givenName: 'Ada', familyName: 'Muster', email: 'ada@example.test' },
    });
    roles.coordinator = await signUp(token);
    const desk = await roles.coordinator.page('/');
    expect(desk).toContain('9 steps are left. Next: <strong>Conference</strong>.');
    expect(desk).toContain('href="/setup/conference"');
    expect(await roles.coordinator.page('/setup')).toContain(
      '7 steps are left before observers can report, and 2 besides.',
    );
    await walkMenus();
  });

  test('conference, season, rubric', async () => {
    const coordinator = roles.coordinator!;
    await coordinator.fillIn('/setup/conference', {
      name: 'Two Rivers League',
      timeZone: 'America/Chicago',
      code: 'high school',
      crewSize: '5',
    });
    await coordinator.fillIn('/seasons/new', {
      name: '2031',
      firstDay: '2031-08-25',
      weeks: '4',
      firstWeek: '1',
      crewSize: '5',
    });
    season = inLink(await coordinator.page('/setup'), /\/seasons\/([0-9a-f-]{36})\/rubric\/start/);
    await walkMenus();
    await coordinator.fillIn(`/seasons/${season}/rubric/start`, { from: 'starting' });
    await coordinator.fillIn(`/seasons/${season}/rubric/confirm`, {}, { at: `/seasons/${season}/rubric` });
    expect(await statesOf(coordinator)).toMatchObject({ conference: 'done', season: 'done', rubric: 'done' });
    await walkMenus();
  });

  test('venue, teams, staff, crew, game', async () => {
    const coordinator = roles.coordinator!;
    await coordinator.fillIn('/venues/add', {
      name: 'Mill Field',
      place: 'Millbrook',
      coordinates: '42.1, -93.4',
      timeZone: 'America/Chicago',
    });
    const venueId = optionOf(await coordinator.page('/teams/add'), 'Mill Field');
    await coordinator.fillIn('/teams/add', { name: 'Herons', venueId });
    await coordinator.fillIn('/teams/add', { name: 'Badgers', venueId: '' });
    await walkMenus();

    const names = ['Reed', 'Umber', 'Hill', 'Lane', 'Back'];
    const links = [];
    for (const name of names) links.push(await invite('Sam', name, 'official'));
    roles.official = await signUp(links[0]!);
    roles.observer = await signUp(await invite('Olga', 'Watch', 'observer'));
    await walkMenus();

    const form = await coordinator.page(`/seasons/${season}/crews/add`);
    const members = Object.fromEntries(
      positionsOf(5).map((position, at) => [`member-${position}`, optionOf(form, `${names[at]}, Sam`)]),
    );
    await coordinator.fillIn(`/seasons/${season}/crews/add`, { name: 'Crew 1', ...members });

    const add = await coordinator.page(`/seasons/${season}/games/add`);
    await coordinator.fillIn(`/seasons/${season}/games/add`, {
      week: '1',
      kickoff: '2031-08-29T19:00',
      homeTeamId: optionOf(add, 'Herons'),
      visitingTeamId: optionOf(add, 'Badgers'),
      venueId: '',
      crewId: optionOf(add, 'Crew 1'),
    });
    const shown = await coordinator.page(`/seasons/${season}`);
    game = inLink(shown, /href="\/games\/([0-9a-f-]{36})">Badgers at Herons/);
    await walkMenus();
  });

  test('with settings kept the list is done, and goes', async () => {
    const coordinator = roles.coordinator!;
    const done = await coordinator.fillIn(`/seasons/${season}/settings`, {
      reportDays: '3',
      replyDays: '10',
      minimumGames: '1',
      minimumOpportunities: '20',
      places: '1',
    });
    expect(done).toContain('Everything is set up.');
    expect(new Set(Object.values(await statesOf(coordinator)))).toEqual(new Set(['done']));
    const desk = await coordinator.page('/');
    expect(desk).toContain('<h1>My desk</h1>');
    expect(desk).not.toContain('id="setting-up"');
    expect(desk).toContain('Week 1 comes next, with 1 game.');
    expect(await coordinator.page('/my/account')).toContain('href="/setup"');
  });

  test('the observer is sent to the game, confirms the planned crew, logs plays and files', async () => {
    const coordinator = roles.coordinator!;
    const observer = roles.observer!;
    const place = await coordinator.page(`/observers/games/${game}/place`);
    const pick = inLink(place, /name="pick" value="([^"]+\|in person)"/);
    await coordinator.fillIn(
      `/observers/games/${game}/place`,
      { pick, reason: 'the only observer' },
      { at: `/observers/games/${game}/place` },
    );
    const offers = await observer.page('/my/assignments');
    const answer = inLink(offers, /action="(\/my\/assignments\/[0-9a-f-]+\/answer)"/);
    await observer.fillIn(answer, { answer: 'accepted', reason: '' }, { at: '/my/assignments' });
    await observer.fillIn(`/games/${game}/report`, {}, { at: '/my/games' });
    const { reportId } = (await observer.send(`/api/games/${game}/reports`, {})).body;
    const entry = await observer.read(`/api/reports/${reportId}/entry`);
    expect(entry.crew).toEqual([]);
    expect(entry.planned).toHaveLength(5);
    expect(entry.duties.length).toBeGreaterThan(50);

    const crew = { kind: 'confirm crew', id: uuidv7(), was: [], crew: entry.planned };
    const plays = Array.from({ length: 30 }, (_, at) => ({
      kind: 'put play',
      id: uuidv7(),
      basedOn: null,
      playId: uuidv7(),
      after: at === 0 ? null : uuidv7(),
      filmSeconds: null,
      note: '',
      play: scrimmagePlay(at),
    }));
    const watched = { kind: 'watched', id: uuidv7(), was: entry.report.watched, watched: everybodyWatched };
    expect(entry.report.watched, 'in the stadium the observer says so').toBeNull();
    const { body } = await observer.send(`/api/reports/${reportId}/changes`, {
      changes: [crew, watched, ...plays],
    });
    expect(body.results.map((result: { outcome: string }) => result.outcome)).toEqual(
      Array(32).fill('applied'),
    );
    const filed = await observer.send(`/api/reports/${reportId}/file`, {});
    expect(filed.status, filed.text).toBe(200);
    expect(await coordinator.page('/reports')).toContain('filed');
    const desk = await coordinator.page('/desk');
    expect(desk).toContain('<h2 id="waits">1 thing waits for you</h2>');
    expect(desk).toContain(`href="/reports/${reportId}">Review<`);
    expect(await observer.page('/desk')).toContain('1 report is with the coordinator.');
    await walkMenus();
  });

  test('the coordinator adds a play that was forgotten: with a reason, and the report is counted again', async () => {
    const coordinator = roles.coordinator!;
    const form = { kind: 'run', quarter: '4', clockSeconds: '0:30', down: '1', distance: '10', spot: '40' };
    const facts = { ...form, carrier: 'other', endSpot: '44', playSide: 'line judge side', after: '' };
    const address = `/games/${game}/plays/add`;
    const refused = await coordinator.fillIn(address, facts, { status: 422 });
    expect(refused).toContain('Give the reason: a report of this game is filed.');
    expect(refused).toContain('value="0:30"');
    const added = await coordinator.fillIn(address, { ...facts, reason: 'missing in the log' });
    expect(added).toContain('The report of Olga Watch was counted again');
    expect(await coordinator.page(`/games/${game}`)).toContain('>31</th>');
  });

  test('nobody is exchanged under the filed report; the same crew may be confirmed again', async () => {
    const coordinator = roles.coordinator!;
    const address = `/games/${game}/crew`;
    const page = await coordinator.page(address);
    const chosen = Object.fromEntries(
      positionsOf(5).map((position) => [
        `member-${position}`,
        inLink(page, new RegExp(`name="member-${position}"[\\s\\S]*?<option value="([^"]+)" selected`)),
      ]),
    );
    expect(await coordinator.fillIn(address, chosen)).toContain('The working crew is confirmed.');
    const { 'member-back judge': _left, ...four } = chosen;
    expect(await coordinator.fillIn(address, four, { status: 409 })).toContain(
      'A report on this game is filed with another crew',
    );
  });
});

/** Downs that carry enough facts for everybody to owe something. */
const scrimmagePlay = (at: number) => ({
  kind: at % 2 === 0 ? 'run' : 'pass',
  spot: 20 + at,
  quarter: 1 + Math.floor(at / 10),
  clockSeconds: 880 - (at % 10) * 60,
  down: 1 + (at % 3),
  distance: 10,
  endSpot: 24 + at,
  outOfBounds: at % 7 === 0,
  playSide: at % 3 === 0 ? 'line judge side' : 'head linesman side',
  looseBall: 'none',
  score: 'none',
  turnover: 'none',
  fouls: [],
  ...(at % 2 === 0 ? { carrier: 'other' } : { passResult: 'complete', catchDepth: 6 }),
});
