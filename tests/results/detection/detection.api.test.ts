// @module-tag long
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { demoPassword } from '../../../seed-demo/load.ts';
import { type DemoDatabase, demoDatabase } from '../../support/demo-database.ts';
import { type SignedInAgent, signedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

interface ByMarks {
  game: string;
  first: string;
  second: string;
  both: number;
  onlyFirst: number;
  onlySecond: number;
  differed: number;
}

interface Said {
  report: string;
  play: string;
  position: string;
  duty: string;
  perGame: boolean;
  said: 'missed' | 'open' | 'done';
}

/**
 * What two observers noted, counted from their marks apart from the program. Only where both had a chance to note it:
 * both watched the position on that play, and both reports count the duty.
 */
async function byMarks(): Promise<ByMarks[]> {
  const { rows: reports } = await database.pool.query<{
    id: string;
    game: string;
    observer: string;
    watched: {
      positions: string[];
      stretches: { from: string | null; to: string | null; positions: string[] }[];
    };
    plays: string[];
    counting: string[];
  }>(
    `SELECT r.id, r.game_id AS game, r.observer_id AS observer, r.watched,
            (SELECT array_agg(p.id ORDER BY p.number) FROM play p
              WHERE p.conference_id = r.conference_id AND p.game_id = r.game_id AND p.removed_at IS NULL) AS plays,
            (SELECT array_agg(c.position || ' ' || c.duty_key) FROM opportunity_count c
              WHERE c.conference_id = r.conference_id AND c.report_id = r.id AND c.opportunities > 0) AS counting
       FROM report r WHERE r.season_id = $1 AND r.state = 'released' ORDER BY r.observer_id`,
    [database.seasonId],
  );
  const { rows: marks } = await database.pool.query<Said>(
    `SELECT o.report_id AS report, o.play_id AS play, o.position, o.duty_key AS duty,
            coalesce(d.definition->>'per' = 'game', false) AS "perGame",
            CASE WHEN o.finding IN ('missed', 'wrong call', 'missed foul') THEN 'missed'
                 WHEN o.finding IN ('not seen', 'cannot tell') THEN 'open' ELSE 'done' END AS said
       FROM report r
       JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id
        AND o.removed_at IS NULL AND o.standing = 'counted'
       JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
        AND d.key = o.duty_key
      WHERE r.season_id = $1 AND r.state = 'released'`,
    [database.seasonId],
  );
  type Report = (typeof reports)[number];
  const watchedIt = ({ watched, plays }: Report, play: string, position: string) => {
    // The latest stretch that holds the play says who was watched on it; outside all, the report as a whole.
    const holding = watched.stretches.filter(({ from, to }) => {
      const at = plays.indexOf(play);
      return at >= (from ? plays.indexOf(from) : 0) && at <= (to ? plays.indexOf(to) : plays.length);
    });
    return (holding.at(-1) ?? watched).positions.includes(position);
  };
  const gravity = ['done', 'open', 'missed'] as const;
  const saidIn = (report: Report) => {
    const said = new Map<string, Said>();
    for (const mark of marks.filter((one) => one.report === report.id)) {
      const cell = `${mark.perGame ? 'game' : mark.play} ${mark.position} ${mark.duty}`;
      const before = said.get(cell);
      if (!before || gravity.indexOf(mark.said) > gravity.indexOf(before.said)) said.set(cell, mark);
    }
    return said;
  };
  const pairs = new Map<string, Report[]>();
  for (const report of reports) pairs.set(report.game, [...(pairs.get(report.game) ?? []), report]);
  return [...pairs.values()]
    .filter((pair) => pair.length === 2)
    .map((pair) => {
      const [first, second] = pair as [Report, Report];
      const counts = { both: 0, onlyFirst: 0, onlySecond: 0, differed: 0 };
      const [one, other] = [saidIn(first), saidIn(second)];
      for (const cell of new Set([...one.keys(), ...other.keys()])) {
        const { play, position, duty, perGame } = (one.get(cell) ?? other.get(cell))!;
        const sampled = pair.every(
          (report) =>
            report.counting.includes(`${position} ${duty}`) &&
            (perGame ? report.plays : [play]).some((each) => watchedIt(report, each, position)),
        );
        if (!sampled) continue;
        const [a, b] = [one.get(cell)?.said, other.get(cell)?.said];
        if (a === 'missed' && b === 'missed') counts.both++;
        else if (a === 'missed' && !b) counts.onlyFirst++;
        else if (b === 'missed' && !a) counts.onlySecond++;
        else if (a && b && a !== b && a !== 'open' && b !== 'open') counts.differed++;
      }
      return { game: first.game, first: first.observer, second: second.observer, ...counts };
    });
}

const sum = (rows: readonly ByMarks[], of: 'both' | 'onlyFirst' | 'onlySecond' | 'differed') =>
  rows.reduce((all, row) => all + row[of], 0);

test('what two observers noted is what their marks say, overall and for each', async () => {
  const expected = await byMarks();
  expect(expected.length).toBeGreaterThan(10);
  const { body } = await coordinator.get(`/api/seasons/${database.seasonId}/detection`).expect(200);
  expect(body).toMatchObject({
    games: expected.length,
    both: sum(expected, 'both'),
    one: sum(expected, 'onlyFirst') + sum(expected, 'onlySecond'),
    differed: sum(expected, 'differed'),
  });
  expect(body.misses.found).toBe(body.both + body.one);
  expect(body.misses.low).toBeGreaterThanOrEqual(body.misses.found);
  expect(body.misses.estimate).toBeGreaterThan(body.misses.low);
  expect(body.misses.high).toBeGreaterThan(body.misses.estimate);
  const observers = [...new Set(expected.flatMap(({ first, second }) => [first, second]))].sort();
  expect(body.observers.map((row: { observer: string }) => row.observer)).toEqual(observers);
  for (const row of body.observers) {
    const as = (one: 'first' | 'second') => expected.filter((pair) => pair[one] === row.observer);
    const both = sum(as('first'), 'both') + sum(as('second'), 'both');
    const own = sum(as('first'), 'onlyFirst') + sum(as('second'), 'onlySecond');
    const others = sum(as('first'), 'onlySecond') + sum(as('second'), 'onlyFirst');
    expect(row.games).toBe(as('first').length + as('second').length);
    expect([row.seen?.some, row.seen?.of]).toEqual(
      both + others > 0 ? [both, both + others] : [undefined, undefined],
    );
    expect([row.alone?.some, row.alone?.of]).toEqual(
      own + others > 0 ? [own, own + others] : [undefined, undefined],
    );
  }
});

test('severity page, its CSV and the API say the same of keen and strict, and that one without a double game is unknown', async () => {
  const address = `/api/seasons/${database.seasonId}`;
  const detection = (await coordinator.get(`${address}/detection`).expect(200)).body;
  const severity = (await coordinator.get(`${address}/severity`).expect(200)).body as {
    observerId: string;
    keenness: string;
    strictness: string;
  }[];
  const known = new Set(detection.observers.map((row: { observer: string }) => row.observer));
  for (const row of severity) {
    const same = detection.observers.find((one: { observer: string }) => one.observer === row.observerId);
    expect([row.keenness, row.strictness]).toEqual(
      same
        ? [same.keenness, same.strictness]
        : ['unknown, because no double game', 'unknown, because no double game'],
    );
  }
  const { text } = await coordinator.get(`/seasons/${database.seasonId}/severity`).expect(200);
  const { document } = parseHTML(text);
  const rows = [...document.querySelectorAll('table')][1]!.querySelectorAll('tbody tr');
  expect(rows).toHaveLength(severity.length);
  const plain = document.querySelector('main')!.textContent!.replace(/\s+/g, ' ');
  expect(plain).toContain(`Both noted ${detection.both} misses, one of them alone ${detection.one}.`);
  expect(plain).toContain('were noted by neither. Take it for the least there are');
  const unfound = Math.round(detection.misses.estimate - detection.misses.found);
  expect(plain).toContain(`By that about ${unfound} more (`);
  const csv = await coordinator.get(`/seasons/${database.seasonId}/severity.csv`).expect(200);
  const lines = parse(csv.text, { columns: true }) as Record<string, string>[];
  expect(lines.map((line) => line.keenness)).toEqual(severity.map((row) => row.keenness));
  expect(lines.filter((line) => line['games with another observer'] === '0')).toHaveLength(
    severity.filter((row) => !known.has(row.observerId)).length,
  );
});

test('an observer whose second reports are gone is unknown; without double games the page says what to do', async () => {
  await database.pool.query(
    `UPDATE report r SET state = 'accepted' WHERE state = 'released' AND EXISTS (
       SELECT FROM report o WHERE o.game_id = r.game_id AND o.id < r.id)`,
  );
  const { body } = await coordinator.get(`/api/seasons/${database.seasonId}/detection`).expect(200);
  expect(body).toMatchObject({ games: 0, both: 0, one: 0, seen: null, observers: [] });
  const { text } = await coordinator.get(`/seasons/${database.seasonId}/severity`).expect(200);
  expect(text).toContain('No game has two released reports yet');
  expect(text).toContain('Unknown, because no double game');
});
