// @module-tag long
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { type SignedInAgent, signedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  coordinator = await signedInAgent(app, database.signIns.coordinator, demoPassword);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const address = '/api/letter-templates/end-of-season';
const kept = async () => (await coordinator.get(address)).body.version as number;

test.each([
  ['{{number totals.games 500}}', 1, '“number” takes 0 to 10 decimals, not 500.'],
  ['Dear\n{{date official.name}}', 2, '“date” needs a field that holds a date'],
  [`${'> '.repeat(5000)}deep`, 1, 'quotes are nested 5000 deep'],
  [
    `{{#each weeks}}${'{{#each @root.weeks}}'.repeat(9)}x${'{{/each}}'.repeat(10)}`,
    1,
    'the loops go round more than 30,000 times',
  ],
])(
  'a template that cannot be written with is not kept, and the line is told: %#',
  async (body, line, why) => {
    const before = await kept();
    const refused = await coordinator.put(address).send({ body }).expect(400);
    const [error] = JSON.parse(refused.text).errors;
    expect(error.field).toMatch(new RegExp(`^body, line ${line}, column \\d+$`));
    expect(error.message).toContain(why);
    const checked = await coordinator.post(`${address}/check`).send({ body }).expect(200);
    expect(checked.body.problems[0]).toMatchObject({ line, message: error.message });
    const page = await coordinator
      .post('/letter-templates/end-of-season')
      .type('form')
      .send({ body })
      .expect(400);
    expect(page.text).toContain(why.slice(0, 20));
    expect(await kept()).toBe(before);
  },
);

test('a good template is kept, and a letter is previewed with it', async () => {
  const body = 'Dear {{official.name}}, {{plural totals.games "game" "games"}}.';
  const { version } = (await coordinator.put(address).send({ body }).expect(200)).body;
  expect(await kept()).toBe(version);
  const shown = await coordinator
    .post(`${address}/preview`)
    .send({ body, seasonId: database.seasonId })
    .expect(200);
  expect(shown.body.problems).toEqual([]);
  expect(shown.body.html).toMatch(/<p>Dear .+ games?\.<\/p>/);
});

test('while a template keeps its thread busy, the server answers', async () => {
  const body = `{{#each weeks}}${'{{#each @root.weeks}}'.repeat(3)}*a* **b** [c](https://example.org) {{/each}}${'{{/each}}'.repeat(3)}`;
  let writing = true;
  const preview = coordinator
    .post(`${address}/preview`)
    .send({ body, seasonId: database.seasonId })
    .then((answer) => {
      writing = false;
      return answer;
    });
  let answered = 0;
  while (writing) {
    expect((await app.inject('/health')).statusCode).toBe(200);
    if (writing) answered++;
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
  expect((await preview).status).toBe(200);
  expect(answered).toBeGreaterThan(0);
});
