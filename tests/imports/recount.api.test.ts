// @module-tag long
import { afterAll, beforeAll, expect, it } from 'vitest';
import { demoFiles } from '../../seed-demo/files.ts';
import { fileKindNamed } from '../../server/imports/files/index.ts';
import { importFile } from '../../server/imports/import-file.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { demoSeason } from '../support/demo-season.ts';

let database: DemoDatabase;
let conferenceId: string;

beforeAll(async () => {
  database = await demoDatabase();
  ({ conferenceId } = database);
});
afterAll(() => database.drop());

const season = demoSeason();
const plays = demoFiles(season).find(({ name }) => name === 'plays')!.text;

async function put(text: string) {
  async function* bytes() {
    yield Buffer.from(text);
  }
  return importFile(
    database.pool,
    { conferenceId, personId: null },
    { kind: fileKindNamed('plays')!, fileName: 'plays.csv', open: bytes },
  );
}

const reportOn = async (game: string) => {
  const { rows } = await database.pool.query(
    `SELECT r.revision, (SELECT count(*)::int FROM report_revision v WHERE v.conference_id = $1 AND v.report_id = r.id) AS kept,
            (SELECT sum(opportunities)::int FROM opportunity_count n WHERE n.conference_id = $1 AND n.report_id = r.id) AS opportunities,
            (SELECT input_revision FROM season s WHERE s.conference_id = $1 AND s.id = r.season_id)::int AS input
       FROM report r JOIN game g ON g.conference_id = $1 AND g.id = r.game_id
      WHERE r.conference_id = $1 AND g.key = $2 ORDER BY r.id`,
    [conferenceId, game],
  );
  return rows;
};

it('counts a released report again when its play log is corrected, as a new revision, and says so', async () => {
  const game = season.reports.find((report) => report.state === 'released')!.game;
  const before = await reportOn(game);
  const [headings, ...lines] = plays.trimEnd().split('\r\n') as [string, ...string[]];
  const kind = headings.split(',').indexOf('kind');
  const run = lines.find((line) => line.startsWith(`${game},`) && line.split(',')[kind] === 'run')!;
  const corrected = run.split(',').map((cell, at) => (at === kind ? 'pass' : cell));
  const outcome = await put(`${headings}\r\n${corrected.join(',')}\r\n`);
  expect(outcome).toMatchObject({ applied: true, added: 0, changed: 1 });
  expect(outcome.recounted.length).toBe(before.length);
  const after = await reportOn(game);
  for (const [at, report] of after.entries()) {
    expect(outcome.recounted[at]).toEqual({
      game,
      observer: expect.any(String),
      before: before[at].opportunities,
      after: report.opportunities,
    });
    expect(report.opportunities).not.toBe(before[at].opportunities);
    expect([report.revision, report.kept]).toEqual([before[at].revision + 1, before[at].kept + 1]);
    // The standings know that what they were computed from has changed.
    expect(report.input).toBeGreaterThan(before[at].input);
  }
});

it('leaves reports alone when no count changes', async () => {
  const game = season.reports.find((report) => report.state === 'accepted')!.game;
  const before = await reportOn(game);
  const outcome = await put(`game,play,kind,spot,note\r\n${game},1,free kick,35,another note\r\n`);
  expect(outcome).toMatchObject({ changed: 1, recounted: [] });
  expect(await reportOn(game)).toEqual(before);
});
