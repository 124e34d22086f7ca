// @module-tag rest
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { letterOfSeason } from '../../../server/letters/letter-of-season.ts';
import { readLetterSeason } from '../../../server/letters/season-source.ts';
import type { StandingLine } from '../../../server/results/standings/season-standings.ts';
import { brokenFigure } from '../../support/broken-figure.ts';
import { inSessionOf, personSignedIn, type SignedInAgent } from '../../support/signed-in.ts';
import { testApp } from '../../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../../support/test-database.ts';
import { type MadeSeason, madeSeason } from '../made-season.ts';
import { sparseSeasons } from './sparse-seasons.ts';

// Every page of a season's grades, for seasons that hold too little: a reason in words, and never a figure that is none.

let database: TestDatabase;
let app: FastifyInstance;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

async function textOf(agent: SignedInAgent, path: string): Promise<string> {
  const answer = await agent.get(path).redirects(1);
  expect(answer.status, path).toBe(200);
  const text = answer.text.replaceAll(/<script[\s\S]*?<\/script>/g, '').replaceAll(/\s+/g, ' ');
  expect(brokenFigure(text), path).toBeUndefined();
  return text;
}

describe.each(Object.entries(sparseSeasons))('a season with %s', (_name, { reports, says }) => {
  let season: MadeSeason;
  let coordinator: SignedInAgent;
  beforeAll(async () => {
    season = await madeSeason(database.pool, reports);
    coordinator = (await personSignedIn(app, season.conferenceId, ['coordinator'])).agent;
  });

  test('has standings, severity, patterns and files with reasons and no broken figure', async () => {
    const at = `/seasons/${season.seasonId}`;
    expect(await textOf(coordinator, `${at}/standings?position=umpire`)).toMatch(says);
    const { body } = await coordinator.get(`/api${at}/standings`).expect(200);
    for (const { adjusted } of (body as { lines: StandingLine[] }).lines) {
      if (!adjusted) continue;
      expect(adjusted.low).toBeGreaterThanOrEqual(0);
      expect(adjusted.high).toBeLessThanOrEqual(100);
    }
    expect(await textOf(coordinator, `${at}/standings?position=referee`)).toMatch(
      /No released report has graded anybody|ranked yet; why stands/,
    );
    for (const path of ['', '/standings.csv', '/severity', '/severity.csv'])
      await textOf(coordinator, at + path);
    for (const path of ['/patterns', '/letters', '/observers', '/reports', '/replies', '/people']) {
      await textOf(coordinator, path);
    }
  });

  test('explains each grade to the coordinator and to its official', async () => {
    for (const [name, personId] of season.people) {
      if (!reports.some((report) => report.lines.some((line) => line.official === name))) continue;
      const own = await inSessionOf(app, { conferenceId: season.conferenceId, personId });
      const path = `/seasons/${season.seasonId}/officials/${personId}`;
      await textOf(coordinator, path);
      expect(await textOf(coordinator, `${path}/why`)).toMatch(
        /Not ranked: \S|The place holds|It moves between|no other way to look/,
      );
      await textOf(coordinator, `${path}/why.csv`);
      for (const agent of [coordinator, own]) {
        const text = await textOf(agent, `${path}/grade`);
        expect(text).not.toContain('standard error 0.00');
        expect(text).toMatch(/How sure|There is no adjusted grade yet\. \S|No grade: \S/);
        for (const file of ['grade', 'grade-plays', 'grade-games'])
          await textOf(agent, `${path}/${file}.csv`);
      }
      for (const page of ['/my/evaluation', '/my/marks', '/my/patterns', '/my/letters'])
        await textOf(own, page);
    }
  });
});

test('where nothing was ever missed nobody is told an interval: not on pages, in files, nor in letters', async () => {
  const { reports } = sparseSeasons['nothing ever missed']!;
  const { conferenceId, seasonId, people } = await madeSeason(database.pool, reports);
  const { agent } = await personSignedIn(app, conferenceId, ['coordinator']);
  const personId = people.get('Reed')!;
  const { body } = await agent.get(`/api/seasons/${seasonId}/standings`).expect(200);
  const line = (body.lines as StandingLine[]).find((one) => one.personId === personId)!;
  expect(line.adjusted).toMatchObject({ grade: 100, standardError: 0 });
  expect(await textOf(agent, `/seasons/${seasonId}/standings?position=umpire`)).not.toContain(
    '100.00 to 100.00',
  );
  const csv = await textOf(agent, `/seasons/${seasonId}/standings.csv`);
  expect(csv).toContain('Official Reed,100.00,,,,');
  const season = (await readLetterSeason(database.pool, app.results, conferenceId, seasonId))!;
  const letter = letterOfSeason(season, personId, {
    kind: 'mid-season',
    issuedOn: '2026-11-30',
    replyBy: null,
    answerPage: 'https://crewmark.example.test/my/marks',
    coordinator: 'Whoever Coordinates',
  });
  expect(letter.grade).toMatchObject({ adjusted: 100, low: null, high: null });
  expect(letter.grade.mechanics).toMatchObject({ adjusted: 100, low: null, high: null });
});

test('an only observer is neither strict nor lenient: there are no others', async () => {
  const { conferenceId, seasonId } = await madeSeason(database.pool, sparseSeasons['one observer']!.reports);
  const { agent } = await personSignedIn(app, conferenceId, ['coordinator']);
  const { body } = await agent.get(`/api/seasons/${seasonId}/severity`).expect(200);
  const alone = 'nobody else saw these positions';
  expect(body).toMatchObject([{ points: 0, low: 0, high: 0, meaning: alone }]);
  expect(await textOf(agent, `/seasons/${seasonId}/severity`)).toContain(alone);
  expect(await textOf(agent, `/seasons/${seasonId}/severity.csv`)).toContain(`0,0,0,${alone}`);
  expect(await textOf(agent, `/seasons/${seasonId}/severity/positions`)).toContain(
    'nobody else saw this position',
  );
});
