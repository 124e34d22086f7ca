// @module-tag rest
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { gradeKinds } from '../../../server/grading/grade-kinds.ts';
import type { StandingLine } from '../../../server/results/standings/season-standings.ts';
import { countGames, onlyReport } from '../../support/count-games.ts';
import { type DemoDatabase, demoDatabase } from '../../support/demo-database.ts';
import { gameFromMarks } from '../../support/game-from-marks.ts';
import { inSessionOf, type SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';

// What is counted of one official, in games that one observer saw and in games that two did: the same wherever it
// stands. And the grades of one, a wing whose wrong call cost a score.

let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
let personId: string;
let nameOfOfficial: string;
let season: string;

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  season = `/seasons/${database.seasonId}`;
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
    database.signIns.coordinator,
  ]);
  coordinator = await inSessionOf(app, { conferenceId: database.conferenceId, personId: rows[0]!.id });
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

/** The card of one position on an evaluation page. */
function sectionOf(html: string, position: string) {
  const { document } = parseHTML(html);
  return [...document.querySelectorAll('section.card')].find(
    (section) => section.querySelector('h2')?.textContent === position,
  )!;
}

/** The rows of all tables of a letter as the conference's own template writes it. */
async function rowsOf(template: 'end-of-season' | 'season-book') {
  const address = `/api/letter-templates/${template}`;
  const { body } = (await coordinator.get(address).expect(200)).body;
  const shown = await coordinator
    .post(`${address}/preview`)
    .send({ body, seasonId: database.seasonId, personId })
    .expect(200);
  expect(shown.body.problems).toEqual([]);
  return [...parseHTML(`<main>${shown.body.html}</main>`).document.querySelectorAll('tr')].map((row) =>
    [...row.querySelectorAll('th, td')].map((cell) => cell.textContent?.replace(/\s+/g, ' ').trim()),
  );
}

const cellsOf = (html: string, position: string) =>
  [...sectionOf(html, position).querySelectorAll('tbody tr')].map((row) =>
    [...row.querySelectorAll('th, td')].map((cell) => cell.textContent?.replace(/\s+/g, ' ').trim()),
  );

const lineBy = async (by: string) => {
  const { body } = await coordinator.get(`/api${season}/standings?by=${by}`).expect(200);
  expect(body.by).toBe(by);
  return (body.lines as StandingLine[]).find(
    (line) => line.personId === personId && line.position === 'line judge',
  )!;
};

/** Answers what was asked for before, while nothing changes: many duties are of the same official and game. */
function once<Value>(ask: (...of: string[]) => Promise<Value>): (...of: string[]) => Promise<Value> {
  const asked = new Map<string, Promise<Value>>();
  return (...of) => {
    const key = of.join(' ');
    if (!asked.has(key)) asked.set(key, ask(...of));
    return asked.get(key)!;
  };
}

const marksOfGame = once((id, version) => gameFromMarks(database, id!, version!));

/** What an official's games count, from their plays and marks alone: by position and duty, and by game. */
async function fromMarks(official: string, position: string) {
  const { rows: games } = await database.pool.query<{ id: string; version: string; reports: number }>(
    `SELECT r.game_id AS id, min(r.rubric_version_id::text) AS version, count(*)::int AS reports
       FROM report r JOIN working_crew_member w ON w.game_id = r.game_id AND w.person_id = $1 AND w.position = $2
      WHERE r.state = 'released' AND r.season_id = $3 GROUP BY r.game_id`,
    [official, position, database.seasonId],
  );
  const byDuty = new Map<string, { opportunities: number; misses: number }>();
  const byGame = new Map<string, { opportunities: number; misses: number; observers: number }>();
  for (const { id, version, reports } of games) {
    const own = (await marksOfGame(id, version)).filter((row) => row.person_id === official);
    const ofGame = { opportunities: 0, misses: 0, observers: reports };
    for (const row of own) {
      const duty = byDuty.get(String(row.duty_key)) ?? { opportunities: 0, misses: 0 };
      byDuty.set(String(row.duty_key), duty);
      for (const sum of [duty, ofGame]) {
        sum.opportunities += Number(row.opportunities) - Number(row.not_counted);
        sum.misses += Number(row.not_met);
      }
    }
    byGame.set(id, ofGame);
  }
  return { byDuty, byGame };
}

interface Pattern {
  official: string;
  officialName: string;
  position: string;
  duty: string;
  title: string;
  situationCut: string | null;
  opportunities: number;
  misses: number;
  headline: boolean;
  weeks: { game: string; opportunities: number; misses: number }[];
}

describe('a duty of games that two observers saw', () => {
  test('reads the same on every page, in the letter, the files and the API, as plays and marks give it', async () => {
    const shown = once(async (address) => coordinator.get(address!).expect(200));
    const { body } = await shown(`/api${season}/patterns`);
    const whole = (body.patterns as Pattern[]).filter(({ situationCut }) => situationCut === null);
    const misses = (await shown(`${season}/patterns`)).text;
    let seenTwice = 0;
    for (const pattern of whole) {
      const { official, position, duty, title, weeks } = pattern;
      const { byDuty, byGame } = await fromMarks(official, position);
      const truth = byDuty.get(duty)!;
      seenTwice += [...byGame.values()].filter(({ observers }) => observers > 1).length;
      const told = `${truth.misses} of ${truth.opportunities}`;
      expect({ misses: pattern.misses, opportunities: pattern.opportunities }).toEqual(truth);
      expect(weeks.reduce((sum, week) => sum + week.misses, 0)).toBe(truth.misses);

      // The explained grade: API, page, files.
      const explained = await shown(`/api${season}/officials/${official}/grade`);
      const grade = explained.body.find((one: { position: string }) => one.position === position);
      const own = grade.duties.find((one: { key: string }) => one.key === duty);
      expect({ misses: own.misses, opportunities: own.opportunities }).toEqual(truth);
      for (const [game, figures] of byGame) {
        const listed = grade.games.find((one: { gameId: string }) => one.gameId === game);
        expect(listed).toMatchObject(figures);
        expect(grade.games.filter((one: { gameId: string }) => one.gameId === game)).toHaveLength(1);
      }
      expect({ misses: grade.misses, opportunities: grade.opportunities }).toEqual({
        misses: [...byGame.values()].reduce((sum, game) => sum + game.misses, 0),
        opportunities: [...byGame.values()].reduce((sum, game) => sum + game.opportunities, 0),
      });
      // Each missed play once, whoever marked it.
      expect(own.plays).toHaveLength(truth.misses);
      const playIds = own.plays.map((play: { playId: string }) => play.playId);
      expect(new Set(playIds).size).toBe(playIds.length);
      const why = (await shown(`${season}/officials/${official}/grade`)).text;
      const summaries = [...parseHTML(why).document.querySelectorAll('details.duty-loss > summary')].map(
        (summary) => summary.textContent!.replace(/\s+/g, ' ').trim(),
      );
      expect(summaries.some((text) => text.startsWith(`${title} ${told} missed`))).toBe(true);
      const files = parse((await shown(`${season}/officials/${official}/grade.csv`)).text, {
        columns: true,
      }) as Record<string, string>[];
      const line = files.find((row) => row.duty === title && row.position === position)!;
      expect([line.missed, line.opportunities]).toEqual([String(truth.misses), String(truth.opportunities)]);

      // The evaluation, the list of repeat misses, the plays behind it.
      const evaluation = (await shown(`${season}/officials/${official}`)).text;
      const heading = `${position[0]!.toUpperCase()}${position.slice(1)}`;
      const section = [...parseHTML(evaluation).document.querySelectorAll('section.card')].find((one) =>
        one.querySelector('h2')!.textContent!.startsWith(heading),
      )!;
      const row = [...section.querySelectorAll('tbody tr')]
        .map((one) => [...one.querySelectorAll('th, td')].map((cell) => cell.textContent!.trim()))
        .find(([first]) => first === title)!;
      expect(row.slice(1, 3)).toEqual([String(truth.misses), String(truth.opportunities)]);
      if (pattern.headline) expect(misses).toContain(`<strong>${told}</strong>`);
      const asked = `position=${encodeURIComponent(position)}&dutyKey=${duty}`;
      const behind = (await shown(`${season}/officials/${official}/pattern?${asked}`)).text;
      expect(behind).toContain(`<span class="figure">${told}</span>`);
      const plays = await shown(`/api${season}/officials/${official}/pattern-plays?${asked}`);
      expect(plays.body).toHaveLength(truth.misses);

      // The letter and the report of the first game and of each that two saw.
      const letter = await shown(`/api${season}/officials/${official}/letter-data?kind=end-of-season`);
      if (letter.body.official.position === position && pattern.headline) {
        const point = letter.body.development.find((one: { duty: string }) => one.duty === title);
        expect({ misses: point.misses, opportunities: point.opportunities }).toEqual(truth);
        expect(point.plays).toHaveLength(truth.misses);
        expect(letter.body.totals).toMatchObject({
          misses: grade.misses,
          opportunities: grade.opportunities,
        });
      }
      const seen = [...byGame];
      for (const [game, figures] of seen.filter(([, { observers }], at) => at === 0 || observers > 1)) {
        const report = await shown(`/api/games/${game}/officials/${official}/report`);
        expect(report.body.totals).toMatchObject({
          misses: figures.misses,
          opportunities: figures.opportunities,
        });
        expect(report.body.game.observers).toBe(figures.observers);
        expect(report.body.misses).toHaveLength(figures.misses);
      }
    }
    expect(whole.length).toBeGreaterThan(3);
    expect(seenTwice).toBeGreaterThan(0);
  });

  test('one row tells what both observers wrote, and names neither', async () => {
    const { rows } = await database.pool.query<{ person: string; game: string; remarks: string[] }>(
      `SELECT o.person_id AS person, min(r.game_id::text) AS game, array_agg(o.comment) AS remarks
         FROM observation o JOIN report r ON r.id = o.report_id AND r.state = 'released'
         JOIN person p ON p.id = o.person_id
        WHERE o.removed_at IS NULL AND o.finding = 'missed' AND o.standing = 'counted' AND o.comment <> ''
        GROUP BY o.play_id, o.person_id, o.position, o.duty_key, p.family_name, p.given_name
       HAVING count(DISTINCT o.report_id) = 2 AND count(DISTINCT o.comment) = 2
        ORDER BY p.family_name, p.given_name`,
    );
    const { person } = rows[0]!;
    const official = await inSessionOf(app, { conferenceId: database.conferenceId, personId: person });
    const why = (await official.get(`${season}/officials/${person}/grade`).expect(200)).text;
    const cells = [...parseHTML(why).document.querySelectorAll('td[data-label="Comment"]')].map(
      (cell) => cell.textContent!,
    );
    const reports: unknown[] = [];
    for (const { game, remarks } of rows.filter((row) => row.person === person)) {
      // The same two remarks may stand at more than one play.
      const both = cells.find((text) => remarks.every((remark) => text.includes(remark)));
      expect(both).toMatch(/^Two observers: “.+” “.+”$/s);
      const report = await official.get(`/api/games/${game}/officials/${person}/report`).expect(200);
      const comments = (report.body.misses as { comment: string }[]).map(({ comment }) => comment);
      expect(comments).toContain(both);
      reports.push(report.body);
    }
    const { rows: observers } = await database.pool.query<{ name: string }>(
      `SELECT DISTINCT p.given_name || ' ' || p.family_name AS name
         FROM person p JOIN report r ON r.observer_id = p.id`,
    );
    for (const { name } of observers) {
      expect(why).not.toContain(name);
      expect(JSON.stringify(reports)).not.toContain(name);
    }
  });
});

describe('the three grades of one official', () => {
  beforeAll(async () => {
    const judged = await database.pool.query<{ person: string; game: string }>(
      `UPDATE opportunity_count c SET not_met = not_met + 1, cost_score = 1
        WHERE (conference_id, report_id, person_id, duty_key) = (
          SELECT c.conference_id, c.report_id, c.person_id, c.duty_key
            FROM opportunity_count c
            JOIN report r ON r.conference_id = c.conference_id AND r.id = c.report_id AND r.state = 'released' AND ${onlyReport}
            JOIN duty d ON d.conference_id = c.conference_id AND d.rubric_version_id = r.rubric_version_id
                       AND d.key = c.duty_key AND d.graded_as = 'call'
           WHERE c.position = 'line judge' AND c.opportunities > c.not_met + c.not_counted + c.model + 2
           ORDER BY c.report_id, c.person_id, c.duty_key LIMIT 1)
        RETURNING person_id AS person, (SELECT game_id FROM report WHERE id = c.report_id) AS game`,
    );
    await countGames(database.pool, database.conferenceId, [judged.rows[0]!.game]);
    personId = judged.rows[0]!.person;
    const people = await database.pool.query<{ name: string }>(
      `SELECT given_name || ' ' || family_name AS name FROM person WHERE id = $1`,
      [personId],
    );
    nameOfOfficial = people.rows[0]!.name;
  });

  test.each(gradeKinds)('%s: pages, CSV, API, letter and season book say the same', async (kind) => {
    const line = await lineBy(kind);
    const { grade, low, high } = line.adjusted!;
    expect(line.raw).toBeGreaterThan(0);
    expect(line.raw).toBeLessThan(100);
    expect(low).toBeLessThan(grade);
    expect(high).toBeGreaterThan(grade);

    const explained = await coordinator.get(`/api${season}/officials/${personId}/grade`).expect(200);
    const position = explained.body.find((one: { position: string }) => one.position === 'line judge');
    const told = kind === 'whole' ? position : position[kind];
    expect(told.raw).toBeCloseTo(line.raw!, 9);
    expect(told.adjusted.grade).toBeCloseTo(grade, 9);
    expect(told).toMatchObject({ opportunities: line.opportunities, misses: line.misses });

    const letter = await coordinator
      .get(`/api${season}/officials/${personId}/letter-data?kind=end-of-season`)
      .expect(200);
    const written = kind === 'whole' ? letter.body.grade : letter.body.grade[kind];
    expect(written.raw).toBeCloseTo(line.raw!, 9);
    expect([written.adjusted, written.low, written.high]).toEqual([grade, low, high]);

    const shown = [line.raw!, grade, low, high].map((value) => value.toFixed(2));
    const name = { whole: 'Whole', calls: 'Calls', mechanics: 'Mechanics' }[kind];
    const official = await inSessionOf(app, { conferenceId: database.conferenceId, personId });
    const own = (await official.get('/my/evaluation').expect(200)).text;
    const theirs = (await coordinator.get(`${season}/officials/${personId}`).expect(200)).text;
    const why = (await coordinator.get(`${season}/officials/${personId}/grade`).expect(200)).text;
    for (const page of [own, theirs, why]) {
      const row = cellsOf(page, 'Line judge (L)').find(([first]) => first === name);
      expect(row?.slice(1)).toEqual([
        shown[0],
        shown[1],
        `${shown[2]} to ${shown[3]}`,
        String(line.misses),
        String(line.opportunities),
      ]);
    }
    // The large figure over the table, and the sentence under it; and why the rank is what it is.
    if (kind === 'whole') {
      const rank = parseHTML((await coordinator.get(`${season}/officials/${personId}/why`).expect(200)).text);
      const asItStands = [...rank.document.querySelectorAll('section.card tbody tr')]
        .map((row) => [...row.querySelectorAll('th, td')].map((cell) => cell.textContent?.trim()))
        .find(([way]) => way?.endsWith('as it stands'));
      expect(asItStands?.slice(-2)).toEqual([shown[1], `${shown[2]} to ${shown[3]}`]);
      for (const page of [own, theirs]) {
        const section = sectionOf(page, 'Line judge (L)');
        expect(section.querySelector('.figure')?.textContent).toBe(shown[0]);
        const told = [...section.querySelectorAll('p b')].map((figure) => figure.textContent);
        expect(told.slice(0, 3)).toEqual(shown.slice(1));
      }
    }

    const interval = `${shown[2]} to ${shown[3]}`;
    expect(await rowsOf('end-of-season')).toContainEqual([name, shown[0], shown[1], interval]);
    const inBook = (await rowsOf('season-book')).filter(([first]) => first === nameOfOfficial);
    const expected =
      kind === 'whole' ? [String(line.opportunities), shown[0], shown[1], interval] : [shown[1], interval];
    expect(inBook.map((row) => row.join(' | ')).join('\n')).toContain(expected.join(' | '));

    const csv = await coordinator.get(`${season}/standings.csv?by=${kind}`).expect(200);
    const rows = parse(csv.text, { columns: true }) as Record<string, string>[];
    const inCsv = rows.find((one) => one.official === nameOfOfficial && one.position === 'line judge')!;
    expect([inCsv['raw grade'], inCsv['adjusted grade'], inCsv['90% low'], inCsv['90% high']]).toEqual(shown);
    expect(inCsv['graded by']).toBe(kind);

    const standings = await coordinator
      .get(`${season}/standings?position=line%20judge&by=${kind}`)
      .expect(200);
    expect(standings.text).toContain(`>${nameOfOfficial}</a></th>`);
    expect(standings.text).toContain(`<b>${shown[1]}</b>`);
    expect(standings.text).toContain(`&by=${kind}" aria-current="page"`);
  });

  test('the whole is what calls and mechanics make by their weights, and the dear call cost more than one', async () => {
    const [whole, calls, mechanics] = [
      await lineBy('whole'),
      await lineBy('calls'),
      await lineBy('mechanics'),
    ];
    expect(whole.opportunities).toBe(calls.opportunities + mechanics.opportunities);
    expect(whole.misses).toBe(calls.misses + mechanics.misses);
    expect(whole.raw).toBeGreaterThan(Math.min(calls.raw!, mechanics.raw!));
    expect(whole.raw).toBeLessThan(Math.max(calls.raw!, mechanics.raw!));
    await database.pool.query('UPDATE opportunity_count SET cost_score = 0 WHERE cost_score > 0');
    await database.pool.query('UPDATE game_count SET cost_score = 0 WHERE cost_score > 0');
    const plain = await lineBy('calls');
    expect(plain.raw).toBeGreaterThan(calls.raw!);
    expect((await lineBy('mechanics')).raw).toBe(mechanics.raw);
  });

  test('who is ranked by calls is decided by all that was watched', async () => {
    const linesBy = async (by: string) => {
      const { body } = await coordinator.get(`/api${season}/standings?by=${by}`).expect(200);
      return body.lines as StandingLine[];
    };
    // More opportunities than anybody had calls.
    const least = 1 + Math.max(...(await linesBy('calls')).map((line) => line.opportunities));
    await database.pool.query('UPDATE season SET minimum_opportunities = $1', [least]);
    const [whole, calls] = [await linesBy('whole'), await linesBy('calls')];
    const ranked = (lines: StandingLine[]) =>
      lines
        .filter((line) => line.rank !== null)
        .map((line) => `${line.personId} ${line.position}`)
        .sort();
    expect(ranked(calls)).toEqual(ranked(whole));
    expect(ranked(calls).length).toBeGreaterThan(20);
    expect((await coordinator.get(`/api${season}/standings?by=signals`)).status).toBe(400);
  });
});
