// @module-tag rest
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoPassword } from '../../../seed-demo/load.ts';
import { uncutGames } from '../../../server/results/patterns/cut-counts.ts';
import { type PatternTable, patternsCsv } from '../../../server/results/patterns/patterns-csv.ts';
import { type DemoDatabase, demoDatabase } from '../../support/demo-database.ts';
import { demoSeason } from '../../support/demo-season.ts';
import { inSessionOf, personSignedIn, type SignedInAgent, signedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';

// The demo season, loaded as a user would load it, with the truth it was made from.
let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
const { truth } = demoSeason();
const address = (path: string) => `/api/seasons/${database.seasonId}/${path}`;
const emails = new Map<string, string>();

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
  const { rows } = await database.pool.query<{ id: string; email: string }>('SELECT id, email FROM person');
  for (const { id, email } of rows) emails.set(id, email);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

type Pattern = {
  official: string;
  officialName: string;
  position: string;
  duty: string;
  situationCut: string | null;
  misses: number;
  opportunities: number;
  consequence: number;
  headline: boolean;
  weeks: { misses: number }[];
};

describe("a season's patterns", () => {
  it('hold what was planted, dearest first, and each opens to as many plays as it counts', async () => {
    const { body } = await coordinator.get(address('patterns')).expect(200);
    const patterns: Pattern[] = body.patterns;
    const found = truth.planted.filter((miss) =>
      patterns.some((row) => emails.get(row.official) === miss.email && row.duty === miss.dutyKey),
    );
    const lasting = truth.planted.filter((miss) => miss.untilWeek === null);
    console.log(`planted misses found through the database: ${found.length} of ${truth.planted.length}`);
    expect(found.length).toBeGreaterThanOrEqual(Math.ceil(0.6 * lasting.length));
    expect(patterns.map((row) => row.consequence)).toEqual(
      patterns.map((row) => row.consequence).sort((a, b) => b - a),
    );
    for (const row of patterns) {
      const query = new URLSearchParams({
        position: row.position,
        dutyKey: row.duty,
        situationCut: row.situationCut ?? '',
      });
      const plays = await coordinator
        .get(address(`officials/${row.official}/pattern-plays?${query}`))
        .expect(200);
      expect(plays.body, `${row.officialName}, ${row.duty}`).toHaveLength(row.misses);
      expect(row.weeks.reduce((sum, week) => sum + week.misses, 0)).toBe(row.misses);
    }
  });

  it('are the same when asked for again, and found anew when a release moves the season', async () => {
    const first = await coordinator.get(address('patterns')).expect(200);
    const kept = await database.pool.query("SELECT computed_at FROM kept_result WHERE kind = 'patterns'");
    const again = await coordinator.get(address('patterns')).expect(200);
    expect(again.body).toEqual(first.body);
    const same = await database.pool.query("SELECT computed_at FROM kept_result WHERE kind = 'patterns'");
    expect(same.rows).toEqual(kept.rows);
    // A game counted again: its cuts go, the season's revision moves, the next answer is new.
    const { rows } = await database.pool.query<{ game_id: string }>(
      `UPDATE game_count SET model = model + 1
        WHERE (conference_id, game_id, person_id, duty_key) IN (
          SELECT conference_id, game_id, person_id, duty_key FROM game_count
           WHERE opportunities > not_met + not_counted + model LIMIT 1)
        RETURNING game_id`,
    );
    const state = await database.pool.query('SELECT FROM cut_count_state WHERE game_id = $1', [
      rows[0]!.game_id,
    ]);
    expect(state.rowCount).toBe(0);
    const changed = await coordinator.get(address('patterns')).expect(200);
    expect(changed.body.inputRevision).toBeGreaterThan(first.body.inputRevision);
    expect(await uncutGames(database.pool, database)).toEqual([]);
  });

  it('come as CSV with one line each', async () => {
    const { body } = await coordinator.get(address('patterns')).expect(200);
    for (const [table, rows] of Object.entries({
      officials: body.patterns,
      crews: body.crews,
      strengths: body.strengths,
      conference: body.conference,
      weeks: body.weeks,
    })) {
      const csv = await coordinator.get(address(`patterns.csv?table=${table}`)).expect(200);
      expect(csv.headers['content-type']).toContain('text/csv');
      const lines = csv.text.trimEnd().split('\r\n');
      expect(lines, table).toHaveLength(1 + (rows as unknown[]).length);
      // A list that nobody is on has the same columns.
      const none = { patterns: [], crews: [], strengths: [], conference: [], weeks: [] };
      expect(patternsCsv(table as PatternTable, none).trimEnd()).toBe(lines[0]);
    }
    await coordinator.get(address('patterns.csv?table=everything')).expect(400);
  });

  it('follow the settings, and refuse senseless ones by name', async () => {
    const before = await coordinator.get(address('pattern-settings')).expect(200);
    const refused = await coordinator
      .put(address('pattern-settings'))
      .send({ ...before.body, falseDiscoveryRate: 0.7 })
      .expect(400);
    expect(refused.body.errors[0]).toMatchObject({ field: 'body.falseDiscoveryRate' });
    await coordinator
      .put(address('pattern-settings'))
      .send({ falseDiscoveryRate: 0.1, minimumOpportunities: 60, minimumGames: 5 })
      .expect(200);
    const strict = await coordinator.get(address('patterns')).expect(200);
    for (const row of strict.body.patterns) {
      expect(row.opportunities).toBeGreaterThanOrEqual(60);
      expect(row.gamesWithMisses).toBeGreaterThanOrEqual(5);
    }
    await coordinator.put(address('pattern-settings')).send(before.body).expect(200);
    const form = await coordinator
      .post(`/seasons/${database.seasonId}/patterns/settings`)
      .type('form')
      .send({ falseDiscoveryRate: 'much', minimumOpportunities: '10', minimumGames: '3' })
      .expect(400);
    expect(form.text).toContain('falseDiscoveryRate must be a number');
    expect(form.text).toContain('value="much"');
  });

  it('are computed once for many who ask at the same time', async () => {
    await database.pool.query('UPDATE season SET input_revision = input_revision + 1');
    const answers = await Promise.all(
      Array.from({ length: 6 }, () => coordinator.get(address('patterns')).expect(200)),
    );
    expect(new Set(answers.map((answer) => JSON.stringify(answer.body))).size).toBe(1);
  });
});

describe("an official's own patterns", () => {
  let official: SignedInAgent;
  let other: string;
  let body: { patterns: Pattern[] };
  beforeAll(async () => {
    const all = await coordinator.get(address('patterns'));
    const [first] = all.body.patterns as Pattern[];
    official = await inSessionOf(app, { conferenceId: database.conferenceId, personId: first!.official });
    other = (all.body.patterns as Pattern[]).find((row) => row.official !== first!.official)!.official;
    body = (await official.get(address(`officials/${first!.official}/patterns`)).expect(200)).body;
  });

  it('name nobody else, in the API and on the pages', async () => {
    expect(body.patterns.length).toBeGreaterThan(0);
    const page = await official.get('/my/patterns').expect(200);
    const { rows } = await database.pool.query<{ id: string; family_name: string }>(
      'SELECT id, family_name FROM person WHERE id <> $1',
      [body.patterns[0]!.official],
    );
    for (const { id, family_name } of rows) {
      expect(JSON.stringify(body)).not.toContain(id);
      expect(JSON.stringify(body)).not.toContain(family_name);
      expect(page.text).not.toContain(family_name);
    }
    const [pattern] = body.patterns;
    expect(page.text).toContain(`${pattern!.misses} of ${pattern!.opportunities}`);
    const query = new URLSearchParams({ position: pattern!.position, dutyKey: pattern!.duty });
    await official.get(`/my/patterns/plays?${query}`).expect(200);
  });

  it("are closed to other officials, and the coordinator's pages to all officials", async () => {
    await official.get(address(`officials/${other}/patterns`)).expect(404);
    await official.get(address(`officials/${other}/pattern-plays?position=umpire&dutyKey=x`)).expect(404);
    await official.get(address('patterns')).expect(403);
    await official.get(`/seasons/${database.seasonId}/patterns`).expect(403);
  });

  it('say nothing of another conference', async () => {
    const elsewhere = await database.pool.query<{ id: string }>(
      "INSERT INTO conference (slug, name) VALUES ('elsewhere', 'Elsewhere') RETURNING id",
    );
    const stranger = await personSignedIn(app, elsewhere.rows[0]!.id, ['coordinator']);
    await stranger.agent.get(address('patterns')).expect(404);
    await stranger.agent.get(address(`officials/${other}/patterns`)).expect(404);
    await stranger.agent.get(`/seasons/${database.seasonId}/patterns`).expect(404);
  });
});

it('every page of the section shows', async () => {
  for (const path of ['', '/crews', '/training-topics', '/strengths', '/development-points']) {
    const page = await coordinator.get(`/seasons/${database.seasonId}/patterns${path}`).expect(200);
    expect(page.text).toContain('<h1>');
  }
});
