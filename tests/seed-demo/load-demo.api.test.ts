// @module-tag long
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { demoIsLoaded } from '../../seed-demo/load.ts';
import { effectOf } from '../../server/duties/finding.ts';
import {
  type DemoDatabase,
  type DemoLoading,
  demoDatabase,
  readDemoLoading,
} from '../support/demo-database.ts';
import { demoSeason } from '../support/demo-season.ts';

let database: DemoDatabase;
let loading: DemoLoading;
const season = demoSeason();

beforeAll(async () => {
  database = await demoDatabase();
  loading = readDemoLoading();
});
afterAll(() => database.drop());

describe('loading the demo season', () => {
  it('goes on where it was cut off, ends, tells its steps, and names a sign-in for each role', async () => {
    const { said, cutOff, loaded } = loading;
    expect(cutOff.steps).toBeGreaterThan(8);
    expect(cutOff.loaded).toBe(false);
    expect(await demoIsLoaded(database.pool)).toBe(true);
    expect(said).toContain('Imported schedule.csv: 55 lines');
    expect(loaded.signIns.map(({ role }) => role)).toEqual(['coordinator', 'observer', 'official']);
    const { rows } = await database.pool.query<{ email: string; roles: string[] }>(
      `SELECT p.email, array_agg(r.role) AS roles FROM person p
         JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
        WHERE p.conference_id = $1 AND p.password_hash IS NOT NULL GROUP BY p.email`,
      [database.conferenceId],
    );
    expect(rows.map(({ email }) => email).sort()).toEqual(loaded.signIns.map(({ email }) => email).sort());
    for (const { role, email } of loaded.signIns) {
      expect(rows.find((row) => row.email === email)?.roles).toContain(role);
    }
  });

  it('has every report in its state with its marks, once', async () => {
    const { rows } = await database.pool.query<{ key: string; email: string; state: string; marks: number }>(
      `SELECT g.key, p.email, r.state,
              (SELECT count(*)::int FROM observation o
                WHERE o.conference_id = r.conference_id AND o.report_id = r.id AND o.removed_at IS NULL) AS marks
         FROM report r
         JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
         JOIN person p ON p.conference_id = r.conference_id AND p.id = r.observer_id
        WHERE r.conference_id = $1`,
      [database.conferenceId],
    );
    const expected = season.reports.map(({ game, observer, state, marks }) => ({
      key: game,
      email: observer,
      state,
      marks: marks.length,
    }));
    const order = (a: { key: string; email: string }, b: { key: string; email: string }) =>
      `${a.key}${a.email}` < `${b.key}${b.email}` ? -1 : 1;
    expect(rows.sort(order)).toEqual(expected.sort(order));
  });

  it('keeps what calls cost, as the files say', async () => {
    const { rows } = await database.pool.query<{ consequence: string; marks: number }>(
      `SELECT consequence, count(*)::int AS marks FROM observation
        WHERE conference_id = $1 AND consequence IS NOT NULL GROUP BY consequence`,
      [database.conferenceId],
    );
    const inFiles: Record<string, number> = {};
    for (const { consequence } of season.reports.flatMap(({ marks }) => marks))
      if (consequence !== null) inFiles[consequence] = (inFiles[consequence] ?? 0) + 1;
    expect(Object.fromEntries(rows.map(({ consequence, marks }) => [consequence, marks]))).toEqual(inFiles);
    expect(rows).toHaveLength(4);
  });

  it('keeps counts in which each mark lies on a chance that the facts gave; few duties are too thinly logged', async () => {
    const { rows } = await database.pool.query<{ opportunities: number; not_met: number; thin: number }>(
      `SELECT sum(opportunities)::int AS opportunities, sum(not_met + set_aside_not_met)::int AS not_met,
              sum(set_aside_not_met)::int AS thin
         FROM opportunity_count WHERE conference_id = $1`,
      [database.conferenceId],
    );
    const notMet = season.reports
      .filter(({ state }) => state !== 'draft')
      .flatMap(({ marks }) => marks)
      .filter(({ finding }) => effectOf(finding) === 'not met');
    expect(rows[0]!.not_met).toBe(notMet.length);
    expect(rows[0]!.opportunities).toBeGreaterThan(notMet.length * 10);
    // A hurried observer leaves facts out: some marks show how that is told.
    expect(rows[0]!.thin).toBeGreaterThan(0);
    expect(rows[0]!.thin).toBeLessThan(notMet.length / 100);
    const standings = await database.pool.query<{ standing: string | null }>(
      `SELECT DISTINCT o.standing FROM observation o JOIN report r ON r.conference_id = $1 AND r.id = o.report_id
        WHERE o.conference_id = $1 AND r.state <> 'draft' ORDER BY 1`,
      [database.conferenceId],
    );
    expect(standings.rows.map(({ standing }) => standing)).toEqual(['counted', 'thin log']);
  });

  it('has observers in the stadium who did not see all of the game, and say so', async () => {
    const { rows } = await database.pool.query<{ partly: number; unwatched: number }>(
      `SELECT count(*) FILTER (WHERE r.watched->'stretches' <> '[]' OR jsonb_array_length(r.watched->'positions') < 8)::int
                AS partly,
              (SELECT sum(unwatched)::int FROM opportunity_count WHERE conference_id = $1) AS unwatched
         FROM report r WHERE r.conference_id = $1`,
      [database.conferenceId],
    );
    expect(rows[0]!.partly).toBe(season.reports.filter(({ notWatched }) => notWatched.length > 0).length);
    expect(rows[0]!.partly).toBeGreaterThan(2);
    expect(rows[0]!.unwatched).toBeGreaterThan(1000);
  });

  it('is told in time: filed after the game, released after filed', async () => {
    const { rows } = await database.pool.query<{ wrong: number }>(
      `SELECT count(*)::int AS wrong FROM report r JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
        WHERE r.conference_id = $1
          AND (r.filed_at <= g.kickoff OR r.accepted_at <= r.filed_at OR r.released_at <= r.accepted_at)`,
      [database.conferenceId],
    );
    expect(rows[0]?.wrong).toBe(0);
  });
});
