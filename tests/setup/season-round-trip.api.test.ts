// @module-tag long
import type { FastifyInstance } from 'fastify';
import { parseHTML } from 'linkedom';
import { afterAll, beforeEach, describe, expect, test } from 'vitest';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { type TwoSeasons, twoSeasons } from '../support/two-seasons.ts';

// What a season takes over from the last one, held against PostgreSQL's own catalog: a column or a table that is added
// later and forgotten where seasons are opened or undone makes these fail.

let database: TestDatabase;
let app: FastifyInstance;
let seasons: TwoSeasons;
let coordinator: SignedInAgent;

const rowsOf = async (sql: string, ...values: unknown[]) => (await database.pool.query(sql, values)).rows;

beforeEach(async () => {
  database ??= await testDatabase();
  app ??= await testApp(database);
  seasons = await twoSeasons(database.pool);
  const { conferenceId, coordinatorId, observerId, second } = seasons;
  coordinator = await inSessionOf(app, { conferenceId, personId: coordinatorId });
  const here = [conferenceId, second.id];
  // Each setting as no season begins with it.
  await rowsOf(
    `UPDATE season SET crew_size = 7, minimum_games = 7, minimum_opportunities = 150, postseason_places = 5,
                       fixed_model = 'linear', calibration_in_severity = true, last_season_in_grades = true
      WHERE conference_id = $1 AND id = $2`,
    ...here,
  );
  await rowsOf(`INSERT INTO pattern_setting VALUES ($1, $2, 0.07, 33, 4)`, ...here);
  await rowsOf(`INSERT INTO observer_plan_setting VALUES ($1, $2, 2, 5, 4, 99, 41, 13, 121)`, ...here);
  await rowsOf(
    `UPDATE rubric_version SET note = 'As it was first', code = 'high school', practices = '{"back judge times": true}'
      WHERE conference_id = $1 AND season_id = $2`,
    ...here,
  );
  const [version] = await rowsOf(
    `INSERT INTO rubric_version (conference_id, season_id, number, note, created_by, created_at, none_weight, yards_weight,
                                 possession_weight, score_weight, code, practices)
     SELECT conference_id, season_id, 2, 'After the clinic', $3, '2031-08-02', 1.25, 1.75, 2.75, 4.25, code, practices
       FROM rubric_version WHERE conference_id = $1 AND season_id = $2 RETURNING id`,
    ...here,
    coordinatorId,
  );
  await rowsOf(
    `INSERT INTO duty SELECT d.conference_id, $3, d.key, d.title || ', anew', d.category, d.graded_as, d.weight + 0.5,
                             d.definition
       FROM duty d JOIN rubric_version v ON v.conference_id = d.conference_id AND v.id = d.rubric_version_id
      WHERE d.conference_id = $1 AND v.season_id = $2`,
    ...here,
    version.id,
  );
  await rowsOf(
    `INSERT INTO observer_conflict (conference_id, person_id, kind, crew_id, note)
     SELECT conference_id, $3, 'family', id, 'A cousin' FROM crew WHERE conference_id = $1 AND season_id = $2`,
    ...here,
    observerId,
  );
});
afterAll(async () => {
  await app?.close();
  await database?.drop();
});

/** The form as the page suggests it, sent as it is. @returns the new season's id */
async function openAsSuggested(): Promise<string> {
  const { conferenceId, second } = seasons;
  const { text } = await coordinator.get(`/seasons/${second.id}/next`).expect(200);
  const { document } = parseHTML(text);
  const sent: Record<string, string> = { firstDay: '2032-08-30', weeks: '12' };
  for (const field of document.querySelectorAll(
    'form.next-season input[name], form.next-season select[name]',
  )) {
    const name = field.getAttribute('name')!;
    if (field.getAttribute('type') === 'checkbox' && !field.hasAttribute('checked')) continue;
    const of = field.tagName === 'SELECT' ? field.querySelector('option[selected]') : field;
    sent[name] ??= of?.getAttribute('value') ?? (field.getAttribute('type') === 'checkbox' ? 'on' : '');
  }
  await coordinator.post(`/seasons/${second.id}/next`).type('form').send(sent).expect(303);
  const [opened] = await rowsOf(
    'SELECT id FROM season WHERE conference_id = $1 AND opened_from_id = $2',
    conferenceId,
    second.id,
  );
  return opened.id;
}

/** Tables that a season takes over, the way to the season's id, and the columns that are the row's own. */
const takenOver: Readonly<Record<string, { from: string; season: string; own: readonly string[] }>> = {
  season: {
    ...{ from: 'season t', season: 't.id' },
    own: ['id', 'name', 'input_revision', 'created_at', 'state', 'opened_from_id', 'closed_at'],
  },
  pattern_setting: { from: 'pattern_setting t', season: 't.season_id', own: ['season_id'] },
  observer_plan_setting: { from: 'observer_plan_setting t', season: 't.season_id', own: ['season_id'] },
  rubric_version: { from: 'rubric_version t', season: 't.season_id', own: ['id', 'season_id'] },
  duty: {
    from: 'duty t JOIN rubric_version v ON v.conference_id = t.conference_id AND v.id = t.rubric_version_id',
    ...{ season: 'v.season_id', own: ['rubric_version_id'] },
  },
  crew: { from: 'crew t', season: 't.season_id', own: ['id', 'season_id'] },
  crew_member: {
    from: 'crew_member t JOIN crew c ON c.conference_id = t.conference_id AND c.id = t.crew_id',
    ...{ season: 'c.season_id', own: ['crew_id'] },
  },
  observer_conflict: {
    from: 'observer_conflict t JOIN crew c ON c.conference_id = t.conference_id AND c.id = t.crew_id',
    ...{ season: 'c.season_id', own: ['id', 'crew_id'] },
  },
};

/** Of a season, and not of the next one: its games and what came of them, or what the opening page itself asks. */
const itsOwn = [
  ...['calibration_set', 'development_point', 'game', 'inquiry', 'kept_result', 'letter', 'letter_batch'],
  ...['official_fact', 'report', 'result_underway', 'season_availability', 'season_book', 'season_departure'],
  ...['season_step', 'season_week', 'selection', 'training_program'],
  ...['clinic', 'clinic_attendance', 'quiz', 'quiz_weight'],
];
/** Where a season is only looked at. */
const looksAt = ['conference', 'season', 'session'];

const columnsOf = async (table: string): Promise<{ name: string; byDefault: string | null }[]> =>
  rowsOf(
    `SELECT column_name AS name, column_default AS "byDefault" FROM information_schema.columns
      WHERE table_schema = 'public' AND table_name = $1 ORDER BY ordinal_position`,
    table,
  );

async function rowsTakenOver(table: string, seasonId: string): Promise<string[]> {
  const { from, season, own } = takenOver[table]!;
  const named = (await columnsOf(table)).map(({ name }) => name).filter((name) => !own.includes(name));
  // A duty stands in its version.
  const all = [...(table === 'duty' ? ['v.number'] : []), ...named.map((name) => `t.${name}`)];
  const rows = await rowsOf(
    `SELECT ROW(${all.join(', ')})::text AS row FROM ${from}
      WHERE t.conference_id = $1 AND ${season} = $2 ORDER BY 1`,
    seasons.conferenceId,
    seasonId,
  );
  return rows.map(({ row }) => row);
}

describe('a season opened from the last as the page suggests it', () => {
  test('every table that refers to a season is one that is taken over, or is its own', async () => {
    const rows = await rowsOf(
      `SELECT DISTINCT conrelid::regclass::text AS name FROM pg_constraint
        WHERE contype = 'f' AND confrelid = 'season'::regclass`,
    );
    const direct = Object.keys(takenOver).filter(
      (name) => !['duty', 'crew_member', 'observer_conflict'].includes(name),
    );
    expect(rows.map(({ name }) => name).sort()).toEqual(
      [...new Set([...direct, ...itsOwn, ...looksAt])].sort(),
    );
  });

  test.each(Object.keys(takenOver))('has every column of %s as it was', async (table) => {
    const before = await rowsTakenOver(table, seasons.second.id);
    const opened = await openAsSuggested();
    const after = await rowsTakenOver(table, opened);
    expect(after.length).toBeGreaterThan(0);
    expect(after).toEqual(before);
    expect(await rowsTakenOver(table, seasons.second.id)).toEqual(before);
  });

  // A setting that this file leaves at its default would be equal though nothing took it over.
  test.each(['season', 'pattern_setting', 'observer_plan_setting', 'rubric_version'])(
    'of %s no column compared stands at its default',
    async (table) => {
      const { from, season, own } = takenOver[table]!;
      for (const { name, byDefault } of await columnsOf(table)) {
        if (own.includes(name) || name === 'conference_id') continue;
        const [row] = await rowsOf(
          `SELECT bool_or(t.${name} IS DISTINCT FROM ${byDefault ?? 'NULL'}) AS differs FROM ${from}
            WHERE t.conference_id = $1 AND ${season} = $2`,
          seasons.conferenceId,
          seasons.second.id,
        );
        expect([name, row.differs]).toEqual([name, true]);
      }
    },
  );
});

/** Each table's rows as one digest, of all tables of the database. */
async function everything(): Promise<Record<string, string>> {
  const tables = await rowsOf(
    `SELECT relname AS name FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace`,
  );
  const digests: Record<string, string> = {};
  for (const { name } of tables) {
    const [row] = await rowsOf(
      `SELECT count(*) || ' ' || COALESCE(md5(string_agg(t::text, '|' ORDER BY t::text)), '') AS digest FROM "${name}" t`,
    );
    digests[name] = row.digest;
  }
  return digests;
}

/** What an opening and its undoing leave behind on purpose: that they happened, and who was told. */
const stays = ['audit_entry', 'message', 'session'];

async function prepare(opened: string): Promise<void> {
  const { conferenceId, coordinatorId, observerId, officialId, second } = seasons;
  const here = [conferenceId, opened];
  await rowsOf(
    `WITH g AS (INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id, crew_id)
                SELECT conference_id, $2, 'first', 1, '2032-09-04T18:00:00Z', home_team_id, visiting_team_id, venue_id,
                       (SELECT id FROM crew WHERE conference_id = $1 AND season_id = $2 LIMIT 1)
                  FROM game WHERE id = $3 RETURNING id)
     INSERT INTO observer_assignment (conference_id, game_id, observer_id, how)
     SELECT $1, id, $4, 'film' FROM g`,
    ...here,
    second.gameId,
    observerId,
  );
  await rowsOf(
    `INSERT INTO training_program (conference_id, season_id, title) VALUES ($1, $2, 'Spring')`,
    ...here,
  );
  await rowsOf(
    `WITH s AS (INSERT INTO calibration_set (conference_id, season_id, title) VALUES ($1, $2, 'August') RETURNING id)
     INSERT INTO calibration_observer (conference_id, set_id, observer_id) SELECT $1, id, $3 FROM s`,
    ...here,
    observerId,
  );
  await rowsOf(
    `INSERT INTO official_fact (conference_id, season_id, person_id, years_of_service, entered_how, entered_by)
     VALUES ($1, $2, $3, 11, 'page', $4)`,
    ...here,
    officialId,
    coordinatorId,
  );
  await rowsOf(
    `INSERT INTO selection (conference_id, season_id, title, rules, weights, made_by)
     VALUES ($1, $2, 'After the season', '{}', '{}', $3)`,
    ...here,
    coordinatorId,
  );
  await rowsOf(
    `INSERT INTO quiz (conference_id, season_id, title, opens_at, closes_at, minutes)
     VALUES ($1, $2, 'Kicks', now() + interval '1 day', now() + interval '8 days', 20)`,
    ...here,
  );
  await rowsOf('INSERT INTO quiz_weight (conference_id, season_id, percent) VALUES ($1, $2, 10)', ...here);
  await rowsOf(
    `WITH one AS (INSERT INTO clinic (conference_id, season_id, title, held_on)
                  VALUES ($1, $2, 'Summer clinic', '2032-07-10') RETURNING id)
     INSERT INTO clinic_attendance (conference_id, clinic_id, season_id, official_id) SELECT $1, id, $2, $3 FROM one`,
    ...here,
    officialId,
  );
}

describe('an opening undone', () => {
  test('leaves nothing of a season in which everything was prepared', async () => {
    await coordinator.post(`/seasons/${seasons.second.id}/current`).expect(303);
    const before = await everything();
    const opened = await openAsSuggested();
    await prepare(opened);
    await coordinator.post(`/seasons/${opened}/current`).expect(303);
    const { text } = await coordinator.get(`/seasons/${opened}/undo`).expect(200);
    expect(text).toContain('1 training program');
    expect(text).toContain('1 set of clips to calibrate with');
    expect(text).toContain('1 selection for games after the season');
    expect(text).toContain('what was entered of 1 official');
    await coordinator.post(`/seasons/${opened}/undo`).expect(303);
    const after = await everything();
    const changed = Object.keys(after).filter((table) => after[table] !== before[table]);
    expect(changed.filter((table) => !stays.includes(table))).toEqual([]);
    expect(changed).toContain('audit_entry');
  });

  test.each([
    [
      'clips that observers were asked to mark',
      `UPDATE calibration_set SET state = 'open', opened_at = now() WHERE season_id = $1`,
    ],
    [
      'a selection that was put to the vote',
      `UPDATE selection SET state = 'sealed voting' WHERE season_id = $1`,
    ],
    [
      'an inquiry of a team',
      `INSERT INTO inquiry (conference_id, season_id, game_id, team_id, state, made_by)
       SELECT g.conference_id, g.season_id, g.id, g.home_team_id, 'draft', a.observer_id
         FROM game g JOIN observer_assignment a ON a.conference_id = g.conference_id AND a.game_id = g.id
        WHERE g.season_id = $1`,
    ],
  ])('is refused, in one sentence, once there is %s', async (what, begun) => {
    const opened = await openAsSuggested();
    await prepare(opened);
    await rowsOf(begun, opened);
    const before = await everything();
    const { text } = await coordinator.post(`/seasons/${opened}/undo`).expect(409);
    expect(text).toContain(`Season 2032 has ${what}, so its opening cannot be undone any more.`);
    expect({ ...(await everything()), session: '' }).toEqual({ ...before, session: '' });
  });
});
