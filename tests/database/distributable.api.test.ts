import { afterAll, beforeAll, expect, test } from 'vitest';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// Whether the tables could be spread over several servers by their conference, as Citus would do it (docs/scale.md has
// its rules, and where they are written). There is no such engine here: this reads the catalogue alone. Each list names
// what does not fit; what is added to the schema fits, or is added to a list and told there.

let database: TestDatabase;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());

/** Found by a secret or an address before it is known whose it is, or of no conference: on one server, or on each. */
const notSpread = [
  '_prisma_migrations',
  'account_link',
  'api_token',
  'conference',
  'password_request',
  'session',
  'sign_in_attempt',
];

const spread = `SELECT c.oid FROM pg_class c
                 WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace AND c.relname <> ALL ($1)`;
const lines = async (sql: string): Promise<string[]> => {
  const { rows } = await database.pool.query<{ line: string }>(sql, [notSpread]);
  return rows.map(({ line }) => line);
};

test('every table that is spread has a conference, which is never null', async () => {
  expect(
    await lines(
      `SELECT c.relname AS line FROM pg_class c
        WHERE c.oid IN (${spread}) AND NOT EXISTS (
          SELECT FROM pg_attribute a WHERE a.attrelid = c.oid AND a.attname = 'conference_id' AND a.attnotnull)
        ORDER BY 1`,
    ),
  ).toEqual([]);
  const { rows } = await database.pool.query(`SELECT count(*)::int AS n FROM (${spread}) s`, [notSpread]);
  expect(rows[0].n).toBeGreaterThan(50);
});

test('a primary key leads with the conference, and whatever is unique holds it', async () => {
  const conferenceIn = (where: string) =>
    `EXISTS (SELECT FROM pg_attribute a WHERE a.attrelid = i.indrelid AND a.attname = 'conference_id' AND ${where})`;
  expect(
    await lines(
      `SELECT i.indrelid::regclass || ' ' || i.indexrelid::regclass AS line FROM pg_index i
        WHERE i.indrelid IN (${spread}) AND i.indisprimary AND NOT ${conferenceIn('a.attnum = i.indkey[0]')}
        ORDER BY 1`,
    ),
  ).toEqual([]);
  expect(
    await lines(
      `SELECT i.indrelid::regclass || ' ' || i.indexrelid::regclass AS line FROM pg_index i
        WHERE i.indrelid IN (${spread}) AND i.indisunique AND NOT ${conferenceIn('a.attnum = ANY (i.indkey)')}
        ORDER BY 1`,
    ),
    // Tokens of a calendar's and a mail's address: each would have to be looked up in a table of its own.
  ).toEqual(['assignment_link assignment_link_token', 'observer_profile observer_profile_calendar']);
});

test('a reference between tables that are spread is by the conference on both sides', async () => {
  expect(
    await lines(
      `SELECT k.conrelid::regclass || ' ' || k.conname AS line FROM pg_constraint k
        WHERE k.contype = 'f' AND k.conrelid IN (${spread}) AND k.confrelid IN (${spread})
          AND NOT EXISTS (
            SELECT FROM unnest(k.conkey, k.confkey) AS pair (here, there)
              JOIN pg_attribute h ON h.attrelid = k.conrelid AND h.attnum = pair.here
              JOIN pg_attribute t ON t.attrelid = k.confrelid AND t.attnum = pair.there
             WHERE h.attname = 'conference_id' AND t.attname = 'conference_id')
        ORDER BY 1`,
    ),
  ).toEqual([]);
});

test('what is not spread and yet refers to what is, is known', async () => {
  expect(
    await lines(
      `SELECT k.conrelid::regclass || ' to ' || k.confrelid::regclass AS line FROM pg_constraint k
        WHERE k.contype = 'f' AND k.conrelid NOT IN (${spread}) AND k.confrelid IN (${spread})
        ORDER BY 1`,
    ),
  ).toEqual([
    'account_link to person',
    'api_token to person',
    'conference to season',
    'session to person',
    'session to season',
  ]);
});

test('functions of triggers, which Citus does not run on a table that is spread, are known', async () => {
  expect(
    await lines(
      `SELECT DISTINCT t.tgfoid::regproc || CASE WHEN t.tgnewtable IS NULL AND t.tgoldtable IS NULL THEN ''
                                                 ELSE ', by transition tables' END AS line
         FROM pg_trigger t WHERE NOT t.tgisinternal AND t.tgrelid IN (${spread}) ORDER BY 1`,
    ),
  ).toEqual([
    'address_changed',
    'assignment_revised',
    'calibration_mark_is_open',
    'closed_season_keeps_settings',
    'counts_move_season, by transition tables',
    'first_season_is_current',
    'game_count_changed, by transition tables',
    'game_moves_season',
    'game_revises_assignments',
    'letter_is_final',
    'quiz_answer_stays',
    'quiz_version_stays',
    'refuse_rewriting',
    'refuse_when_closed, by transition tables',
    'report_moves_season',
    'report_starts_season',
    'selection_is_open',
    'tell_of_assignment',
    'tell_of_decline',
    'tokens_end_with_role',
    'training_answer_stays',
    'training_edition_is_final',
  ]);
});
