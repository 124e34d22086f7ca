// @module-tag rest
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { GameReportData, LetterData } from '../../server/letters/letter-data.ts';
import { letterOfSeason, officialsOf } from '../../server/letters/letter-of-season.ts';
import { type LetterSeason, readLetterSeason } from '../../server/letters/season-source.ts';
import type { StandingLine } from '../../server/results/standings/season-standings.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

// Every official of a season: each figure has one value, on their page, in their letter and game reports, in the
// patterns, the standings, the files and the API.

let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
let season: string;
let whole: LetterSeason;

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  season = `/seasons/${database.seasonId}`;
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
    database.signIns.coordinator,
  ]);
  coordinator = await inSessionOf(app, { conferenceId: database.conferenceId, personId: rows[0]!.id });
  whole = (await readLetterSeason(database.pool, app.results, database.conferenceId, database.seasonId))!;
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

const two = (value: number | null) => (value === null ? '–' : value.toFixed(2).replace('-', '−'));
const wordsOf = (node: { textContent: string | null } | null | undefined) =>
  node?.textContent?.replace(/\s+/g, ' ').trim() ?? '';

interface Explained {
  position: string;
  raw: number | null;
  adjusted: { grade: number; low: number; high: number } | null;
  opportunities: number;
  misses: number;
  duties: { key: string; title: string; opportunities: number; misses: number; pointsLost: number }[];
  games: { gameId: string; opportunities: number; misses: number; grades: { whole: number | null } }[];
}

interface Pattern {
  official: string;
  position: string;
  duty: string;
  title: string;
  situationCut: string | null;
  headline: boolean;
  misses: number;
  opportunities: number;
  peers: { events: number; opportunities: number };
}

const letterOf = (personId: string): LetterData =>
  letterOfSeason(whole, personId, {
    kind: 'end-of-season',
    issuedOn: '2026-11-30',
    replyBy: null,
    answerPage: 'https://crewmark.example.test/my/marks',
    coordinator: 'Whoever Coordinates',
  });

/** What a page says of one position: its tables' rows, the tallies, the duties to work on. */
function onPage(html: string, position: string) {
  const { document } = parseHTML(html);
  const section = document.querySelector(`section#${position.replaceAll(' ', '-')}`)!;
  const rows = [...section.querySelectorAll('tbody tr')].map((row) =>
    [...row.querySelectorAll('th, td')].map(wordsOf),
  );
  const toWorkOn = [...section.querySelectorAll('details.duty-loss')].map((duty) => ({
    title: wordsOf(duty.querySelector('summary > span')),
    certainty: wordsOf(duty.querySelector('summary .tag')),
    counts: wordsOf(duty.querySelector('summary .soft')),
    lost: wordsOf(duty.querySelector('summary .num')),
    guidance: wordsOf(duty.querySelector('.guidance')),
    plays: duty.querySelectorAll('tbody tr').length,
  }));
  return { rows, toWorkOn, figure: wordsOf(section.querySelector('.figure')), said: wordsOf(section) };
}

test('page, letter, patterns, game reports, files and API tell every official the same', async () => {
  const standings = (await coordinator.get(`/api${season}/standings`).expect(200)).body
    .lines as StandingLine[];
  const patterns = (await coordinator.get(`/api${season}/patterns`).expect(200)).body.patterns as Pattern[];
  const officials = officialsOf(whole);
  expect(officials.length).toBeGreaterThan(60);
  const reported = new Map<string, number>();

  for (const { personId } of officials) {
    const address = `${season}/officials/${personId}`;
    const letter = letterOf(personId);
    const { name, position } = letter.official;
    const explained = (await coordinator.get(`/api${address}/grade`).expect(200)).body as Explained[];
    const grade = explained.find((one) => one.position === position)!;
    const line = standings.find((one) => one.personId === personId && one.position === position)!;
    const page = onPage((await coordinator.get(address).expect(200)).text, position);
    const csv = parse((await coordinator.get(`${address}/grade.csv`).expect(200)).text, {
      columns: true,
    }) as Record<string, string>[];

    // The grade and what it rests on.
    expect(letter.grade.adjusted, name).toBe(line.adjusted?.grade ?? null);
    expect(letter.grade.raw!, name).toBeCloseTo(line.raw!, 9);
    expect([grade.raw, grade.adjusted?.grade ?? null], name).toEqual([
      line.raw,
      line.adjusted?.grade ?? null,
    ]);
    expect(page.figure, name).toBe(two(line.raw));
    const { low, high } = line.adjusted ?? { low: null, high: null };
    const interval = low === null || high === null ? '–' : `${two(low)} to ${two(high)}`;
    const row = page.rows.find(([first]) => first === 'Whole')!;
    expect(row.slice(1, 4), name).toEqual([two(line.raw), two(line.adjusted?.grade ?? null), interval]);
    expect(row.slice(-2), name).toEqual([String(line.misses), String(line.opportunities)]);
    const counted = { misses: line.misses, opportunities: line.opportunities };
    expect(letter.totals, name).toMatchObject(counted);
    expect(grade, name).toMatchObject(counted);

    // Calls and mechanics, counted as one counts them.
    const { calls, mechanics } = letter as {
      calls: NonNullable<LetterData['calls']>;
      mechanics: NonNullable<LetterData['mechanics']>;
    };
    expect(calls.right + calls.wrong + calls.missed + calls.other, name).toBe(calls.opportunities);
    expect(calls.opportunities + mechanics.opportunities, name).toBe(line.opportunities);
    expect(mechanics.done + mechanics.missed, name).toBe(mechanics.opportunities);
    expect(page.said, name).toContain(
      `Calls: ${calls.right} right, ${calls.wrong} wrong, ${calls.missed} missed`,
    );
    expect(page.said, name).toContain(`Mechanics: ${mechanics.done} done, ${mechanics.missed} missed`);

    // Each duty to work on: page, letter, explained grade, file, and its pattern where it has one.
    expect(
      page.toWorkOn.map(({ title }) => title),
      name,
    ).toEqual(letter.toWorkOn.map(({ duty }) => duty));
    expect(letter.toWorkOn.length, name).toBeGreaterThanOrEqual(3);
    expect(letter.wentWell.length, name).toBeGreaterThanOrEqual(1);
    for (const [at, duty] of letter.toWorkOn.entries()) {
      const about = `${name}: ${duty.duty}`;
      const shown = page.toWorkOn[at]!;
      const own = grade.duties.find(({ title }) => title === duty.duty)!;
      const truth = { misses: own.misses, opportunities: own.opportunities };
      expect({ misses: duty.misses, opportunities: duty.opportunities }, about).toEqual(truth);
      expect(duty.pointsLost, about).toBeCloseTo(own.pointsLost, 9);
      expect(shown.lost, about).toBe(`−${two(own.pointsLost)}`);
      expect(shown.certainty, about).toBe(duty.certainty);
      if (own.misses > 0)
        expect(shown.counts, about).toContain(`${own.misses} of ${own.opportunities} missed`);
      expect(shown.guidance, about).toContain(duty.guidance);
      expect(shown.plays, about).toBe(Math.min(6, own.misses));
      const filed = csv.find((one) => one.duty === duty.duty && one.position === position)!;
      expect([filed.missed, filed.opportunities], about).toEqual([
        String(own.misses),
        String(own.opportunities),
      ]);
      const found = patterns.filter(
        (one) => one.official === personId && one.position === position && one.duty === own.key,
      );
      expect(duty.certainty, about).toBe(found.length > 0 ? 'beyond chance' : 'may be chance');
      const pattern = found.find(({ situationCut }) => situationCut === null);
      if (pattern) {
        expect({ misses: pattern.misses, opportunities: pattern.opportunities }, about).toEqual(truth);
        expect(duty.peersRate, about).toBeCloseTo(pattern.peers.events / pattern.peers.opportunities, 9);
      }
    }
    for (const duty of letter.wentWell) {
      const own = grade.duties.find(({ title }) => title === duty.duty)!;
      expect([duty.met, duty.opportunities], name).toEqual([
        own.opportunities - own.misses,
        own.opportunities,
      ]);
      expect(page.said, name).toContain(`met ${duty.met} of ${duty.opportunities}`);
    }

    // The games add up to the season, and one report of each official is the game's own figures.
    for (const one of explained) {
      const sum = (of: 'misses' | 'opportunities') => one.games.reduce((total, game) => total + game[of], 0);
      expect({ misses: sum('misses'), opportunities: sum('opportunities') }, name).toEqual({
        misses: one.misses,
        opportunities: one.opportunities,
      });
    }
    // An official who changed positions in a game has one report of it for both.
    const [game] = grade.games;
    if (
      !game ||
      explained.filter(({ games }) => games.some(({ gameId }) => gameId === game.gameId)).length > 1
    )
      continue;
    const report = (
      await coordinator.get(`/api/games/${game.gameId}/officials/${personId}/report`).expect(200)
    ).body as GameReportData;
    expect(report.totals, name).toMatchObject({ misses: game.misses, opportunities: game.opportunities });
    expect(report.grade.value!, name).toBeCloseTo(game.grades.whole!, 9);
    expect(report.misses, name).toHaveLength(game.misses);
    expect(report.calls!.opportunities + report.mechanics!.opportunities, name).toBe(game.opportunities);
    reported.set(personId, game.misses);
  }
  expect(reported.size).toBeGreaterThan(60);
});

test('an official reads the same of themself, and what is not theirs to read is not there', async () => {
  const { rows } = await database.pool.query<{ id: string }>('SELECT id FROM person WHERE email = $1', [
    database.signIns.official,
  ]);
  const personId = rows[0]!.id;
  const official = await inSessionOf(app, { conferenceId: database.conferenceId, personId });
  const own = (await official.get('/my/evaluation').expect(200)).text;
  const theirs = (await coordinator.get(`${season}/officials/${personId}`).expect(200)).text;
  const { position } = letterOf(personId).official;
  const [mine, seen] = [onPage(own, position), onPage(theirs, position)];
  expect(mine.toWorkOn).toEqual(seen.toWorkOn);
  // All but where the official may answer.
  const tables = ({ rows }: typeof mine) =>
    rows.map((row) => row.filter((cell) => !/^(–+|Answer.*)$/.test(cell)));
  expect(tables(mine)).toEqual(tables(seen));
  expect(own).not.toContain(`/seasons/${database.seasonId}/officials/${personId}"`);
  const { rows: observers } = await database.pool.query<{ name: string }>(
    `SELECT DISTINCT p.given_name || ' ' || p.family_name AS name FROM person p JOIN report r ON r.observer_id = p.id`,
  );
  for (const { name } of observers) expect(own).not.toContain(name);

  // From a mark to its play, with what was noted there, and back to the same row.
  for (const [agent, html, back] of [
    [official, own, '/my/evaluation'],
    [coordinator, theirs, `/seasons/${database.seasonId}/officials/${personId}`],
  ] as const) {
    const { document } = parseHTML(html);
    const link = document.querySelector('#marks tbody a[href*="/duties"]')!.getAttribute('href')!;
    const { document: play } = parseHTML((await agent.get(link).expect(200)).text);
    expect(wordsOf(play.querySelector('#noted'))).toContain('What was noted of');
    const returns = play.querySelector('section[aria-labelledby=noted] p a')!.getAttribute('href')!;
    expect(returns.split('#')[0]).toBe(back);
    expect(document.getElementById(returns.split('#')[1]!)).not.toBeNull();
  }
});

test('with an answer, a ruling, a conversation and a letter it is all on the one page', async () => {
  const { rows } = await database.pool.query<{
    id: string;
    personId: string;
    position: string;
    dutyKey: string;
  }>(
    `SELECT o.id, o.person_id AS "personId", o.position, o.duty_key AS "dutyKey"
       FROM observation o JOIN report r ON r.id = o.report_id
      WHERE r.state = 'released' AND o.removed_at IS NULL AND o.finding = 'missed' AND o.standing = 'counted'
        AND NOT EXISTS (SELECT FROM reply y WHERE y.official_id = o.person_id)
        AND NOT EXISTS (SELECT FROM development_point d WHERE d.person_id = o.person_id)
      ORDER BY r.released_at DESC, o.id LIMIT 1`,
  );
  const { id, personId, position, dutyKey } = rows[0]!;
  const { rows: replied } = await database.pool.query<{ id: string }>(
    `INSERT INTO reply (conference_id, id, observation_id, official_id, text)
     VALUES ($1, gen_random_uuid(), $2, $3, 'The umpire was in my way.') RETURNING id`,
    [database.conferenceId, id, personId],
  );
  const before = (await coordinator.get(`${season}/officials/${personId}`).expect(200)).text;
  expect(before).toContain('The umpire was in my way.');
  expect(before).toContain('waiting for a ruling');
  expect(before).toContain(`href="/replies/${replied[0]!.id}"`);
  await coordinator
    .post(`/api/replies/${replied[0]!.id}/ruling`)
    .send({ ruling: 'stands', note: 'The film shows a clear view.' });
  const opened = await coordinator
    .post(`/api${season}/development-points`)
    .send({ personId, position, dutyKey, text: 'Where to stand.' });
  expect(opened.status, opened.text).toBe(201);
  const official = await inSessionOf(app, { conferenceId: database.conferenceId, personId });
  const untold = (await official.get('/my/evaluation').expect(200)).text;
  expect(untold).toContain('None that you were told of.');
  const said = await coordinator.post(`/api/development-points/${opened.body.id}/steps`).send({
    kind: 'conversation',
    happenedOn: '2026-10-05',
    text: 'Talked on the phone.',
    shared: true,
  });
  expect(said.status, said.text).toBeLessThan(300);
  const told = (await official.get('/my/evaluation').expect(200)).text;
  expect(told).not.toContain('None that you were told of.');
  const history = wordsOf(parseHTML(told).document.querySelector('#history'));
  expect(history).toMatch(/Conversation about: .+ Talked on the phone\./);
  expect(history).toContain('Evaluation released: week');
  expect(history).toContain('Answer to a mark:');
});
