// @module-tag rest
import { execFileSync } from 'node:child_process';
import { copyFile, symlink, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { createConfig, lintFromString } from '@redocly/openapi-core';
import type { FastifyInstance } from 'fastify';
import openapiTS, { astToString } from 'openapi-typescript';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { ids } from '../../server/api-examples/ids.ts';
import { examples } from '../../server/api-examples/index.ts';
import { oneGame } from '../reports/one-game.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { folderInRun } from '../support/test-run.ts';

let database: TestDatabase;
let app: FastifyInstance;
let description: string;
let described: {
  tags: { name: string; description: string }[];
  paths: Record<
    string,
    Record<
      string,
      {
        tags: string[];
        summary: string;
        description: string;
        responses: Record<string, { $ref?: string; content?: object }>;
      }
    >
  >;
  components: { responses: Record<string, { content: object }> };
};
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  description = (await app.inject('/api/openapi.json')).body;
  described = JSON.parse(description);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

// The recommended rules of an outside reader of OpenAPI: names, summaries, tags, servers, security, a refusal each.
test('the API’s description breaks none of the recommended rules', async () => {
  const config = await createConfig({ extends: ['recommended'] });
  const problems = await lintFromString({ source: description, absoluteRef: 'openapi.json', config });
  expect(
    problems.map(({ ruleId, message, location }) => `${ruleId} ${location[0]?.pointer} ${message}`),
  ).toEqual([]);
  // They do tell: without what a rule asks for, it is told.
  const worse = description.replace(/"operationId":"[^"]+",/, '').replace(/"servers":\[[^\]]*\],/, '');
  const told = await lintFromString({ source: worse, absoluteRef: 'openapi.json', config });
  expect(told.map(({ ruleId }) => ruleId)).toEqual(
    expect.arrayContaining(['operation-operationId', 'no-empty-servers']),
  );
});

test('every operation says what it does and who may, under a heading that is described', () => {
  const headings = described.tags.map(({ name, description }) => [name, description.length > 0]);
  for (const [url, operations] of Object.entries(described.paths)) {
    for (const [method, { tags, summary, description }] of Object.entries(operations)) {
      const where = `${method} ${url}`;
      expect([where, tags.map((tag) => Object.fromEntries(headings)[tag])]).toEqual([where, [true]]);
      expect([where, summary.length > 0, /\.$/.test(description)]).toEqual([where, true, true]);
    }
  }
});

test('every refusal is described as problem details, every file by its media type', () => {
  for (const [url, operations] of Object.entries(described.paths)) {
    for (const [method, { responses }] of Object.entries(operations)) {
      for (const [status, answer] of Object.entries(responses)) {
        const { content } = answer.$ref
          ? described.components.responses[answer.$ref.split('/').at(-1)!]!
          : answer;
        const where = [method, url, status].join(' ');
        if (Number(status) >= 400 && url.startsWith('/api/'))
          expect([where, Object.keys(content!)]).toEqual([where, ['application/problem+json']]);
        const file = { pdf: 'application/pdf', zip: 'application/zip', csv: 'text/csv' }[
          url.split('.')[1] ?? ''
        ];
        if (file && status === '200') expect([where, Object.keys(content!)]).toEqual([where, [file]]);
      }
    }
  }
});

test('a client whose types are made of the description does the main job with tokens', async () => {
  const folder = await folderInRun('api-client');
  await symlink(path.resolve('node_modules'), path.join(folder, 'node_modules'));
  await writeFile(path.join(folder, 'schema.d.ts'), astToString(await openapiTS(description)));
  await copyFile('tests/api-client/main-job.ts', path.join(folder, 'main-job.ts'));
  const compilerOptions = {
    ...{
      target: 'es2023',
      module: 'nodenext',
      lib: ['es2023', 'dom'],
      strict: true,
      noUncheckedIndexedAccess: true,
    },
    ...{ noEmit: true, allowImportingTsExtensions: true, skipLibCheck: true, types: [] },
  };
  await writeFile(path.join(folder, 'package.json'), '{ "type": "module" }');
  await writeFile(
    path.join(folder, 'tsconfig.json'),
    JSON.stringify({ compilerOptions, include: ['main-job.ts'] }),
  );
  const checked = () =>
    execFileSync(process.execPath, [path.resolve('node_modules/typescript-native/bin/tsc'), '-p', folder], {
      encoding: 'utf8',
    });
  try {
    checked();
  } catch (error) {
    expect((error as { stdout: string }).stdout).toBe('');
  }

  const address = await app.listen({ port: 0, host: '127.0.0.1' });
  const game = await oneGame(database.pool, 40);
  await database.pool.query(`INSERT INTO person_role VALUES ($1, $2, 'coordinator')`, [
    game.conferenceId,
    game.observerId,
  ]);
  const person = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.observerId });
  const token = async (role: string) =>
    (
      await person
        .post('/api/tokens')
        .send({ name: `for the ${role}`, role })
        .expect(201)
    ).body.token as string;
  const { mainJob } = await import(/* @vite-ignore */ pathToFileURL(path.join(folder, 'main-job.ts')).href);
  const tokens = { observer: await token('observer'), coordinator: await token('coordinator') };
  // The description's own examples, of which the ids are those of this game.
  const real = { [ids.play]: game.playIds[0]!, [ids.umpire]: game.crew.umpire! };
  const shown = (operation: string) =>
    Object.values(examples[operation]!.sent!).map((value) =>
      JSON.parse(JSON.stringify(value).replaceAll(/[0-9a-f-]{36}/g, (id) => real[id] ?? id)),
    );
  const done = await mainJob(address, tokens, {
    opening: shown('postGamesReports')[0],
    changes: shown('postReportsChanges'),
  });
  expect(done).toMatchObject({
    reportId: ids.report,
    results: ['applied', 'applied', 'applied', 'applied'],
    state: 'filed',
    lines: 0,
  });
});
