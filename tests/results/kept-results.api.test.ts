// @module-tag rest
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { connect, type Database } from '../../server/database/database.ts';
import type { LetterLine } from '../../server/letters/letter-lines.ts';
import { readLetterSeason } from '../../server/letters/season-source.ts';
import { Calculator } from '../../server/results/calculator.ts';
import { KeptResults } from '../../server/results/kept-result.ts';
import { uncutGames } from '../../server/results/patterns/cut-counts.ts';
import {
  type CurrentPatterns,
  patternsGrounds,
  patternsKind,
} from '../../server/results/patterns/season-patterns.ts';
import { seasonResults } from '../../server/results/season-results.ts';
import {
  type CurrentStandings,
  standingsGrounds,
  standingsKind,
} from '../../server/results/standings/season-standings.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { type SignedInAgent, signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

let database: DemoDatabase;

/** What another process would have: connections of its own, and nothing else in common but the database. */
let elsewhere: Database;
const thread = new Calculator();
let app: FastifyInstance;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await demoDatabase();
  // Found again and again here: as if only the games of the first eight weeks had been released, which show some patterns.
  await database.pool.query(
    `WITH later AS (UPDATE report r SET state = 'accepted', released_at = NULL FROM game g
                     WHERE g.id = r.game_id AND g.week > 8 AND r.state = 'released' RETURNING r.game_id)
     DELETE FROM game_count WHERE game_id IN (SELECT game_id FROM later)`,
  );
  elsewhere = connect(database.url);
  app = await testApp(database);
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
});
afterAll(async () => {
  await app?.close();
  await thread.close();
  await elsewhere?.close();
  await database?.drop();
});
beforeEach(async () => {
  await database.pool.query('UPDATE season SET input_revision = input_revision + 1');
});

/** Computes in the thread, so that leases are put off meanwhile; counts how often, and calls `before` ahead of each computation. */
function counting(before: (task: 'grade' | 'patterns' | 'cuts') => Promise<void> = async () => {}) {
  const times = { grade: 0, patterns: 0, cuts: 0 };
  const begin = async (task: keyof typeof times) => {
    times[task] += 1;
    await before(task);
  };
  const calculator: Pick<Calculator, 'grade' | 'otherWays' | 'findPatterns' | 'cutGame' | 'pairSamples'> = {
    async grade(...given) {
      await begin('grade');
      return thread.grade(...given);
    },
    async findPatterns(...given) {
      await begin('patterns');
      return thread.findPatterns(...given);
    },
    async cutGame(material) {
      await begin('cuts');
      return thread.cutGame(material);
    },
    pairSamples: (pairs) => thread.pairSamples(pairs),
    otherWays: (...given) => thread.otherWays(...given),
  };
  return { times, calculator };
}

const season = () => [database.conferenceId, database.seasonId] as const;
const forget = async () => {
  await database.pool.query('DELETE FROM cut_count_state');
  await database.pool.query('DELETE FROM kept_result');
};

describe('a result asked for in two processes at once', () => {
  test('is found once: standings, patterns, counts by situation', async () => {
    await forget();
    const { times, calculator } = counting();
    const processes = [database.pool, elsewhere.pool].map((pool) => seasonResults(pool, calculator));
    const asked = await Promise.all(
      processes.flatMap((process) =>
        Array.from({ length: 5 }, () =>
          Promise.all([process.standingsOf(...season()), process.patternsOf(...season())]),
        ),
      ),
    );
    const { rows } = await database.pool.query<{ released: number }>(
      "SELECT count(DISTINCT game_id)::int AS released FROM report WHERE state = 'released'",
    );
    // Grades twice: the season, and the season before its latest week.
    expect(times).toEqual({ grade: 2, patterns: 1, cuts: rows[0]!.released });
    for (const results of asked) expect(results).toEqual(asked[0]);
    await Promise.all(processes.map((process) => process.cutsUpToDate(...season())));
    expect(times.cuts).toBe(rows[0]!.released);
  });

  test('each asks for the counts by situation alone and both get them', async () => {
    await forget();
    const { times, calculator } = counting();
    await Promise.all(
      [database.pool, elsewhere.pool].map((pool) =>
        seasonResults(pool, calculator).cutsUpToDate(...season()),
      ),
    );
    expect(await uncutGames(database.pool, database)).toEqual([]);
    const { rows } = await database.pool.query('SELECT count(*)::int AS games FROM cut_count_state');
    expect(times.cuts).toBe(rows[0]!.games);
  });
});

describe('a computation that fails', () => {
  test.each(['grade', 'patterns'] as const)(
    'is told to who asked for it; who waited gets the result (%s)',
    async (failing) => {
      const { times, calculator } = counting(async (task) => {
        if (task === failing && times[failing] === 1) throw new Error('out of memory');
      });
      const processes = [database.pool, elsewhere.pool].map((pool) => seasonResults(pool, calculator));
      const answers = await Promise.allSettled(
        [0, 0, 0, 1, 1].map((n) =>
          failing === 'grade'
            ? processes[n]!.standingsOf(...season())
            : processes[n]!.patternsOf(...season()),
        ),
      );
      const failed = answers.filter(({ status }) => status === 'rejected');
      expect(failed).toMatchObject([{ reason: { message: 'out of memory' } }]);
      const found = answers.flatMap((answer) => (answer.status === 'fulfilled' ? [answer.value] : []));
      for (const result of found) expect(result).toEqual(found[0]);
      // The failed one and one more; grading that succeeds goes on to the week before.
      expect(times[failing]).toBe(failing === 'grade' ? 3 : 2);
    },
  );

  test('for everyone gives each their own error, and leaves no lock behind', async () => {
    const { times, calculator } = counting(async () => {
      throw new Error(`failure ${times.grade}`);
    });
    const results = seasonResults(database.pool, calculator);
    const answers = await Promise.allSettled([1, 2, 3].map(() => results.standingsOf(...season())));
    expect(new Set(answers.map((answer) => (answer as PromiseRejectedResult).reason.message)).size).toBe(3);
    const { rowCount } = await database.pool.query('SELECT FROM result_underway');
    expect(rowCount).toBe(0);
    const working = seasonResults(elsewhere.pool, counting().calculator);
    expect((await working.standingsOf(...season())).lines.length).toBeGreaterThan(0);
  });

  test('of a process that died under it is made by another once its lease has run out', async () => {
    // What such a process leaves, with most of its lease gone.
    await database.pool.query(
      `INSERT INTO result_underway (conference_id, season_id, kind, run, until)
       VALUES ($1, $2, 'standings', gen_random_uuid(), clock_timestamp() + interval '1 second')`,
      [...season()],
    );
    let leftOver: number | null = null;
    const { times, calculator } = counting(async () => {
      const { rows } = await elsewhere.pool.query<{ others: number }>(
        "SELECT count(*)::int AS others FROM result_underway WHERE kind = 'standings' AND until < now() + interval '2 seconds'",
      );
      leftOver = rows[0]!.others;
    });
    await seasonResults(database.pool, calculator).standingsOf(...season());
    expect([times.grade, leftOver]).toEqual([2, 0]);
    expect((await database.pool.query('SELECT FROM result_underway')).rowCount).toBe(0);
  });

  test('is none when the server cuts every connection while it computes: the result is kept', async () => {
    let cut = false;
    const { times, calculator } = counting(async (task) => {
      if (task !== 'patterns' || cut) return;
      cut = true;
      await elsewhere.pool.query(
        `SELECT pg_terminate_backend(pid) FROM pg_stat_activity
          WHERE datname = current_database() AND pid <> pg_backend_pid()`,
      );
      // Until the news has arrived, with nothing asked of the connections meanwhile.
      while (database.pool.idleCount > 0) await new Promise((resolve) => setImmediate(resolve));
    });
    const found = await seasonResults(database.pool, calculator).patternsOf(...season());
    expect(found.patterns.length).toBeGreaterThan(0);
    expect([cut, times.patterns]).toEqual([true, 1]);
    await seasonResults(elsewhere.pool, calculator).patternsOf(...season());
    expect(times.patterns).toBe(1);
  });
});

describe('an upgrade over kept results', () => {
  const wrong = 918_273_645_546_372;
  let right: { standings: CurrentStandings; patterns: CurrentPatterns };
  beforeEach(async () => {
    right ??= {
      standings: await app.results.standingsOf(...season()),
      patterns: await app.results.patternsOf(...season()),
    };
  });
  /** Keeps standings and patterns as a program with another method did: other figures for the same input. */
  async function keepAsEarlier(): Promise<void> {
    const earlier = new KeptResults(elsewhere.pool);
    await earlier.current(
      {
        ...standingsKind(counting().calculator),
        method: standingsGrounds.method - 1,
        compute: async () => ({
          ...right.standings,
          lines: right.standings.lines.map((line) => ({ ...line, misses: wrong })),
        }),
      },
      database,
    );
    await earlier.current(
      {
        ...patternsKind(counting().calculator),
        // There is no method below the first, so one above it stands for the program before.
        method: patternsGrounds.method + 1,
        compute: async () => ({
          ...right.patterns,
          patterns: right.patterns.patterns.map((row) => ({ ...row, misses: wrong })),
        }),
      },
      database,
    );
    const { rows } = await database.pool.query(
      "SELECT kind FROM kept_result WHERE result::text LIKE '%' || $1 || '%' ORDER BY kind",
      [wrong],
    );
    expect(rows.map(({ kind }) => kind)).toEqual(['patterns', 'standings']);
  }

  test('shows no earlier figure: not in standings, patterns, letters or the evidence of a new point', async () => {
    for (const address of [
      `/api/seasons/${database.seasonId}/standings`,
      `/seasons/${database.seasonId}/standings`,
      `/api/seasons/${database.seasonId}/patterns`,
      `/seasons/${database.seasonId}/patterns`,
    ]) {
      await keepAsEarlier();
      const { text } = await coordinator.get(address).expect(200);
      expect(text, address).not.toContain(String(wrong));
    }
    await keepAsEarlier();
    const letters = await readLetterSeason(database.pool, app.results, ...season());
    expect(letters!.patterns.patterns.length).toBeGreaterThan(0);
    expect(JSON.stringify([letters!.standings, letters!.patterns])).not.toContain(String(wrong));
    await keepAsEarlier();
    const [pattern] = letters!.patterns.patterns;
    await coordinator
      .post(`/api/seasons/${database.seasonId}/development-points`)
      .send({ personId: pattern!.official, position: pattern!.position, dutyKey: pattern!.duty });
    const { rows } = await database.pool.query("SELECT evidence->'misses' AS misses FROM development_point");
    expect(rows.map(({ misses }) => misses)).not.toContain(wrong);
  });

  test('leaves what rests on the same alone', async () => {
    const { times, calculator } = counting();
    await app.results.standingsOf(...season());
    await app.results.patternsOf(...season());
    const later = seasonResults(elsewhere.pool, calculator);
    await later.standingsOf(...season());
    await later.patternsOf(...season());
    expect(times).toEqual({ grade: 0, patterns: 0, cuts: 0 });
  });

  test('a letter drafted before it is out of date and is not released; so is one drafted under other settings', async () => {
    const { rows: officials } = await database.pool.query<{ id: string }>(
      `SELECT DISTINCT c.person_id AS id FROM opportunity_count c JOIN report r ON r.id = c.report_id
        WHERE r.state = 'released' ORDER BY 1 LIMIT 2`,
    );
    const personIds = officials.map(({ id }) => id);
    const drafts = `/api/seasons/${database.seasonId}/letters?kind=mid-season`;
    const makeBatch = async () => {
      await coordinator
        .post(`/api/seasons/${database.seasonId}/letter-batches`)
        .send({ kind: 'mid-season', replyBy: '2026-12-20', personIds })
        .expect(202);
      await app.letterWork.idle();
    };
    const outOfDate = async () => {
      const { body } = await coordinator.get(drafts).expect(200);
      return (body.letters as LetterLine[]).filter(({ letter }) => letter?.outOfDate).length;
    };
    await makeBatch();
    expect(await outOfDate()).toBe(0);
    const { rowCount: all } = await database.pool.query(
      `UPDATE letter SET grounds = jsonb_set(grounds, '{patterns,0}', '0') WHERE kind = 'mid-season'`,
    );
    expect(all).toBe(2);
    expect(await outOfDate()).toBe(all);
    const refused = await coordinator
      .post(`/api/seasons/${database.seasonId}/letters/release`)
      .send({ kind: 'mid-season' });
    expect(refused.body).toMatchObject({ released: 0, outOfDate: all });

    await makeBatch();
    expect(await outOfDate()).toBe(0);
    await database.pool.query('UPDATE season SET minimum_games = minimum_games + 1');
    expect(await outOfDate()).toBe(all);
    await database.pool.query('UPDATE season SET minimum_games = minimum_games - 1');
    expect(await outOfDate()).toBe(0);
    await database.pool.query('UPDATE duty SET weight = weight + 1');
    expect(await outOfDate()).toBe(all);
    await database.pool.query('UPDATE duty SET weight = weight - 1');
  });

  test('the two methods are numbers that a kept result can carry', () => {
    for (const { method } of [standingsGrounds, patternsGrounds]) expect(method).toBeGreaterThanOrEqual(1);
  });
});

test('patterns wait for the counts by situation of a report released or counted again meanwhile', async () => {
  const { times, calculator } = counting();
  const kind = patternsKind(calculator);
  let prepared = 0;
  const found = await new KeptResults(database.pool).current(
    {
      ...kind,
      async prepare(...given) {
        await kind.prepare?.(...given);
        prepared += 1;
        if (prepared === 1)
          await elsewhere.pool.query(
            `DELETE FROM cut_count_state WHERE game_id = (SELECT min(game_id::text)::uuid FROM cut_count_state)`,
          );
      },
    },
    database,
  );
  expect(prepared).toBe(2);
  expect(times.cuts).toBe(1);
  expect(await uncutGames(database.pool, database)).toEqual([]);
  expect(found.patterns.length).toBeGreaterThan(0);
});

test('a game of a released report put into another week or crew moves the season', async () => {
  const revision = async () =>
    Number((await database.pool.query('SELECT input_revision FROM season')).rows[0].input_revision);
  const before = await revision();
  const released = `id = (SELECT game_id FROM report WHERE state = 'released' ORDER BY id LIMIT 1)`;
  await database.pool.query(`UPDATE game SET week = week + 1 WHERE ${released}`);
  expect(await revision()).toBe(before + 1);
  await database.pool.query(`UPDATE game SET crew_id = NULL WHERE ${released}`);
  expect(await revision()).toBe(before + 2);
  await database.pool.query(`UPDATE game SET film_link = 'https://example.org/film' WHERE ${released}`);
  expect(await revision()).toBe(before + 2);
});
