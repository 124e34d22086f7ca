// @module-tag long
import type { FastifyInstance } from 'fastify';
import ICAL from 'ical.js';
import supertest from 'supertest';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { appendAudit } from '../../server/accounts/audit/audit.ts';
import { startSession } from '../../server/accounts/session.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { makeSeason, type SeasonFixture } from './season-fixture.ts';

let database: TestDatabase;
let app: FastifyInstance;
let season: SeasonFixture;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database, { PUBLIC_URL: 'https://crewmark.example' });
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  season = await makeSeason(database);
  coordinator = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
});

const gamesOf = (week: number) => season.games.filter((game) => game.week === week).map(({ id }) => id);
const rowsOf = async (gameId: string) =>
  (
    await database.pool.query(
      `SELECT observer_id, how, answer, locked, override_reason, withdrawn_at IS NOT NULL AS withdrawn, revision
         FROM observer_assignment WHERE conference_id = $1 AND game_id = $2 ORDER BY offered_at`,
      [season.conferenceId, gameId],
    )
  ).rows;
const auditOf = async () =>
  (
    await database.pool.query(
      `SELECT action, reason, after FROM audit_entry WHERE conference_id = $1 ORDER BY number`,
      [season.conferenceId],
    )
  ).rows;
/** As an observer of the fixture, in a browser of their own. */
async function asObserver(n: number) {
  const token = await startSession(database.pool, season.observers[n]!);
  const cookie = `crewmark_session=${token}`;
  const { body } = await supertest(app.server).get('/api/session').set('cookie', cookie);
  return {
    get: (url: string) => supertest(app.server).get(url).set('cookie', cookie),
    post: (url: string) =>
      supertest(app.server).post(url).set('cookie', cookie).set('x-csrf-token', body.csrfToken),
  };
}

describe('a suggestion', () => {
  it('sends the nearest within the rules and says that it is proven best', { tags: ['long'] }, async () => {
    const { body, status } = await coordinator.get('/api/observer-plan?week=2');
    expect(status).toBe(200);
    const [south, north] = gamesOf(2);
    expect(body.proven).toBe(true);
    expect(body.gap).toBeLessThan(1e-6);
    // Observers 0 and 2 live where the two games are; each saw the other crew in week 1.
    expect(body.choices).toEqual(
      expect.arrayContaining([
        { gameId: south, observerId: season.observers[0]!.personId, mode: 'in person' },
        { gameId: north, observerId: season.observers[2]!.personId, mode: 'in person' },
      ]),
    );
    expect(body.cost.travel).toBeCloseTo(0, 6);
  });

  it('plans the rest of the season, each observer once a week', async () => {
    const { body } = await coordinator.get('/api/observer-plan?week=2&scope=rest');
    expect(body.choices).toHaveLength(4);
    for (const week of [2, 3]) {
      const sent = body.choices.filter((one: { gameId: string }) => gamesOf(week).includes(one.gameId));
      expect(new Set(sent.map((one: { observerId: string }) => one.observerId)).size).toBe(2);
    }
  });

  it('keeps away who declared a conflict, is away, or declined, and explains what stays unfilled', async () => {
    const [south, north] = gamesOf(2);
    const [first, second, third] = season.observers.map(({ personId }) => personId);
    await coordinator
      .post(`/observers/people/${first}/conflicts`)
      .type('form')
      .send({ kind: 'school tie', party: `team:${season.teams[0]}` })
      .expect(303);
    await coordinator
      .post(`/observers/people/${second}/absences`)
      .type('form')
      .send({ from: '2027-09-11', to: '2027-09-11', of: 'all work' })
      .expect(303);
    await database.pool.query(
      `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer) VALUES ($1, $2, $3, 'film', 'declined')`,
      [season.conferenceId, south, third],
    );
    const { body } = await coordinator.get('/api/observer-plan?week=2');
    expect(body.choices.map((one: { gameId: string }) => one.gameId)).toEqual([north]);
    expect(body.lacking).toEqual([{ gameId: south, observers: 1 }]);
    const [unfilled] = body.unfilled;
    expect(unfilled.obstacles.map((one: { rule: string }) => one.rule)).toEqual([
      'availability',
      'declared conflict',
    ]);
    expect(unfilled.obstacles[1].relief.choice.observerId).toBe(first);
  });

  it('keeps an observer who is an official too from other stadiums on a day they work', async () => {
    const [south, north] = gamesOf(2);
    const both = season.observers[2]!;
    await database.pool.query(
      `INSERT INTO working_crew_member (conference_id, game_id, position, person_id) VALUES ($1, $2, 'referee', $3)`,
      [season.conferenceId, south, both.personId],
    );
    const { body } = await coordinator.get('/api/observer-plan?week=2');
    const sent = body.choices.filter((one: { observerId: string }) => one.observerId === both.personId);
    expect(
      sent.every((one: { gameId: string; mode: string }) => one.gameId === north && one.mode === 'film'),
    ).toBe(true);
    const place = await coordinator.get(`/observers/games/${south}/place`).expect(200);
    expect(place.text).toContain('Works this game as an official.');
  });

  it('is shown beside the present state and taken in part', async () => {
    const page = await coordinator.get('/observers/weeks/2?plan=week').expect(200);
    expect(page.text).toContain('It is proven to be the best within the rules');
    const choices = [...page.text.matchAll(/name="choice" value="([^"]+)"/g)].map(([, value]) => value);
    expect(choices).toHaveLength(2);
    const [south, north] = gamesOf(2);
    await coordinator
      .post('/observers/weeks/2/accept')
      .type('form')
      .send({ plan: 'week', game: north, choice: choices })
      .expect(303);
    expect(await rowsOf(south!)).toEqual([]);
    expect(await rowsOf(north!)).toMatchObject([{ answer: 'offered', how: 'in person', locked: false }]);
    expect((await auditOf()).map(({ action }) => action)).toEqual(['assignment offered']);
  });

  it('leaves accepted and locked assignments alone', async () => {
    const [south] = gamesOf(2);
    const far = season.observers[2]!.personId;
    await coordinator
      .post('/api/observer-assignments')
      .send({ offer: [{ gameId: south, observerId: far, mode: 'film' }] })
      .expect(204);
    const [{ id }] = (
      await database.pool.query('SELECT id FROM observer_assignment WHERE game_id = $1', [south])
    ).rows;
    const { body: open } = await coordinator.get('/api/observer-plan?week=2');
    expect(open.choices).not.toContainEqual({ gameId: south, observerId: far, mode: 'film' });
    await coordinator.post(`/observers/assignments/${id}/lock`).expect(303);
    const { body: held } = await coordinator.get('/api/observer-plan?week=2');
    expect(held.choices).toContainEqual({ gameId: south, observerId: far, mode: 'film' });
  });
});

describe('a choice by hand', () => {
  it('shows what each alternative costs before it is chosen', async () => {
    const [south] = gamesOf(2);
    const page = await coordinator.get(`/observers/games/${south}/place`).expect(200);
    expect(page.text).toContain('69 mi (111 km)');
    expect(page.text).toContain('138 mi (222 km)');
    expect(page.text.match(/name="pick"/g)).toHaveLength(6);
  });

  it('that breaks a rule needs a reason, which is kept in the audit trail', async () => {
    const [south, north] = gamesOf(2);
    const observer = season.observers[0]!.personId;
    const choose = (gameId: string, reason = '') =>
      coordinator
        .post(`/observers/games/${gameId}/place`)
        .type('form')
        .send({ pick: `${observer}|in person`, reason });
    await choose(south!).expect(303);
    const refused = await choose(north!).expect(400);
    expect(refused.text).toContain('would have 2 games in week 2, limit 1');
    expect(refused.text).toMatch(/value="[^"]+\|in person" checked/);
    expect(await rowsOf(north!)).toEqual([]);
    await choose(north!, 'Nobody else can be there, and he offered.').expect(303);
    expect(await rowsOf(north!)).toMatchObject([
      { override_reason: 'Nobody else can be there, and he offered.' },
    ]);
    // Made by hand, it is locked: a suggestion does not undo it.
    const { body } = await coordinator.get('/api/observer-plan?week=2');
    expect(body.choices).toContainEqual({ gameId: north, observerId: observer, mode: 'in person' });
    const last = (await auditOf()).at(-1);
    expect(last).toMatchObject({
      action: 'assignment offered against the rules',
      reason: 'Nobody else can be there, and he offered.',
      after: { rulesBroken: ['one place at a time', 'weekly limit'] },
    });
    const week = await coordinator.get('/observers/weeks/2').expect(200);
    expect(week.text).toContain('Breaks a rule: would have 2 games in week 2, limit 1.');
  });

  it('replaces, exchanges and takes back', async () => {
    const [south, north] = gamesOf(2);
    const [first, second, third] = season.observers.map(({ personId }) => personId);
    const offer = (gameId: string, observerId: string) => ({ gameId, observerId, mode: 'in person' });
    await coordinator
      .post('/api/observer-assignments')
      .send({ offer: [offer(south!, first!), offer(north!, third!)] })
      .expect(204);
    await coordinator
      .post(`/observers/games/${south}/place`)
      .type('form')
      .send({ replacing: first, pick: `${second}|in person` })
      .expect(303);
    expect(await rowsOf(south!)).toMatchObject([
      { observer_id: first, answer: 'declined', withdrawn: true },
      { observer_id: second, answer: 'offered' },
    ]);
    const page = await coordinator.get(`/observers/games/${south}/place?replacing=${second}`).expect(200);
    expect(page.text).toContain('Or exchange Observer N1');
    await coordinator
      .post(`/observers/games/${south}/exchange`)
      .type('form')
      .send({ observer: second, with: `${north}|${third}` })
      .expect(303);
    const standing = (rows: { answer: string; observer_id: string }[]) =>
      rows.filter(({ answer }) => answer !== 'declined').map(({ observer_id }) => observer_id);
    expect(standing(await rowsOf(south!))).toEqual([third]);
    expect(standing(await rowsOf(north!))).toEqual([second]);
  });

  it('does not touch a game on which a report was begun', async () => {
    const [reported] = gamesOf(1);
    await coordinator.get(`/observers/games/${reported}/place`).expect(409);
    const { status, body } = await coordinator
      .post('/api/observer-assignments')
      .send({ withdraw: [{ gameId: reported, observerId: season.observers[0]!.personId }] });
    expect(status).toBe(409);
    expect(body.detail).toContain('has begun a report');
  });

  it("is not another conference's to make", async () => {
    const other = await makeSeason(database);
    const [foreign] = other.games;
    await coordinator.get(`/observers/games/${foreign!.id}/place`).expect(404);
    await coordinator
      .post('/api/observer-assignments')
      .send({ offer: [{ gameId: foreign!.id, observerId: other.observers[0]!.personId, mode: 'film' }] })
      .expect(404);
    await coordinator.get(`/observers/people/${other.observers[0]!.personId}`).expect(404);
  });
});

it('a change of two games does not wait for an observer who waits for the trail', async () => {
  const places = gamesOf(2).map((gameId, n) => ({ gameId, observerId: season.observers[n]!.personId }));
  await coordinator
    .post('/api/observer-assignments')
    .send({ offer: places.map((place) => ({ ...place, mode: 'film' })) })
    .expect(204);
  // An observer who answers holds their assignment, and then needs the trail.
  const client = await database.pool.connect();
  try {
    await client.query('BEGIN');
    await client.query('SELECT FROM observer_assignment WHERE game_id = $1 FOR UPDATE', [places[1]!.gameId]);
    const answer = Promise.resolve(coordinator.post('/api/observer-assignments').send({ withdraw: places }));
    await expect
      .poll(async () => {
        const { rows } = await database.pool.query<{ waiting: number }>(
          `SELECT count(*)::int AS waiting FROM pg_stat_activity
            WHERE datname = current_database() AND wait_event_type = 'Lock'`,
        );
        return rows[0]!.waiting;
      })
      .toBe(1);
    await appendAudit(client, {
      conferenceId: season.conferenceId,
      actorId: places[1]!.observerId,
      action: 'assignment accepted',
      subjectKind: 'observer_assignment',
      subjectId: places[1]!.gameId,
    });
    await client.query('COMMIT');
    expect((await answer).status).toBe(204);
  } finally {
    client.release();
  }
});

describe('a game that is over', () => {
  const kickedOff = (gameId: string) =>
    database.pool.query(`UPDATE game SET kickoff = now() - interval '1 hour' WHERE id = $1`, [gameId]);

  it('is in no suggestion, on the page or in the API, and is nowhere to go', async () => {
    const [south, north] = gamesOf(2);
    await kickedOff(south!);
    const { body } = await coordinator.get('/api/observer-plan?week=2');
    expect(body.choices.map(({ gameId }: { gameId: string }) => gameId)).toEqual([north]);
    const week = await coordinator.get('/observers/weeks/2?plan=week').expect(200);
    expect([...week.text.matchAll(/name="choice" value="([^|]+)/g)].map(([, game]) => game)).toEqual([north]);
    const refused = await coordinator
      .post('/api/observer-assignments')
      .send({ offer: [{ gameId: south, observerId: season.observers[0]!.personId, mode: 'in person' }] })
      .expect(409);
    expect(refused.body.errors).toEqual([
      { field: 'body.offer.0.mode', message: expect.stringContaining('"record"') },
    ]);
    expect(await rowsOf(south!)).toEqual([]);
  });

  it('takes who watched it, asking nobody; its film is asked for', async () => {
    const [south, north] = gamesOf(2);
    const [first, second] = season.observers.map(({ personId }) => personId);
    const record = (gameId: string | undefined) =>
      coordinator
        .post('/api/observer-assignments')
        .send({ record: [{ gameId, observerId: first, mode: 'in person' }] });
    const refused = await record(south).expect(409);
    expect(refused.body.errors).toEqual([
      { field: 'body.record.0.gameId', message: expect.stringContaining('"offer"') },
    ]);
    for (const game of [south, north]) await kickedOff(game!);
    await record(south).expect(204);
    expect(await rowsOf(south!)).toMatchObject([
      { observer_id: first, how: 'in person', answer: 'accepted' },
    ]);
    expect((await auditOf()).at(-1)).toMatchObject({ action: 'assignment noted after the game' });
    const told = () =>
      database.pool.query('SELECT person_id, kind FROM message WHERE conference_id = $1', [
        season.conferenceId,
      ]);
    expect((await told()).rows).toEqual([]);

    const choose = (as: string, mode: string) =>
      coordinator
        .post(`/observers/games/${north}/place`)
        .type('form')
        .send({ pick: `${second}|${mode}`, as, reason: 'the film' });
    const place = await coordinator.get(`/observers/games/${north}/place`).expect(200);
    expect(place.text).toContain('Note that they watched it');
    const page = await choose('offer', 'in person').expect(400);
    expect(page.text).toContain('Ask for its film, or note who watched it.');
    expect(page.text).toMatch(/value="[^"]+\|in person" checked/);
    await choose('offer', 'film').expect(303);
    expect(await rowsOf(north!)).toMatchObject([{ observer_id: second, how: 'film', answer: 'offered' }]);
    expect((await told()).rows).toEqual([{ person_id: second, kind: 'offer' }]);
    await choose('record', 'film').expect(303);
    expect(await rowsOf(north!)).toMatchObject([{ how: 'film', answer: 'accepted' }]);
    const week = await coordinator.get('/observers/weeks/2').expect(200);
    expect(week.text).toContain('Who watched one can still be noted beside it');
    const reported = await coordinator.get('/observers/weeks/1').expect(200);
    expect(reported.text).toContain('Every game of this week has a report');
  });
});

describe('a place on a page that was open for a while', () => {
  it('is not given to two by two coordinators at once', async () => {
    const [south] = gamesOf(2);
    const [first, , third] = season.observers.map(({ personId }) => personId);
    const other = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
    const standingIn = ({ text }: { text: string }) => /name="standing" value="([^"]*)"/.exec(text)![1]!;
    const standing = standingIn(await coordinator.get(`/observers/games/${south}/place`).expect(200));
    const choose = (agent: SignedInAgent, observerId: string | undefined) =>
      agent
        .post(`/observers/games/${south}/place`)
        .type('form')
        .send({ pick: `${observerId}|in person`, standing, reason: 'is free' });
    const both = await Promise.all([choose(coordinator, first), choose(other, third)]);
    expect(both.map(({ status }) => status).sort()).toEqual([303, 400]);
    expect(both.find(({ status }) => status === 400)!.text).toContain('has changed while this page was open');
    expect(await rowsOf(south!)).toHaveLength(1);
    const again = standingIn(both.find(({ status }) => status === 400)!);
    expect(again).toContain('in person offered');
  });

  it('may be noted as kept by an observer who never answered, and waits for somebody until then', async () => {
    const [south] = gamesOf(2);
    const first = season.observers[0]!.personId;
    await coordinator
      .post('/api/observer-assignments')
      .send({ offer: [{ gameId: south, observerId: first, mode: 'in person' }] })
      .expect(204);
    await database.pool.query(
      `UPDATE game SET kickoff = now() - CASE id WHEN $1 THEN interval '1 hour' ELSE interval '7 days' END
        WHERE id = $1 OR (conference_id = $2 AND week = 1)`,
      [south, season.conferenceId],
    );
    const waits = async () => (await coordinator.get('/desk').expect(200)).text;
    expect(await waits()).toContain('to watch it on film');
    expect((await coordinator.get('/observers/weeks/2').expect(200)).text).toContain('1 more wanted');
    const place = await coordinator.get(`/observers/games/${south}/place`).expect(200);
    expect(place.text).toContain(`value="${first}|in person"`);
    await coordinator
      .post(`/observers/games/${south}/place`)
      .type('form')
      .send({ pick: `${first}|in person`, as: 'record', replacing: first })
      .expect(303);
    expect(await rowsOf(south!)).toMatchObject([{ observer_id: first, answer: 'accepted' }]);
    expect(await waits()).not.toContain('to watch it on film');
  });
});

describe('a file of assignments', () => {
  it('tells coordinators who declined a game to come, once', async () => {
    const { observers, conferenceId } = season;
    const file = (...lines: string[]) =>
      coordinator
        .post('/api/imports/observer-assignments')
        .set('content-type', 'text/csv')
        .send(`game,email,how,answer\n${lines.join('\n')}\n`);
    const told = async () =>
      (
        await database.pool.query(
          `SELECT m.facts ->> 'observer' AS observer, m.facts ->> 'game' AS game, m.mail FROM message m
            WHERE m.conference_id = $1 AND m.kind = 'declined' ORDER BY observer`,
          [conferenceId],
        )
      ).rows;
    await database.pool.query(
      `UPDATE game SET kickoff = now() - interval '1 year' WHERE conference_id = $1 AND key = 'W3-0'`,
      [conferenceId],
    );
    const declined = (game: string, n: number) => `${game},${observers[n]!.email},in person,declined`;
    await file(`W2-0,${observers[0]!.email},in person,offered`, declined('W3-0', 2)).expect(200);
    expect(await told()).toEqual([]);
    const lines = [declined('W2-0', 0), declined('W2-1', 1)];
    for (let turn = 0; turn < 2; turn++) await file(...lines).expect(200);
    expect(await told()).toMatchObject([
      { observer: 'Observer N0', game: 'Team 1 at Team 0' },
      { observer: 'Observer N1', game: 'Team 3 at Team 2' },
    ]);
  });
});

describe('two coordinators at once', () => {
  /** Both requests wait for the games to be free before they write, so both have read what stood before. */
  async function atOnce<Answer>(requests: readonly (() => PromiseLike<Answer>)[]): Promise<Answer[]> {
    const client = await database.pool.connect();
    try {
      await client.query('BEGIN');
      await client.query('SELECT FROM game WHERE conference_id = $1 FOR UPDATE', [season.conferenceId]);
      let answered = 0;
      const answers = requests.map((request) =>
        Promise.resolve(request()).finally(() => {
          answered += 1;
        }),
      );
      for (let waiting = 0; waiting + answered < requests.length; ) {
        const { rows } = await database.pool.query<{ waiting: number }>(
          `SELECT count(DISTINCT pid)::int AS waiting FROM pg_locks JOIN pg_stat_activity USING (pid)
            WHERE NOT granted AND datname = current_database()`,
        );
        waiting = rows[0]!.waiting;
      }
      await client.query('COMMIT');
      return await Promise.all(answers);
    } finally {
      client.release();
    }
  }

  const standing = async () =>
    (
      await database.pool.query(
        `SELECT game_id FROM observer_assignment WHERE conference_id = $1 AND answer <> 'declined'
            AND game_id = ANY ($2) AND override_reason IS NULL`,
        [season.conferenceId, gamesOf(2)],
      )
    ).rowCount;

  it('do not together give an observer more games than the limit: by the API', async () => {
    const other = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
    const observerId = season.observers[0]!.personId;
    const answers = await atOnce(
      gamesOf(2).map(
        (gameId, n) => () =>
          [coordinator, other]
            [n]!.post('/api/observer-assignments')
            .send({ offer: [{ gameId, observerId, mode: 'film' }] }),
      ),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual([204, 409]);
    const refused = answers.find(({ status }) => status === 409)!;
    expect(refused.body.detail).toContain('would have 2 games in week 2, limit 1');
    expect(await standing()).toBe(1);
  });

  it('nor by hand on a page beside one who takes a suggestion', async () => {
    const other = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
    const observerId = season.observers[0]!.personId;
    const [south, north] = gamesOf(2);
    const [byHand, taken] = await atOnce([
      () =>
        coordinator
          .post(`/observers/games/${south}/place`)
          .type('form')
          .send({ pick: `${observerId}|film` }),
      () =>
        other
          .post('/observers/weeks/2/accept')
          .type('form')
          .send({ plan: 'week', game: north, choice: `${north}|${observerId}|film` }),
    ]);
    const refused = [byHand!, taken!].filter(({ status }) => status !== 303);
    expect(refused).toHaveLength(1);
    expect(refused[0]!.text).toContain('would have 2 games in week 2, limit 1');
    expect(await standing()).toBe(1);
  });
});

describe('an observer', () => {
  async function offered() {
    const [south] = gamesOf(2);
    const observer = season.observers[0]!.personId;
    await coordinator
      .post('/api/observer-assignments')
      .send({ offer: [{ gameId: south, observerId: observer, mode: 'in person' }] })
      .expect(204);
    const { rows } = await database.pool.query('SELECT id FROM observer_assignment WHERE game_id = $1', [
      south,
    ]);
    return { id: rows[0].id as string, gameId: south! };
  }

  it('sees the offer, accepts, declines after all, and cannot take it up again alone', async () => {
    const { id, gameId } = await offered();
    const observer = await asObserver(0);
    expect((await observer.get('/my/assignments').expect(200)).text).toContain('Accept Team 1 at Team 0');
    const answer = (said: string) =>
      observer
        .post(`/my/assignments/${id}/answer`)
        .type('form')
        .send({ answer: said, reason: 'my brother plays' });
    await answer('accepted').expect(303);
    await answer('declined').expect(303);
    expect(await rowsOf(gameId)).toMatchObject([{ answer: 'declined', withdrawn: false, revision: 2 }]);
    await answer('accepted').expect(409);
    expect((await auditOf()).map(({ action }) => action).slice(-2)).toEqual([
      'assignment accepted',
      'assignment declined',
    ]);
  });

  it("cannot answer for another, see another's availability, or reach the planning pages", async () => {
    const { id } = await offered();
    const stranger = await asObserver(1);
    await stranger.post(`/api/my/assignments/${id}/answer`).send({ answer: 'accepted' }).expect(404);
    await stranger.get(`/observers/people/${season.observers[0]!.personId}`).expect(403);
    await stranger.get('/observers/weeks/2').expect(403);
    await stranger.get('/api/observer-coverage').expect(403);
  });

  it('edits own availability; what is wrong stands beside its field and what was typed is kept', async () => {
    const observer = await asObserver(0);
    const wrong = await observer
      .post('/my/availability')
      .type('form')
      .send({ latitude: '91', longitude: '', watchesInPerson: 'on', weeklyLimit: 'two', homePlace: 'Alder' });
    expect(wrong.status).toBe(400);
    expect(wrong.text).toMatch(/Latitude: /);
    expect(wrong.text).toMatch(/Most games in a week: /);
    expect(wrong.text).toContain('value="91"');
    expect(wrong.text).toContain('value="two"');
    await observer
      .post('/my/availability')
      .type('form')
      .send({ latitude: '38.5', longitude: '-90', watchesFilm: 'on', weeklyLimit: '2', homePlace: 'Alder' })
      .expect(303);
    const { body } = await coordinator.get('/api/observer-plan?week=2');
    const mine = body.choices.filter(
      (one: { observerId: string }) => one.observerId === season.observers[0]!.personId,
    );
    expect(mine.every((one: { mode: string }) => one.mode === 'film')).toBe(true);
    const backwards = await observer
      .post('/my/availability/absences')
      .type('form')
      .send({ from: '2027-09-12', to: '2027-09-11', of: 'all work' });
    expect(backwards.status).toBe(400);
    expect(backwards.text).toContain('Last day: is before the first day');
  });

  it('has a calendar at a secret address that follows every change', async () => {
    const { id, gameId } = await offered();
    const observer = await asObserver(0);
    const page = await observer.post('/my/calendar').expect(200);
    const address = /https:\/\/crewmark\.example(\/calendar\/[\w-]+\.ics)/.exec(page.text)![1]!;
    const read = async () => {
      const answer = await supertest(app.server).get(address).expect(200);
      expect(answer.headers['content-type']).toContain('text/calendar');
      const calendar = new ICAL.Component(ICAL.parse(answer.text));
      const event = calendar
        .getAllSubcomponents('vevent')
        .map((one) => new ICAL.Event(one))
        .find((one) => one.uid === `assignment-${id}@crewmark`)!;
      return {
        status: event.component.getFirstPropertyValue('status'),
        sequence: event.sequence,
        start: event.startDate.toJSDate().toISOString(),
      };
    };
    expect(await read()).toEqual({ status: 'TENTATIVE', sequence: 0, start: '2027-09-11T18:00:00.000Z' });
    // Who has it is told so, packed or not (RFC 9110, section 13.1.2), until something changes.
    const { etag } = (await supertest(app.server).get(address)).headers;
    const again = (tag: string, encoding = 'identity') =>
      supertest(app.server).get(address).set('if-none-match', tag).set('accept-encoding', encoding);
    for (const answer of [
      await again(etag!),
      await again(`"x", ${etag}`),
      await again(etag!, 'gzip'),
      await again('*'),
    ])
      expect([answer.status, answer.text, answer.headers.etag]).toEqual([304, '', etag]);
    expect((await again('"x"')).status).toBe(200);
    await observer.post(`/my/assignments/${id}/answer`).type('form').send({ answer: 'accepted' }).expect(303);
    expect(await read()).toMatchObject({ status: 'CONFIRMED', sequence: 1 });
    expect((await again(etag!)).status).toBe(200);
    await database.pool.query(`UPDATE game SET kickoff = kickoff + interval '3 hours' WHERE id = $1`, [
      gameId,
    ]);
    expect(await read()).toEqual({ status: 'CONFIRMED', sequence: 2, start: '2027-09-11T21:00:00.000Z' });
    await coordinator.post(`/observers/assignments/${id}/withdraw`).expect(303);
    expect(await read()).toMatchObject({ status: 'CANCELLED', sequence: 3 });
    await observer.post('/my/calendar').expect(200);
    await supertest(app.server).get(address).expect(404);
  });
});

describe('what the planner aims for', () => {
  it('is set by the coordinator; what is wrong stands beside its field and what was typed is kept', async () => {
    const form = {
      observersPerGame: '2',
      timesSeen: '3',
      differentObservers: '2',
      film: '10',
      repeatedPair: '40',
      load: '12',
      information: '120',
    };
    const wrong = await coordinator
      .post('/observers/settings')
      .type('form')
      .send({ ...form, film: 'far', observersPerGame: '1.5' })
      .expect(400);
    expect(wrong.text).toContain('Must be a number of miles.');
    expect(wrong.text).toContain('Must be a whole number.');
    expect(wrong.text).toContain('value="far"');
    await coordinator.post('/observers/settings').type('form').send(form).expect(303);
    const { body } = await coordinator.get('/api/observer-plan?week=2');
    // Two on each of two games, three observers, one game a week each: one place stays open.
    expect(body.choices).toHaveLength(3);
    expect(body.lacking).toHaveLength(1);
    expect(body.unfilled[0].obstacles.map((one: { rule: string }) => one.rule)).toContain('weekly limit');
  });

  it('can be other for one game', async () => {
    const [south] = gamesOf(2);
    await coordinator
      .post(`/observers/games/${south}/coverage`)
      .type('form')
      .send({ wanted: '0' })
      .expect(303);
    const { body } = await coordinator.get('/api/observer-plan?week=2');
    expect(body.choices.map((one: { gameId: string }) => one.gameId)).toEqual([gamesOf(2)[1]]);
  });

  it('is taken in part only when the part keeps the rules', async () => {
    const [south, north] = gamesOf(2);
    const [first, , third] = season.observers.map(({ personId }) => personId);
    // As they stand the two are crossed; only taking both games uncrosses them.
    await coordinator
      .post('/api/observer-assignments')
      .send({
        offer: [
          { gameId: south, observerId: third, mode: 'in person' },
          { gameId: north, observerId: first, mode: 'in person' },
        ],
      })
      .expect(204);
    const choice = [`${south}|${first}|in person`, `${north}|${third}|in person`];
    const refused = await coordinator
      .post('/observers/weeks/2/accept')
      .type('form')
      .send({ plan: 'week', game: south, choice })
      .expect(409);
    expect(refused.text).toContain('would break a rule');
    expect((await rowsOf(south!)).map(({ observer_id }) => observer_id)).toEqual([third]);
    await coordinator
      .post('/observers/weeks/2/accept')
      .type('form')
      .send({ plan: 'week', game: [south, north], choice })
      .expect(303);
    const standing = (rows: { answer: string; observer_id: string }[]) =>
      rows.filter(({ answer }) => answer !== 'declined').map(({ observer_id }) => observer_id);
    expect(standing(await rowsOf(south!))).toEqual([first]);
    expect(standing(await rowsOf(north!))).toEqual([third]);
  });
});

describe('coverage', () => {
  it('counts what was seen and will be, and expects less error the more is planned', async () => {
    const before = (await coordinator.get('/api/observer-coverage').expect(200)).body;
    const [south, north] = gamesOf(2);
    await coordinator
      .post('/api/observer-assignments')
      .send({
        offer: [
          { gameId: south, observerId: season.observers[0]!.personId, mode: 'in person' },
          { gameId: north, observerId: season.observers[2]!.personId, mode: 'in person' },
        ],
      })
      .expect(204);
    const after = (await coordinator.get('/api/observer-coverage').expect(200)).body;
    expect(after.crews.map((crew: { timesPlanned: number }) => crew.timesPlanned)).toEqual(
      before.crews.map((crew: { timesPlanned: number }) => crew.timesPlanned + 1),
    );
    expect(after.officials).toHaveLength(8);
    for (const [n, official] of after.officials.entries())
      expect(official.errorAtEnd).toBeLessThan(before.officials[n].errorAtEnd);
    const page = await coordinator.get('/observers/coverage').expect(200);
    expect(page.text).toContain('Least sure first');
  });
});
