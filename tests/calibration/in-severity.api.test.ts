// @module-tag long
import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { HtmlValidate } from 'html-validate';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { Draws } from '../../seed-demo/draws.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { filmOfGame } from './film-of-game.ts';

/**
 * A conference of two crews that never share an observer: Ash and Birch see the one, Cedar and Elm the other. Fir reports
 * on nothing. All five but Elm mark the same clips.
 */
let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
const observers = new Map<string, { personId: string; agent: SignedInAgent }>();
const marking = ['Ash', 'Birch', 'Cedar', 'Fir'] as const;
/** How often each finds a miss on a clip: Cedar is strict. */
const strict = { Ash: 0.2, Birch: 0.3, Cedar: 0.7, Fir: 0.3 };
const draws = new Draws(3, 'clips in severity');

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  game = await oneGame(database.pool, 14);
  const { conferenceId } = game;
  coordinator = await inSessionOf(app, { conferenceId, personId: game.coordinatorId });
  for (const name of ['Ash', 'Birch', 'Cedar', 'Elm', 'Fir']) {
    const { personId } = await makePerson(database.pool, conferenceId, ['observer'], {
      givenName: 'Observer',
      familyName: name,
    });
    observers.set(name, { personId, agent: await inSessionOf(app, { conferenceId, personId }) });
  }
  await filmOfGame(database.pool, game, 60);
  await database.pool.query('UPDATE season SET minimum_games = 1, minimum_opportunities = 1');
  await reportsOfTwoCrews();
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

/** Three officials a crew in one position, twelve games a crew, each of two observers; Cedar and Elm mark more missed. */
async function reportsOfTwoCrews() {
  const { conferenceId, seasonId, rubricVersionId } = game;
  const { rows } = await database.pool.query<{ home: string; away: string; venue: string }>(
    'SELECT home_team_id AS home, visiting_team_id AS away, venue_id AS venue FROM game WHERE id = $1',
    [game.gameId],
  );
  const { home, away, venue } = rows[0]!;
  for (const [crew, watching] of [
    ['one', ['Ash', 'Birch']],
    ['two', ['Cedar', 'Elm']],
  ] as const) {
    const officials: string[] = [];
    for (const number of [1, 2, 3])
      officials.push(
        (
          await makePerson(database.pool, conferenceId, ['official'], {
            givenName: 'Official',
            familyName: `${crew} ${number}`,
          })
        ).personId,
      );
    for (let week = 1; week <= 12; week += 1) {
      const gameId = randomUUID();
      await database.pool.query(
        `INSERT INTO game (conference_id, id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
        [
          ...[conferenceId, gameId, seasonId, `${crew} ${week}`, week],
          ...[new Date(Date.UTC(2026, 7, 1 + 7 * week)), home, away, venue],
        ],
      );
      for (const [at, name] of watching.entries()) {
        if (at === 1 && week % 3 === 0) continue;
        const reportId = randomUUID();
        await database.pool.query(
          `INSERT INTO report (conference_id, id, season_id, game_id, observer_id, state, rubric_version_id, filed_at, released_at)
           VALUES ($1, $2, $3, $4, $5, 'released', $6, now(), now())`,
          [conferenceId, reportId, seasonId, gameId, observers.get(name)!.personId, rubricVersionId],
        );
        const missed = draws.integer(1, 4) + (at === 0 ? 3 : 0) + (crew === 'two' ? 3 : 0);
        await database.pool.query(
          `INSERT INTO opportunity_count (conference_id, report_id, person_id, position, duty_key, opportunities, not_met)
           VALUES ($1, $2, $3, 'umpire', 'everybodys-duty', 60, $4)`,
          [conferenceId, reportId, officials[week % 3], missed],
        );
        if (at > 0) continue;
        // Counts without plays: the first report stands for its game.
        await database.pool.query(
          `INSERT INTO game_count (conference_id, game_id, rubric_version_id, person_id, position, duty_key, opportunities,
                                   not_met, not_counted, model)
           SELECT conference_id, $3, $4, person_id, position, duty_key, opportunities, not_met, not_counted, model
             FROM opportunity_count WHERE conference_id = $1 AND report_id = $2`,
          [conferenceId, reportId, gameId, rubricVersionId],
        );
      }
    }
  }
}

const validator = new HtmlValidate({ extends: ['html-validate:standard'], rules: { 'long-title': 'off' } });
async function words(agent: SignedInAgent, address: string) {
  const { text } = await agent.get(address).expect(200);
  const { results } = await validator.validateString(text);
  expect(results.flatMap(({ messages }) => messages).map(({ message }) => message)).toEqual([]);
  return parseHTML(text).document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ');
}
const page = (then: string) => words(coordinator, `/seasons/${game.seasonId}/${then}`);
const standings = async (query = '') =>
  (await coordinator.get(`/api/seasons/${game.seasonId}/standings${query}`).expect(200)).body;
const keep = (calibration: string, status = 200) =>
  coordinator.put(`/api/seasons/${game.seasonId}/standings/calibration`).send({ calibration }).expect(status);
const computedAt = async () =>
  (
    await database.pool.query<{ at: string }>(
      `SELECT max(computed_at)::text AS at FROM kept_result WHERE kind = 'standings' AND season_id = $1`,
      [game.seasonId],
    )
  ).rows[0]!.at;

/** A set of these plays, opened for those who mark, and marked by each; closed where asked. */
async function markedSet(title: string, plays: readonly string[], { close = true, by = [...marking] } = {}) {
  const made = await coordinator
    .post(`/api/seasons/${game.seasonId}/calibration-sets`)
    .send({ title, clips: plays.map((playId) => ({ playId, position: 'umpire' })) })
    .expect(201);
  const { id } = made.body;
  const opened = await coordinator
    .post(`/api/calibration-sets/${id}/open`)
    .send({ observers: by.map((name) => observers.get(name)!.personId) })
    .expect(200);
  for (const name of by) {
    const { agent } = observers.get(name)!;
    for (const { number, items } of opened.body.clips) {
      const findings = Object.fromEntries(
        items.map(({ key }: { key: string }) => [
          key,
          draws.unit() < 0.1 ? 'not seen' : draws.unit() < strict[name] ? 'not met' : 'met',
        ]),
      );
      await agent.put(`/api/calibration-sets/${id}/clips/${number}/marks`).send({ findings }).expect(204);
    }
    await agent.post(`/calibration/${id}/hand-in`).type('form').send({}).expect(303);
  }
  if (close) await coordinator.post(`/api/calibration-sets/${id}/close`).expect(200);
  return id as string;
}

let without: Awaited<ReturnType<typeof standings>>;
let set: string;

test('left out, as it is at first, clips move nothing and nothing is found anew when a set is closed', async () => {
  without = await standings();
  expect(without.clips).toBeNull();
  expect(without.groups).toHaveLength(2);
  // What a program kept that knew of no clips is still good: it is the same.
  const { rows } = await database.pool.query(
    `SELECT FROM kept_result WHERE season_id = $1 AND (result ? 'clips' OR basis ? 'calibration')`,
    [game.seasonId],
  );
  expect(rows).toEqual([]);
  const before = await computedAt();
  set = await markedSet('August', game.playIds.slice(0, 8));
  expect(await standings()).toEqual(without);
  expect(await computedAt()).toBe(before);
  expect(await words(coordinator, `/calibration/${set}`)).toContain(
    "These marks enter no grade, no standing and no severity of the season's reports",
  );
  expect(await page('calibration')).toContain('What is marked enters no grade and no severity');
  expect(await page('standings?position=umpire')).not.toContain('on 8 clips');
});

test('taken in: whose marks, of how many clips, is said, and it is said of whom they move nothing', async () => {
  const refused = await keep('perhaps', 400);
  expect(JSON.stringify(refused.body)).toContain('calibration must be one of: left out, taken in');
  await keep('taken in');
  const taken = await standings();
  expect(taken.clips).toMatchObject({ observers: 4, withoutReport: 1, clips: 8, joined: 1, reason: null });
  const { rows } = await database.pool.query<{ marks: number }>(
    `SELECT count(*)::int AS marks FROM calibration_mark WHERE set_id = $1 AND finding <> 'not seen'`,
    [set],
  );
  // Less what only one could judge.
  expect(taken.clips.marks).toBeLessThanOrEqual(rows[0]!.marks);
  expect(taken.clips.marks).toBeGreaterThan(rows[0]!.marks - 10);
  const raws = (of: typeof taken) =>
    Object.fromEntries(
      of.lines.map((line: { personId: string; raw: number; misses: number }) => [
        line.personId,
        [line.raw, line.misses],
      ]),
    );
  expect(raws(taken)).toEqual(raws(without));

  for (const address of ['standings?position=umpire', 'severity']) {
    const said = await page(address);
    expect(said).toContain('The marks of 4 observers on 8 clips');
    expect(said).toContain('No grade moves because a clip shows somebody.');
    expect(said).toContain('One of them reported on no game of the season and is not listed.');
  }
  expect(await page('severity/positions')).toContain('The marks of 4 observers on 8 clips');
  expect(await words(coordinator, `/calibration/${set}`)).toContain('these marks say, beside its reports');
  expect(await page('calibration')).toContain(
    'closed sets also say, beside reports, how strict observers are',
  );
  expect(await page('settings')).toContain('Reports, and marks of the same clips');
});

test('common clips link what no report does, and the page says what that rests on', async () => {
  const taken = await standings();
  expect(taken.groups).toHaveLength(1);
  const ids = ['Ash', 'Birch', 'Cedar', 'Elm'].map((name) => observers.get(name)!.personId);
  // Who reported on nothing is one of nobody's observers.
  expect(taken.groups[0].observers.toSorted()).toEqual(ids.toSorted());
  const severity = (await coordinator.get(`/api/seasons/${game.seasonId}/severity`).expect(200)).body;
  expect(severity.map((row: { observerId: string }) => row.observerId).toSorted()).toEqual(ids.toSorted());
  // Within their own crews Cedar is no stricter than Elm by more than Ash than Birch; on clips much stricter than both.
  const of = (name: string) =>
    severity.find((row: { observerId: string }) => row.observerId === observers.get(name)!.personId).points;
  expect(of('Cedar')).toBeLessThan(of('Ash'));
  const said = await page('standings?position=umpire');
  expect(said).toContain(
    '2 groups of them can be held beside each other only because their observers judged',
  );
  expect(said).not.toContain('No report links these groups');
});

test('a set that is closed, and an observer who leaves, count from then on; calls and mechanics have their own marks', async () => {
  const open = await markedSet('October', game.playIds.slice(8, 12), { close: false });
  expect((await standings()).clips.clips).toBe(8);
  const toMark = await words(observers.get('Ash')!.agent, `/calibration/${open}/mark`);
  expect(toMark).not.toContain('says how strict');
  await coordinator.post(`/api/calibration-sets/${open}/close`).expect(200);
  expect((await standings()).clips.clips).toBe(12);
  await database.pool.query('UPDATE person SET active = false WHERE id = $1', [
    observers.get('Cedar')!.personId,
  ]);
  expect((await standings()).clips.observers).toBe(4);
  const [whole, calls, mechanics] = await Promise.all(
    ['', '?by=calls', '?by=mechanics'].map(async (query) => (await standings(query)).clips),
  );
  expect(mechanics.marks).toBeGreaterThan(0);
  // Nothing of calls was graded in the season.
  expect(calls).toMatchObject({ marks: 0, reason: expect.any(String) });
  expect(mechanics.marks).toBeLessThan(whole.marks);
});

test('the observers who are to mark read what their marks do', async () => {
  const by = ['Ash', 'Birch'] as const;
  const made = await coordinator
    .post(`/api/seasons/${game.seasonId}/calibration-sets`)
    .send({ title: 'November', clips: [{ playId: game.playIds[12], position: 'umpire' }] })
    .expect(201);
  await coordinator
    .post(`/api/calibration-sets/${made.body.id}/open`)
    .send({ observers: by.map((name) => observers.get(name)!.personId) })
    .expect(200);
  expect(await words(observers.get('Ash')!.agent, `/calibration/${made.body.id}/mark`)).toContain(
    'What is marked here also says how strict each observer is',
  );
});

test('left out again by the settings’ page all is as it was, and the trail says who changed it', async () => {
  await coordinator
    .post(`/seasons/${game.seasonId}/settings`)
    .type('form')
    .send({
      ...{
        reportDays: '3',
        replyDays: '7',
        minimumGames: '1',
        minimumOpportunities: '1',
      },
      ...{ places: '2', calibration: 'left out' },
    })
    .expect(303);
  expect({ ...(await standings()), inputRevision: 0 }).toEqual({ ...without, inputRevision: 0 });
  const { rows } = await database.pool.query(
    `SELECT before, after FROM audit_entry WHERE action = 'marks of clips in severity changed' ORDER BY number`,
  );
  expect(rows).toEqual([
    { before: { calibration: 'left out' }, after: { calibration: 'taken in' } },
    { before: { calibration: 'taken in' }, after: { calibration: 'left out' } },
  ]);
});

test('a closed season keeps the setting, and what is marked afterwards stays out of it', async () => {
  await keep('taken in');
  await database.pool.query(`UPDATE season SET state = 'closed', closed_at = now() WHERE id = $1`, [
    game.seasonId,
  ]);
  const closed = await keep('left out', 409);
  expect(closed.body.detail).toContain('is closed');
  const { clips } = await standings();
  const late = await markedSet('December', game.playIds.slice(12, 14), { by: ['Ash', 'Birch', 'Fir'] });
  expect((await standings()).clips).toEqual(clips);
  expect(await words(coordinator, `/calibration/${late}`)).toContain('this set was closed after the season');
});
