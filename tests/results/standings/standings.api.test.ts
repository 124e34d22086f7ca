// @module-tag rest
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { gradeSeason, type ModelInUse } from '../../../server/grading/season-choice.ts';
import type { Calculator } from '../../../server/results/calculator.ts';
import { KeptResults } from '../../../server/results/kept-result.ts';
import { gradingMaterialOf, readGradingMaterial } from '../../../server/results/standings/grading-rows.ts';
import { readReportCounts, readSeasonCounts } from '../../../server/results/standings/season-counts.ts';
import {
  type CurrentStandings,
  gradeMaterial,
  type StandingLine,
  standingsKind,
} from '../../../server/results/standings/season-standings.ts';
import { countGames, onlyReport, releaseAccepted } from '../../support/count-games.ts';
import { type DemoDatabase, demoDatabase } from '../../support/demo-database.ts';
import { inSessionOf, type SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';

let database: DemoDatabase;
let app: FastifyInstance;
const agents = {} as Record<'coordinator' | 'observer' | 'official', SignedInAgent>;
let officialId: string;

beforeAll(async () => {
  database = await demoDatabase();
  kept = new KeptResults(database.pool);
  app = await testApp(database);
  for (const role of ['coordinator', 'observer', 'official'] as const) {
    const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
      database.signIns[role],
    ]);
    const personId = rows[0]!.id;
    if (role === 'official') officialId = personId;
    agents[role] = await inSessionOf(app, { conferenceId: database.conferenceId, personId });
  }
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

type Grading = Pick<Calculator, 'grade'>;

/** Grades as the thread does, and counts how often it was asked. */
function countingCalculator() {
  const asked = { times: 0 };
  const calculator: Grading = {
    async grade(...given) {
      asked.times += 1;
      return gradeSeason(...given);
    },
  };
  return { asked, calculator };
}

let kept: KeptResults;
const standingsWith = (calculator: Grading) => kept.current(standingsKind(calculator), database);

/** Makes one more opportunity of a released report a miss, as a ruling would. */
async function ruleOnOne(): Promise<string> {
  const { rows } = await database.pool.query<{ person: string; game: string }>(
    `UPDATE opportunity_count c SET not_met = not_met + 1
      WHERE (conference_id, report_id, person_id, duty_key) = (
        SELECT c.conference_id, c.report_id, c.person_id, c.duty_key FROM opportunity_count c
          JOIN report r ON r.conference_id = c.conference_id AND r.id = c.report_id
         WHERE r.state = 'released' AND ${onlyReport} AND c.opportunities > c.not_met + c.not_counted + c.model + 2
         ORDER BY c.report_id, c.person_id, c.duty_key LIMIT 1)
      RETURNING person_id AS person, (SELECT game_id FROM report WHERE id = c.report_id) AS game`,
  );
  await countGames(database.pool, database.conferenceId, [rows[0]!.game]);
  return rows[0]!.person;
}

describe('the standings of a season', () => {
  test('rank each position, with intervals, chances that add up to the places, and reasons', async () => {
    const answer = await agents.coordinator.get(`/api/seasons/${database.seasonId}/standings`);
    expect(answer.status).toBe(200);
    const { lines, settings } = answer.body as { lines: StandingLine[]; settings: { places: number } };
    expect(new Set(lines.map((line) => line.position)).size).toBe(8);
    for (const line of lines) {
      expect(line.rank === null).toBe(line.unrankedReason !== null);
      if (!line.adjusted || line.raw === null) continue;
      const { grade, low, high, parts } = line.adjusted;
      expect(low).toBeLessThanOrEqual(grade);
      expect(high).toBeGreaterThanOrEqual(grade);
      expect(line.raw + parts.observers + parts.games + parts.caution).toBeCloseTo(grade, 9);
    }
    const umpires = lines.filter((line) => line.position === 'umpire' && line.rank);
    const chances = umpires.reduce((sum, line) => sum + line.placeChance!, 0);
    expect(chances).toBeCloseTo(settings.places, 9);
    const grades = umpires.map((line) => line.adjusted!.grade);
    expect(grades).toEqual(grades.toSorted((a, b) => b - a));
    const one = await agents.coordinator.get(
      `/api/seasons/${database.seasonId}/standings?position=line%20judge`,
    );
    expect(new Set((one.body.lines as StandingLine[]).map((line) => line.position))).toEqual(
      new Set(['line judge']),
    );
  });

  test('from sums by weight are those from counts by duty', async () => {
    const { calculator } = countingCalculator();
    const season = [database.conferenceId, database.seasonId] as const;
    const bySums = await readGradingMaterial(database.pool, ...season);
    const byDuty = gradingMaterialOf({
      reports: await readReportCounts(database.pool, ...season),
      games: await readSeasonCounts(database.pool, ...season),
    });
    for (const what of ['reports', 'games'] as const) {
      expect(bySums[what].map(({ counts, ...row }) => row)).toEqual(
        byDuty[what].map(({ counts, ...row }) => row),
      );
    }
    const settings = { minimumGames: 3, minimumOpportunities: 100, places: 2 };
    const [fromSums, fromDuties] = await Promise.all(
      [bySums, byDuty].map((some) => gradeMaterial(calculator, some, settings, 1)),
    );
    expect(fromSums!.lines.length).toBeGreaterThan(60);
    for (const [i, { adjusted, raw, before, ...line }] of fromSums!.lines.entries()) {
      const other = fromDuties!.lines[i]!;
      // Ranks, chances and counts are the same; grades differ by rounding only.
      expect({ ...other, adjusted, raw, before }).toEqual({ ...line, adjusted, raw, before });
      expect(raw).toBeCloseTo(other.raw!, 11);
      expect(adjusted!.grade).toBeCloseTo(other.adjusted!.grade, 10);
      expect(adjusted!.standardError).toBeCloseTo(other.adjusted!.standardError, 10);
      expect(before?.place).toEqual(other.before?.place);
    }
  });

  test('never take a small chance for none', async () => {
    const { text } = await agents.coordinator.get(`/seasons/${database.seasonId}/standings?position=referee`);
    expect(text).toContain('<td class="num">under 1 %</td>');
    expect(text).not.toMatch(/>(0|100) %</);
  });

  test('are found once for requests that come together, and kept', async () => {
    await ruleOnOne();
    const { asked, calculator } = countingCalculator();
    const all = await Promise.all(Array.from({ length: 20 }, () => standingsWith(calculator)));
    // Twice: the season, and the season before its latest week.
    expect(asked.times).toBe(2);
    expect(new Set(all.map((standings) => standings.inputRevision)).size).toBe(1);
    await standingsWith(calculator);
    expect(asked.times).toBe(2);
  });

  test('are never stale: a ruling, a release, a setting change what the next request sees', async () => {
    const { asked, calculator } = countingCalculator();
    const before = await standingsWith(calculator);
    const ruled = await ruleOnOne();
    const after = await standingsWith(calculator);
    expect(asked.times).toBe(2);
    expect(after.inputRevision).toBeGreaterThan(before.inputRevision);
    const rawOf = (standings: typeof before) =>
      standings.lines.filter((line) => line.personId === ruled).map((line) => line.misses);
    expect(rawOf(after)).not.toEqual(rawOf(before));

    await releaseAccepted(database.pool, database.conferenceId);
    expect((await standingsWith(calculator)).reports).toBe(before.reports + 1);
    expect(asked.times).toBe(4);

    await database.pool.query('UPDATE season SET minimum_games = 99');
    expect((await standingsWith(calculator)).lines.every((line) => line.rank === null)).toBe(true);
    await database.pool.query('UPDATE season SET minimum_games = 3');
    expect((await standingsWith(calculator)).lines.some((line) => line.rank !== null)).toBe(true);
  });

  test('a change while they are being found is seen by who asks afterwards', async () => {
    await ruleOnOne();
    let changed = false;
    const slow: Grading = {
      async grade(...given) {
        if (!changed) {
          changed = true;
          await ruleOnOne();
        }
        return gradeSeason(...given);
      },
    };
    const first = await standingsWith(slow);
    const { asked, calculator } = countingCalculator();
    const second = await standingsWith(calculator);
    expect(asked.times).toBe(2);
    expect(second.inputRevision).toBeGreaterThan(first.inputRevision);
  });

  test('of a season with no released report are empty, with the reason', async () => {
    const { rows } = await database.pool.query<{ id: string }>(
      "INSERT INTO season (conference_id, name) VALUES ($1, 'Next') RETURNING id",
      [database.conferenceId],
    );
    const answer = await agents.coordinator.get(`/api/seasons/${rows[0]!.id}/standings`);
    expect(answer.body).toMatchObject({ lines: [], week: null, spread: null });
    expect(answer.body.notes[0]).toMatch(/^no adjusted grades/);
    const page = await agents.coordinator.get(`/seasons/${rows[0]!.id}/standings`);
    expect(page.text).toContain('No released report has graded anybody in this position yet');
    expect((await agents.coordinator.get(`/seasons/${rows[0]!.id}/severity`)).text).toContain(
      'No report has been released yet',
    );
  });
});

describe('the model of the standings', () => {
  test('is one of two, says why, and the other can be looked at on page, API and CSV', async () => {
    const season = `/seasons/${database.seasonId}/standings`;
    const api = async (query: string) =>
      (await agents.coordinator.get(`/api${season}${query}`).expect(200)).body as CurrentStandings;
    const own = await api('');
    expect(own.model.chosen).toBe(true);
    // That which is nearer in games it did not see, where there are misses enough to look.
    const { linear, counts } = own.model.heldOut ?? { linear: 0, counts: 0 };
    expect(own.model.used).toBe(counts! < linear! ? 'counts' : 'linear');
    const otherModel = own.model.used === 'linear' ? 'counts' : 'linear';
    const [same, other] = [await api(`?model=${own.model.used}`), await api(`?model=${otherModel}`)];
    expect(other.model).toMatchObject({ used: otherModel, chosen: false });
    expect(same.lines).toEqual(own.lines);
    expect(same.model).toEqual(own.model);
    expect(other.lines.map(({ raw }) => raw).sort()).toEqual(own.lines.map(({ raw }) => raw).sort());
    expect(other.lines).not.toEqual(own.lines);
    for (const { adjusted } of [...own.lines, ...other.lines]) {
      if (!adjusted) continue;
      expect(adjusted.low).toBeGreaterThanOrEqual(0);
      expect(adjusted.high).toBeLessThanOrEqual(100);
    }

    const page = (await agents.coordinator.get(`${season}?position=umpire`).expect(200)).text;
    expect(page).toContain(`${own.model.why}. <a`);
    expect(page).toContain(`&model=${otherModel}"`);
    const compared = (
      await agents.coordinator.get(`${season}?position=umpire&model=${otherModel}`).expect(200)
    ).text;
    expect(compared).toContain('to compare');
    const best = other.lines.find(({ position }) => position === 'umpire')!;
    expect(compared).toContain(`<b>${best.adjusted!.grade.toFixed(2)}</b>`);
    for (const [query, used] of [
      ['', own.model.used],
      [`?model=${otherModel}`, otherModel],
    ]) {
      const { text } = await agents.coordinator.get(`${season}.csv${query}`).expect(200);
      const table = parse(text, { columns: true }) as Record<string, string>[];
      expect(new Set(table.map((row) => row.model))).toEqual(new Set([used]));
    }
    await agents.coordinator.get(`/api${season}?model=both`).expect(400);
  });
});

describe('who may see what', () => {
  test.each([
    'standings',
    'severity',
    'severity/positions',
    'standings.csv',
    'severity.csv',
    'severity-by-position.csv',
  ])('%s is for the coordinator', async (page) => {
    const address = `/seasons/${database.seasonId}/${page}`;
    expect((await agents.coordinator.get(address)).status).toBe(200);
    expect((await agents.observer.get(address)).status).toBe(403);
    expect((await agents.official.get(address)).status).toBe(403);
  });

  test('an official reads how their own grade came about, and nobody else’s', async () => {
    const { rows } = await database.pool.query<{ id: string }>(
      `SELECT person_id AS id FROM person_role WHERE role = 'official' AND person_id <> $1 LIMIT 1`,
      [officialId],
    );
    const grade = (id: string) => `/seasons/${database.seasonId}/officials/${id}/grade`;
    const own = await agents.official.get(grade(officialId));
    expect(own.status).toBe(200);
    expect(own.text).toContain('How this grade came about');
    // No observer is named to an official, and each play page that is offered opens.
    const { rows: observers } = await database.pool.query<{ name: string }>(
      `SELECT p.given_name || ' ' || p.family_name AS name FROM person p JOIN person_role r
           ON r.conference_id = p.conference_id AND r.person_id = p.id WHERE r.role = 'observer'`,
    );
    for (const { name } of observers) expect(own.text).not.toContain(name);
    const plays = [...own.text.matchAll(/href="(\/games\/[^"]+\/duties[^"]*)"/g)].map((match) => match[1]!);
    expect(plays.length).toBeGreaterThan(0);
    for (const address of plays) {
      const page = await agents.official.get(address);
      expect(page.status).toBe(200);
      for (const { name } of observers) expect(page.text).not.toContain(name);
    }
    expect((await agents.official.get(grade(rows[0]!.id))).status).toBe(404);
    expect((await agents.official.get(`/api${grade(rows[0]!.id)}`)).status).toBe(404);
    expect((await agents.observer.get(grade(officialId))).status).toBe(403);
  });
});

describe('an explained grade', () => {
  test('adds up, down to the plays', async () => {
    const answer = await agents.coordinator.get(
      `/api/seasons/${database.seasonId}/officials/${officialId}/grade`,
    );
    expect(answer.status).toBe(200);
    for (const grade of answer.body) {
      const lost = grade.duties.reduce(
        (sum: number, duty: { pointsLost: number }) => sum + duty.pointsLost,
        0,
      );
      expect(lost).toBeCloseTo(100 - grade.raw, 9);
      const misses = grade.duties.reduce((sum: number, duty: { misses: number }) => sum + duty.misses, 0);
      expect(misses).toBe(grade.misses);
    }
    const [dearest] = answer.body[0].duties;
    expect(dearest.plays.length).toBeGreaterThan(0);
    expect(dearest.plays[0].comment).not.toBe('');
  });
});

describe('downloads and settings', () => {
  test('each table that a page offers is the plain one with the mark by which a spreadsheet knows UTF-8', async () => {
    const own = `/seasons/${database.seasonId}/officials/${officialId}`;
    for (const page of [
      'standings',
      'severity',
      'severity/positions',
      'patterns',
      `${own}/why`,
      `${own}/grade`,
    ]) {
      const { text } = await agents.coordinator.get(
        page.startsWith('/') ? page : `/seasons/${database.seasonId}/${page}`,
      );
      const offered = [...text.matchAll(/href="([^"]+\.csv[^"]*)"/g)].map(([, link]) =>
        link!.replaceAll('&amp;', '&'),
      );
      expect(offered.length, page).toBeGreaterThan(0);
      for (const link of offered) {
        const marked = (await agents.coordinator.get(link).expect(200)).text;
        const plain = (await agents.coordinator.get(link.replace('mark=true', 'mark=false')).expect(200))
          .text;
        // RFC 3629, section 6: U+FEFF is the signature, and only as the very first character.
        expect([marked.codePointAt(0), marked.slice(1) === plain], link).toEqual([0xfeff, true]);
      }
    }
  });

  test('the tables parse as RFC 4180, and a name that looks like a formula is disarmed', async () => {
    const { rows } = await database.pool.query<{ id: string }>(
      `UPDATE person SET given_name = '=HYPERLINK("x")' WHERE id = $1 RETURNING id`,
      [officialId],
    );
    expect(rows).toHaveLength(1);
    const standings = await agents.coordinator.get(`/seasons/${database.seasonId}/standings.csv`);
    expect(standings.headers['content-type']).toContain('text/csv');
    const table = parse(standings.text, { columns: true }) as Record<string, string>[];
    expect(table.length).toBeGreaterThan(60);
    expect(Object.keys(table[0]!)).toContain('adjusted grade');
    const odd = table.find((row) => row.official!.includes('HYPERLINK'));
    expect(odd!.official!.startsWith("'=")).toBe(true);
    const byPosition = await agents.coordinator.get(`/seasons/${database.seasonId}/severity-by-position.csv`);
    const told = (parse(byPosition.text, { columns: true }) as Record<string, string>[]).map((cell) => [
      cell.observer,
      cell.position,
      cell.meaning,
    ]);
    expect(new Set(told.map(String)).size).toBe(told.length);
    const api = await agents.coordinator.get(`/api/seasons/${database.seasonId}/severity/positions`);
    const { observers } = api.body as { observers: { position: string; meaning: string }[] };
    expect(observers.map(({ position, meaning }) => [position, meaning])).toEqual(
      told.map(([, position, meaning]) => [position, meaning]),
    );
    const page = await agents.coordinator.get(`/seasons/${database.seasonId}/severity/positions`);
    expect(page.text).toContain('each observer is as strict in one position as in another');
    const severity = await agents.coordinator.get(`/seasons/${database.seasonId}/severity.csv`);
    const leanings = parse(severity.text, { columns: true }) as Record<string, string>[];
    expect(leanings.length).toBeGreaterThan(10);
    // Numbers to a spreadsheet, below 0 too.
    const places = parse(byPosition.text, { columns: true }) as Record<string, string>[];
    for (const column of ['points from the others', '90% low', '90% high']) {
      const values = [...leanings, ...places].map((row) => row[column]!);
      expect(values.some((value) => value.startsWith('-'))).toBe(true);
      for (const value of values) expect(value).toMatch(/^-?\d+(\.\d+)?$/);
    }
    const grade = await agents.official.get(
      `/seasons/${database.seasonId}/officials/${officialId}/grade.csv`,
    );
    const duties = parse(grade.text, { columns: true }) as Record<string, string>[];
    expect(duties.length).toBeGreaterThan(10);
    const rowsOf = async (file: string) => {
      const { text } = await agents.official.get(
        `/seasons/${database.seasonId}/officials/${officialId}/${file}.csv`,
      );
      return parse(text, { columns: true }) as Record<string, string>[];
    };
    const missed = (table: Record<string, string>[]) =>
      table.reduce((sum, row) => sum + Number(row.missed), 0);
    const games = await rowsOf('grade-games');
    expect(games.length).toBeGreaterThan(1);
    expect(games[0]!.game).toMatch(/ at /);
    expect(missed(games)).toBe(missed(duties));
    const plays = await rowsOf('grade-plays');
    expect(plays.length).toBeGreaterThan(10);
    expect(plays[0]!.finding).toMatch(/missed|wrong call/);
    expect(plays.length).toBeLessThanOrEqual(missed(duties));
  });

  test('a model that the coordinator fixes is used, and what the season itself speaks for is said', async () => {
    const season = `/api/seasons/${database.seasonId}/standings`;
    const model = async () => (await agents.coordinator.get(season)).body.model as ModelInUse;
    const own = await model();
    const other = own.used === 'linear' ? 'counts' : 'linear';
    const wrong = await agents.coordinator.put(`${season}/model`).send({ model: 'dice' });
    expect(wrong.status).toBe(400);
    expect(wrong.text).toContain('model must be one of: by its games, linear, counts');
    const page = `/seasons/${database.seasonId}/standings/model?position=umpire`;
    expect((await agents.coordinator.post(page).type('form').send({})).status).toBe(400);
    await agents.coordinator.post(page).type('form').send({ model: other }).expect(303);
    const fixed = await model();
    expect(fixed).toMatchObject({ used: other, chosen: true, heldOut: own.heldOut });
    expect(fixed.why).toContain('the coordinator fixed it for this season');
    expect(fixed.why).toContain(own.why);
    const calls = (await agents.coordinator.get(`${season}?by=calls`)).body.model as ModelInUse;
    expect(calls.used).toBe(other);
    const shown = await agents.coordinator.get(`/seasons/${database.seasonId}/standings?position=umpire`);
    expect(shown.text).toContain('the coordinator fixed it');
    await agents.coordinator.put(`${season}/model`).send({ model: 'by its games' }).expect(200);
    expect(await model()).toEqual(own);
    const { rows } = await database.pool.query(
      `SELECT before, after FROM audit_entry WHERE action = 'model of the standings changed' ORDER BY number`,
    );
    expect(rows).toEqual([
      { before: { model: 'by its games' }, after: { model: other } },
      { before: { model: other }, after: { model: 'by its games' } },
    ]);
  });

  test('settings are checked by name, kept, and told in the audit trail', async () => {
    const address = `/api/seasons/${database.seasonId}/standings/settings`;
    const wrong = await agents.coordinator
      .put(address)
      .send({ minimumGames: 0, minimumOpportunities: 1, places: 0 });
    expect(wrong.status).toBe(400);
    expect(wrong.headers['content-type']).toContain('application/problem+json');
    expect(wrong.text).toContain('minimumGames must be at least 1');
    const right = await agents.coordinator
      .put(address)
      .send({ minimumGames: 2, minimumOpportunities: 50, places: 3 });
    expect(right.body).toEqual({ minimumGames: 2, minimumOpportunities: 50, places: 3 });
    const { rows } = await database.pool.query(
      `SELECT before, after FROM audit_entry WHERE action = 'standings settings changed'`,
    );
    expect(rows).toEqual([
      {
        before: { minimumGames: 3, minimumOpportunities: 100, places: 2 },
        after: { minimumGames: 2, minimumOpportunities: 50, places: 3 },
      },
    ]);
    const form = await agents.coordinator
      .post(`/seasons/${database.seasonId}/standings/settings?position=umpire`)
      .type('form')
      .send({ minimumGames: 'many', minimumOpportunities: '10', places: '2' });
    expect(form.status).toBe(400);
    expect(form.text).toContain('Must be a whole number');
    expect(form.text).toContain('value="many"');
  });
});
