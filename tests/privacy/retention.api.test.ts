// @module-tag long
import type { FastifyInstance } from 'fastify';
import pg from 'pg';
import { afterAll, beforeAll, beforeEach, expect, test } from 'vitest';
import { inTransaction } from '../../server/database/transaction.ts';
import { addAbsence } from '../../server/observers/stores/profile-store.ts';
import { dueNow } from '../../server/privacy/retention/due.ts';
import { keptForGood, type Retention } from '../../server/privacy/retention/kinds.ts';
import { takeAwayNightly } from '../../server/privacy/retention/nightly.ts';
import { readRetention } from '../../server/privacy/retention/setting-store.ts';
import { takeAwayDue } from '../../server/privacy/retention/take-away.ts';
import { verifyConference } from '../../server/proof/verify-conference.ts';
import { answerAvailability } from '../../server/setup/availability-store.ts';
import { makePerson } from '../support/people.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

// Two conferences alike, each with a season closed three years ago and one that runs.
let database: TestDatabase;
let app: FastifyInstance;
let owner: pg.Client;
let here: TwoSeasons;
let there: TwoSeasons;
let coordinator: SignedInAgent;
beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
  owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
});
afterAll(async () => {
  await app.close();
  await owner.end();
  await database.drop();
});
beforeEach(async () => {
  [here, there] = [await oldConference(), await oldConference()];
  coordinator = await inSessionOf(app, { conferenceId: here.conferenceId, personId: here.coordinatorId });
});

const gone = [
  'Copper comment',
  'Copper play',
  'Copper answer',
  'Copper remark',
  'Copper talk',
  'Copper knee',
  'Copper trip',
];
const leftLongAgo = ['Ottilie Wexcombe', 'ottilie@example.test'];

async function oldConference(): Promise<TwoSeasons> {
  const { pool } = database;
  const two = await twoSeasons(pool);
  const { conferenceId, first, observerId, officialId, coordinatorId } = two;
  await pool.query('UPDATE conference SET name = $2 WHERE id = $1', [conferenceId, 'Prairie Conference']);
  const old = await makePerson(pool, conferenceId, ['official'], {
    email: leftLongAgo[1]!.replace('@', `+${conferenceId}@`),
    givenName: 'Ottilie',
    familyName: 'Wexcombe',
  });
  await pool.query(
    `INSERT INTO crew_member SELECT conference_id, id, 'umpire', $2 FROM crew WHERE conference_id = $1 AND season_id = $3`,
    [conferenceId, old.personId, first.id],
  );
  await addAbsence(pool, { conferenceId, personId: observerId }, observerId, {
    from: '2023-03-01',
    to: '2023-03-04',
    of: 'all work',
    note: 'Copper knee',
  });
  await pool.query(
    'INSERT INTO season_availability (conference_id, season_id, person_id) VALUES ($1, $2, $3)',
    [conferenceId, first.id, officialId],
  );
  await inTransaction(pool, (client) =>
    answerAvailability(client, { conferenceId, personId: officialId }, first.id, {
      weeksAway: [],
      note: 'Copper trip',
    }),
  );
  await pool.query(
    `INSERT INTO api_token (conference_id, person_id, name, role, read_only, token_hash, created_at, expires_at)
     VALUES ($1, $2, 'Old scoreboard', 'coordinator', true, $3, now() - interval '5 years', now() - interval '42 months')`,
    [conferenceId, coordinatorId, `hash of ${conferenceId}`],
  );
  await pool.query(
    `INSERT INTO message (conference_id, person_id, kind, facts, happened_at, mail, sent_at)
     VALUES ($1, $2, 'invitation', '{}', now() - interval '42 months', 'sent', now())`,
    [conferenceId, observerId],
  );
  await inTransaction(pool, async (client) => {
    await client.query(
      `UPDATE season SET state = 'closed', closed_at = now() - interval '3 years', created_at = now() - interval '4 years'
        WHERE conference_id = $1 AND id = $2`,
      [conferenceId, first.id],
    );
    await client.query(
      `UPDATE person SET created_at = now() - interval '4 years' WHERE conference_id = $1 AND family_name <> 'Other'`,
      [conferenceId],
    );
  });
  return two;
}

const all: Retention = {
  remarks: 2,
  letters: 2,
  absences: 2,
  messages: 2,
  tokens: 2,
  people: 2,
  nightly: false,
};
const setting = (values: Retention) => coordinator.put('/api/retention').send(values);
const dryRun = async () => (await coordinator.get('/api/retention/due').expect(200)).body;

/** Where one of these stands in rows of a conference: table.column. */
async function tracesIn(conferenceId: string, texts: string[]): Promise<string[]> {
  const { rows: columns } = await owner.query<{ table: string; column: string }>(
    `SELECT c.table_name AS table, c.column_name AS column FROM information_schema.columns c
       JOIN information_schema.tables t USING (table_schema, table_name)
      WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE' AND EXISTS (
        SELECT FROM information_schema.columns o WHERE o.table_schema = 'public' AND o.table_name = c.table_name
           AND o.column_name = 'conference_id') ORDER BY 1, 2`,
  );
  const found: string[] = [];
  for (const { table, column } of columns) {
    const { rowCount } = await owner.query(
      `SELECT FROM "${table}" WHERE conference_id = $1 AND EXISTS (
         SELECT FROM unnest($2::text[]) AS trace WHERE strpos("${column}"::text, trace) > 0)`,
      [conferenceId, texts],
    );
    if (rowCount) found.push(`${table}.${column}`);
  }
  return found;
}

/** Every row of a conference. */
async function everything(conferenceId: string): Promise<Record<string, string>> {
  const { rows: tables } = await owner.query<{ name: string }>(
    `SELECT table_name AS name FROM information_schema.columns JOIN information_schema.tables t USING (table_schema, table_name)
      WHERE table_schema = 'public' AND column_name = 'conference_id' AND t.table_type = 'BASE TABLE'`,
  );
  const found: Record<string, string> = {};
  for (const { name } of tables) {
    const { rows } = await owner.query(
      `SELECT coalesce(string_agg(t::text, E'\\n' ORDER BY t::text), '') AS text FROM "${name}" t WHERE conference_id = $1`,
      [conferenceId],
    );
    found[name] = rows[0].text;
  }
  return found;
}

/** All that is of one season. */
async function seasonRows({ conferenceId }: TwoSeasons, seasonId: string) {
  const { rows } = await owner.query(
    `SELECT jsonb_build_array(
       (SELECT jsonb_agg(to_jsonb(r) ORDER BY r.id) FROM report r WHERE r.conference_id = $1 AND r.season_id = $2),
       (SELECT jsonb_agg(to_jsonb(o) ORDER BY o.id) FROM observation o JOIN report r ON r.id = o.report_id WHERE o.conference_id = $1 AND r.season_id = $2),
       (SELECT jsonb_agg(to_jsonb(p) ORDER BY p.id) FROM play p JOIN game g ON g.id = p.game_id WHERE p.conference_id = $1 AND g.season_id = $2),
       (SELECT jsonb_agg(to_jsonb(v) ORDER BY v.report_id) FROM report_revision v JOIN report r ON r.id = v.report_id WHERE v.conference_id = $1 AND r.season_id = $2),
       (SELECT jsonb_agg(to_jsonb(y) ORDER BY y.id) FROM reply y WHERE y.conference_id = $1 AND y.text LIKE 'Silver%'),
       (SELECT jsonb_agg(to_jsonb(l) ORDER BY l.id) FROM letter l WHERE l.conference_id = $1 AND l.season_id = $2),
       (SELECT jsonb_agg(to_jsonb(m) ORDER BY m.id) FROM message m WHERE m.conference_id = $1 AND m.happened_at > now() - interval '1 year')) AS all`,
    [conferenceId, seasonId],
  );
  return rows[0].all;
}

const figures = async ({ conferenceId, first }: TwoSeasons) => {
  await database.pool.query('DELETE FROM kept_result WHERE conference_id = $1', [conferenceId]);
  const standings = await app.results.allStandingsOf(conferenceId, first.id);
  const { rows: counts } = await owner.query(
    `SELECT person_id, position, duty_key, opportunities, not_met, not_counted FROM game_count WHERE conference_id = $1 ORDER BY 1, 2, 3, game_id`,
    [conferenceId],
  );
  return JSON.parse(JSON.stringify({ standings, counts }));
};

const faultsOf = async ({ conferenceId }: TwoSeasons) => {
  const proof = await verifyConference(owner, { id: conferenceId, slug: 'x' });
  return { faults: proof.faults, marks: proof.marks, unsealed: proof.unsealed };
};

test('nothing is set at first; years out of bounds are refused by name and fix, and nothing of them is kept', async () => {
  // Each field says what its number counts.
  const form = (await coordinator.get('/settings/kept').expect(200)).text;
  expect(
    form.match(/aria-describedby="hint-\w+ unit-(\w+)"> <span id="unit-\1">years<\/span>/g),
  ).toHaveLength(6);
  expect((await coordinator.get('/api/retention')).body).toEqual(keptForGood);
  expect((await dryRun()).due).toEqual([]);
  const wrong = await setting({ ...all, remarks: 0, people: 1, letters: 2.5 });
  expect(wrong.status).toBe(400);
  expect(wrong.headers['content-type']).toMatch(/^application\/problem\+json/);
  for (const sentence of [
    'remarks must be a whole number of years from 1 to 50, or empty (null in the API) to keep it for good',
    'letters must be a whole number of years from 1 to 50',
    'people must be a whole number of years from 2 to 50',
  ]) {
    expect(wrong.body.detail).toContain(sentence);
  }
  expect((await setting({ ...all, tokens: 51 })).status).toBe(400);
  const page = await coordinator
    .post('/settings/kept')
    .type('form')
    .send({ remarks: 'two', people: '1', letters: '3', act: 'keep' });
  expect(page.status).toBe(400);
  expect(page.text).toContain('Must be a whole number of years from 1 to 50, or empty (null in the API)');
  expect(page.text).toMatch(/name="letters"[^>]+value="3"/);
  expect((await coordinator.get('/api/retention')).body).toEqual(keptForGood);
  await setting({ ...keptForGood, people: 2 }).expect(200);
  expect((await coordinator.get('/api/retention')).body).toEqual({ ...keptForGood, people: 2 });
  const { rows } = await owner.query(
    `SELECT after->>'people' AS people FROM audit_entry WHERE conference_id = $1 AND action = 'time to keep data changed'`,
    [here.conferenceId],
  );
  expect(rows).toEqual([{ people: '2' }]);
});

test('a dry run of years that are not kept changes nothing, and names who would be erased', async () => {
  const before = await everything(here.conferenceId);
  const page = await coordinator
    .post('/settings/kept')
    .type('form')
    .send({ remarks: '2', people: '2', act: 'try' })
    .expect(200);
  expect(page.text).toContain('Ottilie Wexcombe');
  expect(page.text).toContain('Comments on marks');
  expect(page.text).not.toContain('Take it away for good');
  expect(await everything(here.conferenceId)).toEqual(before);
});

test('what the dry run lists goes, and nothing else: figures, history, running season and other conference hold', async () => {
  await setting(all).expect(200);
  const { seen, due } = await dryRun();
  const counted = Object.assign({}, ...due.map(({ counts }: { counts: object }) => counts));
  expect(counted).toEqual({
    'comments on marks': 1,
    'notes on plays': 12,
    answers: 1,
    'notes on development points': 1,
    letters: 1,
    'absences of observers': 1,
    'answers when officials are away': 1,
    messages: 1,
    'ended tokens': 1,
    people: 1,
  });
  const csv = (await coordinator.get('/settings/kept/due.csv').expect(200)).text;
  expect(csv).toMatch(/^kept,season,what goes,count,person,e-mail\r\n/);
  expect(csv).toContain(',2030,erased,1,Ottilie Wexcombe,');
  expect(csv).toContain(',2030,notes on plays,12,,\r\n');

  const other = await everything(there.conferenceId);
  const running = await seasonRows(here, here.second.id);
  const before = await figures(here);
  expect((await tracesIn(here.conferenceId, [...gone, ...leftLongAgo])).length).toBeGreaterThan(8);
  expect((await coordinator.post('/api/retention/runs').send({ seen: 'other' })).status).toBe(409);
  expect((await dryRun()).seen).toBe(seen);

  const wrong = await coordinator.post('/settings/kept/now').type('form').send({ seen, name: 'Other' });
  expect([wrong.status, wrong.text]).toEqual([400, expect.stringContaining('Type the conference’s name')]);
  const { body } = await coordinator.post('/api/retention/runs').send({ seen }).expect(200);
  expect(body.taken).toEqual(due);

  expect((await dryRun()).due).toEqual([]);
  expect(await tracesIn(here.conferenceId, [...gone, 'Wexcombe', 'ottilie'])).toEqual([]);
  expect(await figures(here)).toEqual(before);
  expect(await seasonRows(here, here.second.id)).toEqual(running);
  expect(await everything(there.conferenceId)).toEqual(other);
  const proof = await faultsOf(here);
  expect(proof).toMatchObject({ faults: [], unsealed: 0 });
  expect(proof.marks).toBeGreaterThan(0);
  const { rows } = await owner.query(
    `SELECT actor_id AS who, after->>'kind' AS kind, after->>'by' AS by, after->'counts' AS counts FROM audit_entry
      WHERE conference_id = $1 AND action = 'took away what is no longer kept' ORDER BY number`,
    [here.conferenceId],
  );
  expect(rows.map(({ kind }) => kind)).toEqual([
    'remarks',
    'letters',
    'absences',
    'absences',
    'messages',
    'tokens',
  ]);
  for (const row of rows) expect(row).toMatchObject({ who: here.coordinatorId, by: 'by hand' });
  expect(rows[5].counts).toEqual({ 'ended tokens': 1 });
  const erased = await owner.query(
    `SELECT reason FROM audit_entry WHERE conference_id = $1 AND action = 'erased a person’s data'`,
    [here.conferenceId],
  );
  expect(erased.rows).toEqual([{ reason: 'Kept for 2 years after the last season (by hand).' }]);
  const trail = (await coordinator.get('/trail').expect(200)).text;
  expect(trail).toContain('took away what is no longer kept');
  expect(trail).not.toContain('Wexcombe');
});

test('a season that runs, or was closed for less long, is never touched, however old', async () => {
  await database.pool.query(
    `UPDATE season SET state = 'running', closed_at = NULL WHERE conference_id = $1 AND id = $2`,
    [here.conferenceId, here.first.id],
  );
  await setting({ ...all, remarks: 1, letters: 1, absences: 1, messages: 1, tokens: 1 }).expect(200);
  expect((await dryRun()).due).toEqual([]);
  await database.pool.query(
    `UPDATE season SET state = 'closed', closed_at = now() - interval '23 months' WHERE conference_id = $1 AND id = $2`,
    [here.conferenceId, here.first.id],
  );
  await setting({ ...all, absences: null, messages: null, tokens: null }).expect(200);
  expect((await dryRun()).due).toEqual([]);
});

test('who is a coordinator, takes part, is signed in or was invited lately is not erased', async () => {
  await setting({ ...keptForGood, people: 2 }).expect(200);
  const names = async () => (await dryRun()).due.map((one: { person: { name: string } }) => one.person.name);
  expect(await names()).toEqual(['Ottilie Wexcombe']);
  const { rows } = await owner.query(
    `SELECT id FROM person WHERE conference_id = $1 AND family_name = 'Wexcombe'`,
    [here.conferenceId],
  );
  const [id] = rows.map((row) => row.id);
  const agent = await inSessionOf(app, { conferenceId: here.conferenceId, personId: id });
  expect(await names()).toEqual([]);
  await agent.delete('/api/session');
  expect(await names()).toEqual(['Ottilie Wexcombe']);
  for (const [add, remove] of [
    [
      'INSERT INTO person_role VALUES ($1, $2, $$coordinator$$)',
      'DELETE FROM person_role WHERE conference_id = $1 AND person_id = $2 AND role = $$coordinator$$',
    ],
    [
      'INSERT INTO invitation (conference_id, person_id, state) VALUES ($1, $2, $$handed over$$)',
      'DELETE FROM invitation WHERE conference_id = $1 AND person_id = $2',
    ],
    [
      'INSERT INTO known_device (conference_id, person_id, token_hash) VALUES ($1, $2, $$x$$)',
      'DELETE FROM known_device WHERE conference_id = $1 AND person_id = $2',
    ],
  ] as const) {
    await owner.query(add, [here.conferenceId, id]);
    expect([add, await names()]).toEqual([add, []]);
    await owner.query(remove, [here.conferenceId, id]);
  }
});

test('two runs at once take everything once', async () => {
  await setting(all).expect(200);
  const setNow = await readRetention(database.pool, here.conferenceId);
  const due = await dueNow(database.pool, here.conferenceId, setNow);
  const acting = { conferenceId: here.conferenceId, personId: here.coordinatorId };
  const [one, other] = await Promise.all([
    takeAwayDue(database.pool, acting, 'by hand'),
    takeAwayDue(database.pool, acting, 'by hand'),
  ]);
  const key = (list: typeof due) => list.map(({ kind, counts }) => JSON.stringify([kind, counts])).sort();
  expect(key([...one, ...other])).toEqual(key(due));
  expect((await faultsOf(here)).faults).toEqual([]);
});

test('by itself it is done once a night, only where it is switched on, and the history says so', async () => {
  const failed: unknown[] = [];
  const night = (at: string) => takeAwayNightly(database.pool, (error) => failed.push(error), new Date(at));
  await setting(all).expect(200);
  expect(await night('2031-02-03T11:00:00Z')).toEqual([]);
  await setting({ ...all, nightly: true }).expect(200);
  // Chicago is six hours behind in February: at two in the morning it is not done yet.
  expect(await night('2031-02-03T08:59:00Z')).toEqual([]);
  const [one, other] = await Promise.all([night('2031-02-03T09:01:00Z'), night('2031-02-03T09:01:00Z')]);
  expect([...one, ...other].map(({ kind }) => kind)).toEqual([
    'remarks',
    'letters',
    'absences',
    'absences',
    'messages',
    'tokens',
    'people',
  ]);
  expect(await night('2031-02-03T20:00:00Z')).toEqual([]);
  expect(failed).toEqual([]);
  expect((await coordinator.get('/settings/kept')).text).toContain('it last looked on February 3, 2031');
  const { rows } = await owner.query(
    `SELECT DISTINCT actor_id AS who, after->>'by' AS by FROM audit_entry
      WHERE conference_id = $1 AND action = 'took away what is no longer kept'`,
    [here.conferenceId],
  );
  expect(rows).toEqual([{ who: null, by: 'by the timetable' }]);
  expect((await faultsOf(here)).faults).toEqual([]);
  expect(await tracesIn(there.conferenceId, gone)).not.toEqual([]);
});

test('switched on in the day, it waits for the next night, so that it can be switched off again', async () => {
  const now = new Date();
  // Somewhere where three in the morning is over.
  const zone = now.getUTCHours() >= 3 ? 'UTC' : 'Asia/Tokyo';
  await owner.query('UPDATE conference SET time_zone = $2 WHERE id = $1', [here.conferenceId, zone]);
  const night = (at: Date) =>
    takeAwayNightly(
      database.pool,
      (error) => {
        throw error;
      },
      at,
    );
  await setting({ ...all, nightly: true }).expect(200);
  expect(await night(now)).toEqual([]);
  await setting({ ...all, nightly: false }).expect(200);
  await setting({ ...all, people: null, nightly: true }).expect(200);
  expect(await night(now)).toEqual([]);
  expect((await night(new Date(now.getTime() + 24 * 3600_000))).length).toBeGreaterThan(0);
});
