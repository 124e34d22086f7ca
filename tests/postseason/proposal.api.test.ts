// @module-tag rest
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { groupBy } from '../../server/grading/group-by.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

// A selection of a whole season: its tiers and chances held against the season's standings, its proposal against the rules.

let database: DemoDatabase;
let app: FastifyInstance;
let agent: SignedInAgent;
let selection: { id: string; rules: object; weights: object; revision: number };
let gameIds: string[];

interface Line {
  officialId: string;
  tier: number | null;
  rank: { place: number; low: number; high: number } | null;
  chance: number | null;
  otherChance: number | null;
  eligible: string;
  leftOut: boolean;
  findings: { rule: string; holds: string; why: string }[];
}

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database);
  ({ agent } = await personSignedIn(app, database.conferenceId, ['coordinator']));
  const { body } = await agent
    .post(`/api/seasons/${database.seasonId}/selections`)
    .send({ title: 'Semifinals' })
    .expect(201);
  selection = body;
  const { rows: teams } = await database.pool.query(
    'SELECT id FROM team WHERE conference_id = $1 ORDER BY name LIMIT 4',
    [database.conferenceId],
  );
  for (const [at, name] of ['First', 'Second'].entries())
    await agent
      .post(`/api/selections/${selection.id}/games`)
      .send({
        ...{ name, playedOn: '2026-12-05', crewSize: 8, alternates: 2, latitude: 41.6, longitude: -93.9 },
        ...{ homeTeamId: teams[2 * at].id, visitorTeamId: teams[2 * at + 1].id },
      })
      .expect(201);
  const { body: now } = await agent.get(`/api/selections/${selection.id}`).expect(200);
  selection = now;
  gameIds = now.games.map(({ id }: { id: string }) => id);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const candidates = async (position: string, game = gameIds[0]): Promise<Line[]> =>
  (
    await agent
      .get(`/api/selections/${selection.id}/candidates`)
      .query({ position, ...(game ? { game } : {}) })
      .expect(200)
  ).body.candidates;
const standings = async (position: string, model?: string) =>
  (
    await agent
      .get(`/api/seasons/${database.seasonId}/standings`)
      .query({ position, ...(model ? { model } : {}) })
      .expect(200)
  ).body;

test('ranks and chances are those of the standings, by both models', async () => {
  const own = await standings('umpire');
  const other = await standings('umpire', own.model.used === 'linear' ? 'counts' : 'linear');
  const lines = await candidates('umpire');
  expect(lines).toHaveLength(own.lines.length);
  for (const line of own.lines) {
    const here = lines.find(({ officialId }) => officialId === line.personId)!;
    const beside = other.lines.find((one: { personId: string }) => one.personId === line.personId);
    expect(here.rank?.low).toBe(line.rank?.low);
    expect(here.rank?.high).toBe(line.rank?.high);
    expect(here.chance).toBe(line.placeChance);
    expect(here.otherChance).toBe(beside.placeChance);
  }
});

test('between two tiers no rank interval reaches over, within one every cut is reached over', async () => {
  for (const position of ['referee', 'umpire', 'back judge']) {
    const ranked = (await candidates(position)).filter(({ rank }) => rank);
    const tiers = groupBy(ranked, ({ tier }) => tier);
    for (const [tier, inTier] of tiers) {
      for (const below of ranked.filter((one) => one.tier! > tier!))
        for (const above of inTier) expect(above.rank!.high).toBeLessThan(below.rank!.low);
      const from = Math.min(...inTier.map(({ rank }) => rank!.low));
      const to = Math.max(...inTier.map(({ rank }) => rank!.high));
      for (let cut = from; cut < to; cut += 1) {
        const [left, right] = [
          inTier.filter(({ rank }) => rank!.high <= cut),
          inTier.filter(({ rank }) => rank!.low > cut),
        ];
        expect(left.length + right.length === inTier.length && left.length > 0 && right.length > 0).toBe(
          false,
        );
      }
    }
  }
});

test('of whom nothing was entered nothing is met or failed, and nobody is proposed until it is', async () => {
  const before = await candidates('umpire');
  const [first] = before.filter((one) => one.eligible === 'not known');
  expect(first!.findings.filter(({ holds }) => holds === 'not known').map(({ rule }) => rule)).toEqual([
    'standing',
    'availability',
  ]);
  const { body } = await agent.post(`/api/selections/${selection.id}/proposal`).expect(200);
  expect(body.choices).toEqual([]);
  expect(body.unfilled).toHaveLength(20);
  expect(body.unfilled[0].why).toContain('standing');
  // The page says what to do about it, until rules take in whom something is not known of.
  const page = async () => (await agent.get(`/postseason/${selection.id}`).expect(200)).text;
  expect(await page()).toContain('Of some candidates it is not known whether they meet a rule');

  await agent
    .put(`/api/seasons/${database.seasonId}/officials/${first!.officialId}/facts`)
    .send({ goodStanding: true, available: true, revision: 0 })
    .expect(200);
  const after = (await candidates('umpire')).find(({ officialId }) => officialId === first!.officialId)!;
  expect(after.eligible).toBe('met');
  const again = await agent.post(`/api/selections/${selection.id}/proposal`).expect(200);
  expect(
    again.body.choices.map(({ slot, officialId }: { slot: string; officialId: string }) => [
      slot,
      officialId,
    ]),
  ).toEqual([['umpire', first!.officialId]]);
});

test('a proposal keeps every rule, is taken over as choices, and goes around what people chose', async () => {
  const { body: now } = await agent.get(`/api/selections/${selection.id}`).expect(200);
  await agent
    .put(`/api/selections/${selection.id}`)
    .send({
      ...{ title: 'Semifinals', weights: now.weights, revision: now.revision },
      rules: { ...now.rules, notKnown: 'take in', mostOfOneCrew: 2 },
    })
    .expect(200);
  const [best] = await candidates('referee');
  await agent
    .put(`/api/selections/${selection.id}/games/${gameIds[1]}/places/referee`)
    .send({ officialId: best!.officialId, position: 'referee', reason: 'Asked for by both teams.' })
    .expect(200);
  const { body: proposal } = await agent.post(`/api/selections/${selection.id}/proposal`).expect(200);
  expect(proposal.best).toBe(true);
  expect(proposal.fixed).toHaveLength(1);
  const all = [...proposal.fixed, ...proposal.choices];
  const officials = all.map(({ officialId }) => officialId);
  expect(new Set(officials).size).toBe(officials.length);
  for (const { gameId, position, officialId } of proposal.choices) {
    const line = (await candidates(position, gameId)).find((one) => one.officialId === officialId)!;
    expect(line.leftOut).toBe(false);
    expect(line.findings.some(({ holds }) => holds === 'not met')).toBe(false);
  }
  const { rows: crews } = await database.pool.query<{ crew_id: string; person_id: string }>(
    'SELECT crew_id, person_id FROM crew_member WHERE conference_id = $1',
    [database.conferenceId],
  );
  for (const gameId of gameIds)
    for (const crew of new Set(crews.map(({ crew_id }) => crew_id))) {
      const members = new Set(crews.filter(({ crew_id }) => crew_id === crew).map((one) => one.person_id));
      const here = all.filter((one) => one.gameId === gameId && members.has(one.officialId));
      expect(here.length).toBeLessThanOrEqual(2);
    }
  await agent.post(`/postseason/${selection.id}/take-over`).type('form').send({}).expect(303);
  const { body: taken } = await agent.get(`/api/selections/${selection.id}`).expect(200);
  expect(taken.choices).toHaveLength(all.length);
  const page = await agent.get(`/postseason/${selection.id}`).expect(200);
  // What is proven of it, and no more (tests/selection: dearer positions could leave better alternates).
  expect(page.text).toContain(
    'no proposal fills more positions, and none that fills as many has fewer points in them',
  );
  expect(page.text).toContain('for a chance: where none can be told, it counts as none');
  expect(page.text).toContain('Asked for by both teams.');
  // What was proposed stays beside what was chosen, so that a reader sees where people departed from it.
  const places = async () => {
    const { document } = parseHTML((await agent.get(`/postseason/${selection.id}`).expect(200)).text);
    const rows = [...document.querySelectorAll('main tbody tr')].map((row) =>
      [...row.querySelectorAll('td')].map((cell) => cell.textContent!.replaceAll(/\s+/g, ' ').trim()),
    );
    return { rows, words: document.querySelector('main')!.textContent!.replaceAll(/\s+/g, ' ') };
  };
  const as = await places();
  expect(as.rows.filter(([, proposed]) => proposed!.includes('as chosen'))).toHaveLength(
    proposal.choices.length,
  );
  expect(as.rows.filter(([, proposed]) => proposed!.includes('chosen before it was asked'))).toHaveLength(1);
  expect(as.words).toContain(`${proposal.choices.length} are as proposed, and in 0 people chose otherwise.`);
  const departed = proposal.choices.find(({ slot }: { slot: string }) => slot === 'umpire')!;
  const chosen = new Set(taken.choices.map(({ officialId }: { officialId: string }) => officialId));
  const another = (await candidates('umpire', departed.gameId)).find(
    ({ officialId }) => !chosen.has(officialId),
  )!;
  await agent
    .put(`/api/selections/${selection.id}/games/${departed.gameId}/places/umpire`)
    .send({ officialId: another.officialId, position: 'umpire', reason: 'Knows the stadium.' })
    .expect(200);
  const otherwise = await places();
  const name = async (personId: string) =>
    (
      await database.pool.query(`SELECT given_name || ' ' || family_name AS name FROM person WHERE id = $1`, [
        personId,
      ])
    ).rows[0].name;
  const [row, ...more] = otherwise.rows.filter(([, proposed]) =>
    proposed!.includes('people chose otherwise'),
  );
  expect(more).toEqual([]);
  expect(row![0]).toContain(await name(another.officialId));
  expect(row![1]).toContain(await name(departed.officialId));
  expect(otherwise.words).toContain('and in 1 people chose otherwise.');
});
