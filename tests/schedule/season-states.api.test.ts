import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import {
  chooseCurrentSeason,
  closeSeason,
  type NewSeason,
  openSeason,
  reopenSeason,
  startSeason,
} from '../../server/schedule/season-states.ts';
import { changeWeeks, readWeeks, weeksFrom } from '../../server/schedule/season-weeks.ts';
import { currentSeason } from '../../server/schedule/seasons.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());

async function conference() {
  const conferenceId = await makeConference(database.pool);
  const { personId } = await makePerson(database.pool, conferenceId, ['coordinator']);
  const acting = { conferenceId, personId };
  const act =
    (step: typeof startSeason) =>
    (seasonId: string): Promise<void> =>
      inTransaction(database.pool, (client) => step(client, acting, seasonId));
  return {
    conferenceId,
    acting,
    open: (season: NewSeason) => inTransaction(database.pool, (client) => openSeason(client, acting, season)),
    choose: act(chooseCurrentSeason),
    start: act(startSeason),
    close: act(closeSeason),
    reopen: act(reopenSeason),
    current: async () => (await currentSeason(database, conferenceId))?.name ?? null,
    state: async (id: string) =>
      (
        await database.pool.query<{ state: string }>(
          'SELECT state FROM season WHERE conference_id = $1 AND id = $2',
          [conferenceId, id],
        )
      ).rows[0]?.state,
    acts: async () =>
      (
        await database.pool.query<{ action: string }>(
          'SELECT action FROM audit_entry WHERE conference_id = $1 ORDER BY number',
          [conferenceId],
        )
      ).rows.map((row) => row.action),
  };
}

/** A game at a date in a season, with teams and a venue of its own. @returns its id. */
async function makeGame(conferenceId: string, seasonId: string, kickoff: string): Promise<string> {
  const { rows } = await database.pool.query<{ id: string }>(
    `WITH place AS (INSERT INTO venue (conference_id, name, latitude, longitude, time_zone)
                    VALUES ($1, 'Venue ' || gen_random_uuid(), 40, -90, 'America/Chicago') RETURNING id),
          home AS (INSERT INTO team (conference_id, name) VALUES ($1, 'Home ' || gen_random_uuid()) RETURNING id),
          away AS (INSERT INTO team (conference_id, name) VALUES ($1, 'Away ' || gen_random_uuid()) RETURNING id)
     INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     SELECT $1, $2, 'G1', 1, $3, home.id, away.id, place.id FROM place, home, away RETURNING id`,
    [conferenceId, seasonId, kickoff],
  );
  return rows[0]!.id;
}

describe('the current season', () => {
  test('is none in an empty conference, then the first that is opened, then the one chosen', async () => {
    const { open, choose, current } = await conference();
    expect(await current()).toBeNull();
    const first = await open({ name: '2026' });
    const second = await open({ name: '2027' });
    expect(await current()).toBe('2026');
    await choose(second);
    expect(await current()).toBe('2027');
    await choose(first);
    expect(await current()).toBe('2026');
  });

  test('does not follow the latest kickoff', async () => {
    const { conferenceId, open, current } = await conference();
    await makeGame(conferenceId, await open({ name: '2026' }), '2026-09-05T19:00:00Z');
    await makeGame(conferenceId, await open({ name: '2027' }), '2027-09-04T19:00:00Z');
    expect(await current()).toBe('2026');
  });

  test("cannot be another conference's", async () => {
    const mine = await conference();
    const theirs = await conference();
    const season = await theirs.open({ name: '2026' });
    await expect(mine.choose(season)).rejects.toMatchObject({ status: 404 });
    expect(await mine.current()).toBeNull();
  });
});

describe('opening a season', () => {
  test('keeps its weeks and crew size', async () => {
    const { conferenceId, open } = await conference();
    const id = await open({ name: '2026', crewSize: 5, weeks: weeksFrom('2026-08-31', 3, 0) });
    expect(await readWeeks(database.pool, conferenceId, id)).toEqual([
      { number: 0, firstDay: '2026-08-31', lastDay: '2026-09-06' },
      { number: 1, firstDay: '2026-09-07', lastDay: '2026-09-13' },
      { number: 2, firstDay: '2026-09-14', lastDay: '2026-09-20' },
    ]);
    const season = await database.prisma.season.findFirst({ where: { conferenceId } });
    expect(season).toMatchObject({ crewSize: 5, minimumGames: 3, state: 'open' });
  });

  test('cannot lose weeks that have games, not even all of them', async () => {
    const { conferenceId, acting, open } = await conference();
    const id = await open({ name: '2026', crewSize: 5, weeks: weeksFrom('2026-08-31', 3) });
    await makeGame(conferenceId, id, '2026-09-05 19:00');
    const change = (weeks: ReturnType<typeof weeksFrom>) =>
      inTransaction(database.pool, (client) => changeWeeks(client, acting, id, weeks));
    await expect(change([])).rejects.toThrow('Week 1 has 1 game, so it keeps its days.');
    expect(await readWeeks(database.pool, conferenceId, id)).toHaveLength(3);
    await change(weeksFrom('2026-08-31', 1));
    expect(await readWeeks(database.pool, conferenceId, id)).toHaveLength(1);
  });

  test('takes the settings of the season it is opened from', async () => {
    const { conferenceId, open } = await conference();
    const last = await open({ name: '2026', crewSize: 7 });
    await database.pool.query(
      'UPDATE season SET minimum_games = 5, postseason_places = 4 WHERE conference_id = $1',
      [conferenceId],
    );
    const next = await open({ name: '2027', openedFromId: last });
    const season = await database.prisma.season.findFirst({ where: { conferenceId, id: next } });
    expect(season).toMatchObject({ crewSize: 7, minimumGames: 5, postseasonPlaces: 4, openedFromId: last });
  });

  test('twice is refused with one sentence, also at the same moment', async () => {
    const { open, acts } = await conference();
    const both = await Promise.allSettled([open({ name: '2026' }), open({ name: '2026' })]);
    expect(both.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    await expect(open({ name: '2026' })).rejects.toMatchObject({
      status: 409,
      message:
        'There is a season "2026" already; it is being prepared. Choose it on the Seasons page, or give the new one another name.',
    });
    expect(await acts()).toEqual(['opened the season']);
  });
});

describe('the states of a season', () => {
  test('go from open to running to closed and back to running, each step remembered', async () => {
    const { open, start, close, reopen, state, acts } = await conference();
    const id = await open({ name: '2026' });
    await expect(close(id)).rejects.toMatchObject({ status: 409 });
    await start(id);
    await expect(start(id)).rejects.toMatchObject({
      status: 409,
      message: 'Season 2026 is running, so it stays as it is.',
    });
    await close(id);
    expect(await state(id)).toBe('closed');
    await expect(close(id)).rejects.toMatchObject({ status: 409 });
    await reopen(id);
    expect(await state(id)).toBe('running');
    expect(await acts()).toEqual([
      'opened the season',
      'started the season',
      'closed the season',
      'reopened the season',
    ]);
  });

  test('a first report starts the season', async () => {
    const { conferenceId, acting, open, state } = await conference();
    const id = await open({ name: '2026' });
    const game = await makeGame(conferenceId, id, '2026-09-05T19:00:00Z');
    await database.pool.query(
      'INSERT INTO report (conference_id, season_id, game_id, observer_id) VALUES ($1, $2, $3, $4)',
      [conferenceId, id, game, acting.personId],
    );
    expect(await state(id)).toBe('running');
  });
});
