// @module-tag long
import { subscribe, unsubscribe } from 'node:diagnostics_channel';
import { createConfig, lintFromString } from '@redocly/openapi-core';
import type { FastifyInstance, RouteOptions } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { z } from 'zod';
import { examples } from '../../server/api-examples/index.ts';
import { fileKinds } from '../../server/imports/files/index.ts';
import { oneGame } from '../reports/one-game.ts';
import { makeConference, makePerson } from '../support/people.ts';
import { inSessionOf } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

interface Content {
  examples?: Record<string, { summary: string; value: unknown }>;
}
interface Described {
  operationId: string;
  requestBody?: { content: Record<string, Content> };
  responses: Record<string, { content?: Record<string, Content> }>;
}

let database: TestDatabase;
let app: FastifyInstance;
interface Schemas {
  body?: z.ZodType;
}
type Description = { paths: Record<string, Record<string, Described>> };
let description: Description;
/** Each operation with the schemas that its route really checks by. */
let operations: { operation: Described; route: Schemas }[];

/** The application, and of each `METHOD /address` its schemas: Fastify tells of an instance before it has any route. */
async function appWithSchemas(): Promise<Map<string, Schemas>> {
  const schemas = new Map<string, Schemas>();
  const note = ({ method, url, schema }: RouteOptions) => {
    schemas.set(`${method} ${url}`, schema as Schemas);
  };
  const onInstance = (message: unknown) =>
    (message as { fastify: FastifyInstance }).fastify.addHook('onRoute', note);
  subscribe('fastify.initialization', onInstance);
  try {
    app = await testApp(database);
  } finally {
    unsubscribe('fastify.initialization', onInstance);
  }
  return schemas;
}

beforeAll(async () => {
  database = await testDatabase();
  const schemas = await appWithSchemas();
  description = (await app.inject('/api/openapi.json')).json() as Description;
  operations = Object.entries(description.paths).flatMap(([path, methods]) =>
    Object.entries(methods).map(([method, operation]) => ({
      operation,
      route: schemas.get(`${method.toUpperCase()} ${path.replaceAll(/\{(\w+)\}/g, ':$1')}`)!,
    })),
  );
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const examplesOf = (content: Record<string, Content> = {}, type = 'application/json') =>
  Object.entries(content[type]?.examples ?? {}).map(([name, { value }]) => ({ name, value }));

test('every body of JSON or CSV has an example, which its route takes as it stands', () => {
  const bodies = operations.filter(({ operation }) => operation.requestBody);
  expect(bodies.length).toBeGreaterThan(40);
  for (const { operation, route } of bodies) {
    const { content } = operation.requestBody!;
    for (const type of ['application/json', 'text/csv'].filter((known) => known in content))
      expect([operation.operationId, type, examplesOf(content, type).length > 0]).toEqual([
        operation.operationId,
        type,
        true,
      ]);
    for (const { name, value } of examplesOf(content)) {
      const parsed = route.body!.safeParse(value);
      expect([operation.operationId, name, parsed.error?.issues ?? []]).toEqual([
        operation.operationId,
        name,
        [],
      ]);
    }
  }
});

// redocly's rules hold every example against its schema as it is described, answers too, and refuse what no schema names.
test('an example that its schema does not allow is told', async () => {
  const config = await createConfig({ extends: ['recommended'] });
  const told = async (change: (season: object) => object) => {
    const alone = structuredClone(description);
    const seasons = alone.paths['/api/seasons']!;
    const { examples: shown } = seasons.get!.responses['200']!.content!['application/json']!;
    const [example] = Object.values(shown!);
    example!.value = [change((example!.value as object[])[0]!)];
    alone.paths = { '/api/seasons': seasons };
    const source = JSON.stringify(alone);
    const problems = await lintFromString({ source, absoluteRef: 'openapi.json', config });
    return problems.filter(({ ruleId }) => ruleId === 'no-invalid-media-type-examples').length;
  };
  expect(await told((season) => ({ ...season, crewSize: 'eight' }))).toBe(1);
  expect(await told((season) => ({ ...season, colour: 'red' }))).toBe(1);
  expect(await told((season) => season)).toBe(0);
});

test('whatever an example names is an operation that is there', () => {
  const there = operations.map(({ operation: { operationId } }) => operationId);
  expect(Object.keys(examples).filter((id) => !there.includes(id))).toEqual([]);
});

test('the files shown, sent in the order in which they are read, make a season', async () => {
  const conferenceId = await makeConference(database.pool);
  const coordinator = await makePerson(database.pool, conferenceId, ['coordinator']);
  const person = await inSessionOf(app, coordinator);
  const { operation } = operations.find(
    ({ operation: { operationId } }) => operationId === 'postImportsByKind',
  )!;
  const files = examplesOf(operation.requestBody!.content, 'text/csv');
  const kinds = fileKinds.map(({ format }) => format.name);
  expect(files.map(({ name }) => name)).toEqual(kinds.map((kind) => `kind-${kind}`));
  for (const kind of kinds) {
    const file = files.find(({ name }) => name === `kind-${kind}`)!.value as string;
    if (kind === 'clinic-attendance') {
      // Clinics are made by themselves: a file only says who was there.
      const seasons = await person.get('/api/seasons').expect(200);
      await person
        .post(`/api/seasons/${seasons.body.find(({ name }: { name: string }) => name === '2026').id}/clinics`)
        .send({ title: 'Summer clinic', heldOn: '2026-07-18' })
        .expect(201);
    }
    const { body } = await person.post(`/api/imports/${kind}`).type('text/csv').send(file);
    expect([kind, body.applied, body.problems ?? body]).toEqual([kind, true, []]);
    expect([kind, body.added > 0, body.notes]).toEqual([kind, true, []]);
  }
});

test('the play log shown is read by the mapping shown', async () => {
  const game = await oneGame(database.pool, 0);
  const person = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.coordinatorId });
  const exampleOf = (id: string, type?: string) =>
    examplesOf(
      operations.find(({ operation: { operationId } }) => operationId === id)!.operation.requestBody!.content,
      type,
    )[0]!.value;
  const kept = await person
    .post('/api/log-mappings')
    .send(exampleOf('postLogMappings') as object)
    .expect(200);
  const { body } = await person
    .post(`/api/games/${game.gameId}/play-log`)
    .type('text/csv')
    .send(exampleOf('postGamesPlayLog', 'text/csv') as string)
    .expect(200);
  expect(body).toMatchObject({ mappingId: kept.body.id, added: 2, undecided: [] });
  expect(body.plays.map(({ play }: { play: object }) => play)).toMatchObject([
    { kind: 'run', spot: 25, endSpot: 31, down: 1, distance: 10, quarter: 1, clockSeconds: 882 },
    { kind: 'pass', spot: 31, endSpot: 43, down: 2, distance: 4 },
  ]);
});
