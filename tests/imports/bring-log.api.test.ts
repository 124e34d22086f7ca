// @module-tag long
import { randomUUID } from 'node:crypto';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import writeExcelFile from 'write-excel-file/node';
import type { Play } from '../../server/football/play.ts';
import { playOf } from '../../server/games/play-rows.ts';
import { type OneGame, oneGame } from '../reports/one-game.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// A conference made from nothing and a log in a form of our own invention: the whole way by page and by API.

let database: TestDatabase;
let app: FastifyInstance;
let game: OneGame;
let coordinator: SignedInAgent;
let observer: SignedInAgent;

beforeAll(async () => {
  database = await testDatabase();
  app = await testApp(database);
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  game = await oneGame(database.pool, []);
  coordinator = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.coordinatorId });
  observer = await inSessionOf(app, { conferenceId: game.conferenceId, personId: game.observerId });
});

const file = [
  'Nr;Per;Rest;Ball;Wo;Versuch;Noch;Was;Ausgang;Raum',
  '3;1;14:20;Home;Home 35;;;Anstoß;zurück;',
  '6;1;14:12;Visitors;Visitors 24;1;10;Lauf;;7',
  '9;1;13:40;Visitors;Visitors 31;2;3;Wurf;daneben;0',
  '12;1;;;;;;Pause;;',
  '15;1;13:33;Visitors;Visitors 31;3;3;Wurf;gefangen;12',
].join('\r\n');

const mapping = {
  headings: 1,
  order: { by: 'column', column: 'Nr' },
  rows: [{ column: 'Was', rule: 'leave out', texts: ['pause'] }],
  facts: {
    kind: [{ from: 'column', column: 'Was', values: { anstoß: 'free kick', lauf: 'run', wurf: 'pass' } }],
    offense: [{ from: 'column', column: 'Ball', values: {} }],
    quarter: [{ from: 'column', column: 'Per', values: {} }],
    clockSeconds: [{ from: 'clock', column: 'Rest', as: 'left in the quarter', values: {} }],
    spot: [{ from: 'spot', column: 'Wo', as: 'side and line', values: {} }],
    down: [{ from: 'column', column: 'Versuch', values: {} }],
    distance: [{ from: 'column', column: 'Noch', values: {} }],
    passResult: [
      {
        from: 'column',
        column: 'Ausgang',
        values: { daneben: 'incomplete', gefangen: 'complete', zurück: '' },
      },
    ],
    kickResult: [
      { from: 'column', column: 'Ausgang', values: { zurück: 'returned', daneben: '', gefangen: '' } },
    ],
    endSpot: [{ from: 'gained', column: 'Raum', values: {} }],
  },
  sides: {},
};
const columns = file.split('\r\n')[0]!.split(';');

const expected = [
  { kind: 'free kick', spot: 35, quarter: 1, clockSeconds: 860, offense: 'home', kickResult: 'returned' },
  {
    kind: 'run',
    spot: 24,
    quarter: 1,
    clockSeconds: 852,
    down: 1,
    distance: 10,
    offense: 'visitor',
    endSpot: 31,
  },
  {
    kind: 'pass',
    spot: 31,
    quarter: 1,
    clockSeconds: 820,
    down: 2,
    distance: 3,
    offense: 'visitor',
    passResult: 'incomplete',
  },
  {
    kind: 'pass',
    spot: 31,
    quarter: 1,
    clockSeconds: 813,
    down: 3,
    distance: 3,
    offense: 'visitor',
    passResult: 'complete',
    endSpot: 43,
  },
];

const log = async (): Promise<(Play & { id: string })[]> => {
  const { rows } = await database.pool.query(
    `SELECT * FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number`,
    [game.conferenceId, game.gameId],
  );
  expect(rows.map(({ number }) => number)).toEqual(rows.map((_, at) => at + 1));
  return rows.map((row) => ({ id: row.id, ...(JSON.parse(JSON.stringify(playOf(row))) as Play) }));
};
const plays = async () => (await log()).map(({ id: _, ...play }) => play);

const bring = (agent: SignedInAgent, text: string, query = '') =>
  agent.post(`/api/games/${game.gameId}/play-log${query}`).set('content-type', 'text/csv').send(text);

const keep = async (name = 'Our statistics crew') =>
  (await coordinator.post('/api/log-mappings').send({ name, columns, mapping }).expect(200)).body
    .id as string;

describe('by the API', () => {
  it('tells columns and what is undecided, knows a kept mapping again by the columns, and keeps nothing on a check', async () => {
    const first = await bring(coordinator, file, '?check=true').expect(200);
    expect(first.body).toMatchObject({ applied: false, mappingId: null, plays: [], logged: 0 });
    expect(first.body.columns[7]).toEqual({ column: 'Was', samples: ['Anstoß', 'Lauf', 'Wurf', 'Pause'] });
    expect(first.body.inTheWay).toMatch(/undecided/);
    await bring(coordinator, file).expect(422);

    const mappingId = await keep();
    const again = await bring(observer, file, '?check=true').expect(200);
    expect(again.body).toMatchObject({ mappingId, added: 4, skipped: 1, undecided: [], inTheWay: null });
    expect(await plays()).toEqual([]);
    // The same columns in another order.
    const turned = file
      .split('\r\n')
      .map((line) => line.split(';').reverse().join(';'))
      .join('\r\n');
    await bring(observer, turned).expect(200);
    expect(await plays()).toEqual(expected);
  });

  it('names row, column and fix of what a kept mapping does not know, and keeps nothing of the file', async () => {
    await keep();
    const answer = await bring(coordinator, file.replace('Lauf', 'Schub')).expect(422);
    expect(answer.body.errors).toEqual([
      { field: 'line 3, Was', message: expect.stringContaining('“Schub” is not yet said to mean anything') },
    ]);
    expect(await plays()).toEqual([]);
  });

  it('fills in what nobody logged and keeps plays and marks where they are when a log is there', async () => {
    await keep();
    await bring(coordinator, file.split('\r\n').slice(0, 3).join('\r\n')).expect(200);
    const before = await log();
    const reportId = randomUUID();
    await database.pool.query(
      `INSERT INTO report (conference_id, id, season_id, game_id, observer_id) VALUES ($1, $2, $3, $4, $5)`,
      [game.conferenceId, reportId, game.seasonId, game.gameId, game.observerId],
    );
    await database.pool.query(
      `INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding, comment)
       VALUES ($1, gen_random_uuid(), $2, $3, $4, 'umpire', 'everybodys-duty', 'missed', 'As I saw it.')`,
      [game.conferenceId, reportId, before[1]!.id, game.crew.umpire],
    );
    // The observer put in a play, corrected a gain and cleared a distance.
    await database.pool.query('UPDATE play SET number = 3 WHERE conference_id = $1 AND id = $2', [
      game.conferenceId,
      before[1]!.id,
    ]);
    await database.pool.query(
      `UPDATE play SET facts = facts || '{"endSpot": 30}', distance = NULL WHERE conference_id = $1 AND id = $2`,
      [game.conferenceId, before[1]!.id],
    );
    await database.pool.query(
      `INSERT INTO play (conference_id, game_id, number, kind, spot, quarter, clock_seconds, facts)
       VALUES ($1, $2, 2, 'no snap', 40, 1, 856, '{}')`,
      [game.conferenceId, game.gameId],
    );
    const check = await bring(observer, file, '?check=true').expect(200);
    expect(check.body).toMatchObject({ logged: 3, added: 2, changed: 1, onlyInLog: 1, differing: 1 });
    await bring(observer, file).expect(200);
    const after = await log();
    expect(after.map(({ kind, endSpot }) => [kind, endSpot])).toEqual([
      ['free kick', undefined],
      ['no snap', undefined],
      ['run', 30],
      ['pass', undefined],
      ['pass', 43],
    ]);
    expect(after[2]).toMatchObject({ id: before[1]!.id, distance: 10 });
    const { rows } = await database.pool.query(
      'SELECT play_id AS "playId" FROM observation WHERE conference_id = $1 AND removed_at IS NULL',
      [game.conferenceId],
    );
    expect(rows).toEqual([{ playId: before[1]!.id }]);
    await bring(observer, file, '?right=file').expect(200);
    expect((await log())[2]).toMatchObject({ id: before[1]!.id, endSpot: 31 });
    const nothing = await bring(observer, file, '?right=file').expect(200);
    expect(nothing.body).toMatchObject({ added: 0, changed: 0 });
  });

  it('belongs to the coordinator, with a reason, once a report is filed, and recounts it', async () => {
    await keep();
    await bring(coordinator, file).expect(200);
    await database.pool.query(
      `INSERT INTO report (conference_id, season_id, game_id, observer_id, state, filed_at, rubric_version_id)
       VALUES ($1, $2, $3, $4, 'filed', now(), $5)`,
      [game.conferenceId, game.seasonId, game.gameId, game.secondObserverId, game.rubricVersionId],
    );
    const more = `${file}\r\n18;1;13:00;Visitors;Visitors 43;1;10;Lauf;;2`;
    const refused = await bring(observer, more).expect(409);
    expect(refused.body.detail).toContain('ask the coordinator');
    expect((await bring(coordinator, more).expect(409)).body.detail).toContain('Give the reason');
    const done = await bring(coordinator, more, '?reason=The+film+has+one+more').expect(200);
    expect(done.body.added).toBe(1);
    expect(done.body.recounted).toHaveLength(1);
    const { rows } = await database.pool.query(
      `SELECT action, reason, after FROM audit_entry WHERE conference_id = $1 ORDER BY number DESC LIMIT 1`,
      [game.conferenceId],
    );
    expect(rows[0]).toMatchObject({ action: 'play log brought in', reason: 'The film has one more' });
    expect(rows[0].after).toMatchObject({ mapping: 'Our statistics crew', added: 1 });
  });

  it('keeps mappings for the conference only, by a name each, with every change in the trail', async () => {
    const id = await keep();
    expect(await keep()).toBe(id);
    const other = await keep('Another');
    const taken = await coordinator
      .put(`/api/log-mappings/${other}`)
      .send({ name: 'Our statistics crew', columns, mapping })
      .expect(409);
    expect(taken.body.errors).toEqual([expect.objectContaining({ field: 'name' })]);
    await coordinator
      .put(`/api/log-mappings/${other}`)
      .send({ name: 'Renamed', columns, mapping })
      .expect(200);
    await coordinator.delete(`/api/log-mappings/${other}`).expect(200);
    await coordinator.get(`/api/log-mappings/${other}`).expect(404);
    await observer.get('/api/log-mappings').expect(403);
    const stranger = await oneGame(database.pool, []);
    const elsewhere = await inSessionOf(app, {
      conferenceId: stranger.conferenceId,
      personId: stranger.coordinatorId,
    });
    await elsewhere.get(`/api/log-mappings/${id}`).expect(404);
    expect((await elsewhere.get('/api/log-mappings').expect(200)).body).toEqual([]);
    await bring(elsewhere, file).expect(404);
    const { rows } = await database.pool.query(
      `SELECT action FROM audit_entry WHERE conference_id = $1 ORDER BY number`,
      [game.conferenceId],
    );
    expect(rows.map(({ action }) => action)).toEqual([
      'log mapping kept',
      'log mapping kept',
      'log mapping changed',
      'log mapping deleted',
    ]);
  });

  it('reads no table out of what is none, and asks for fewer rows than a season has', async () => {
    expect((await bring(coordinator, '').expect(422)).body.detail).toContain('empty');
    const long = ['kind,spot', ...Array.from({ length: 600 }, () => 'run,35')].join('\n');
    expect((await bring(coordinator, long).expect(422)).body.detail).toContain('more than a game has');
  });
});

describe('by an import of files', () => {
  const send = (name: string, text: string, query = '') =>
    coordinator
      .post(`/api/imports/plays?fileName=${name}${query}`)
      .set('content-type', 'text/csv')
      .send(text);

  it('is read by what is kept for its columns, for the game that its name tells', async () => {
    await send('plays-week-1-home.csv', file).expect(422);
    await keep();
    const nowhere = await send('plays-week-9.csv', file).expect(422);
    expect(nowhere.body.outcome.problems[0].problem).toBe('The name of the file tells no game.');
    const check = await send('plays-week-1-home.csv', file, '&check=true').expect(200);
    expect(check.body).toMatchObject({ applied: false, added: 4 });
    expect(await plays()).toEqual([]);
    const wrong = await send('plays-week-1-home.csv', file.replace('Lauf', 'Schub')).expect(422);
    expect(wrong.body.outcome.problems).toEqual([
      expect.objectContaining({ line: 3, column: 'Was', value: 'Schub' }),
    ]);
    const done = await send('Plays Week-1_Home.csv', file).expect(200);
    expect(done.body).toMatchObject({ applied: true, added: 4, changed: 0 });
    expect(done.body.notes[0].text).toContain('Read as “Our statistics crew”');
    expect(await plays()).toEqual(expected);
    const again = await send('plays-week-1-home.csv', file).expect(200);
    expect(again.body).toMatchObject({ added: 0, changed: 0, unchanged: 4 });
    // The form of plays.csv is read as ever.
    await send('plays.csv', 'game,play,kind,spot\nweek-1-home,1,free kick,35').expect(200);
  });
});

describe('by the page', () => {
  const upload = (agent: SignedInAgent, text: string) =>
    agent
      .post(`/games/${game.gameId}/log`)
      .attach('file', Buffer.from(text), { filename: 'spielzüge.csv', contentType: 'text/csv' });
  const at = (name: string) => String(columns.indexOf(name));

  it('asks what columns and texts mean, shows plays in words, keeps nothing before it is told to, then knows the file', async () => {
    const sent = await upload(observer, file).expect(303);
    const page = sent.headers.location as string;
    const empty = (await observer.get(page).expect(200)).text;
    expect(empty).toContain('Anstoß');
    expect(empty).toContain('None yet: say what the columns hold');

    const form: Record<string, string> = {
      headings: '1',
      headingsWere: '1',
      'f:kind:0:from': at('Was'),
      'f:spot:0:from': at('Wo'),
      'f:spot:0:as': 'side and line',
      'f:offense:0:from': at('Ball'),
      'f:quarter:0:from': at('Per'),
      'f:clockSeconds:0:from': at('Rest'),
      'f:clockSeconds:0:as': 'left in the quarter',
      'f:down:0:from': at('Versuch'),
      'f:distance:0:from': at('Noch'),
      'f:endSpot:0:from': at('Raum'),
      'f:endSpot:0:as': 'gained',
      order: 'column',
      orderColumn: at('Nr'),
    };
    const show = (more: Record<string, string>) =>
      observer
        .post(page)
        .type('form')
        .send({ ...form, ...more });
    const asked = (await show({ act: 'show' }).expect(200)).text;
    expect(asked).toContain('name="v:kind:7:lauf"');
    expect(asked).toContain('5 rows are undecided');
    const said = { 'v:kind:7:anstoß': 'free kick', 'v:kind:7:lauf': 'run', 'v:kind:7:wurf': 'pass' };
    const half = (await show({ act: 'show', ...said }).expect(200)).text;
    expect(half).toContain('1 row is undecided');
    const rule = { 'r:0:column': at('Was'), 'r:0:rule': 'leave out', 'r:0:texts': 'Pause' };
    const result = {
      'f:passResult:0:from': at('Ausgang'),
      [`v:passResult:${at('Ausgang')}:daneben`]: 'incomplete',
      [`v:passResult:${at('Ausgang')}:gefangen`]: 'complete',
      [`v:passResult:${at('Ausgang')}:zurück`]: 'unknown',
      'f:kickResult:0:from': at('Ausgang'),
      [`v:kickResult:${at('Ausgang')}:daneben`]: 'unknown',
      [`v:kickResult:${at('Ausgang')}:gefangen`]: 'unknown',
      [`v:kickResult:${at('Ausgang')}:zurück`]: 'returned',
    };
    const whole = (await show({ act: 'show', ...said, ...rule, ...result }).expect(200)).text;
    expect(whole).toContain('Q1 13:40, 2nd and 3 at own 31: pass');
    expect(whole).toContain('Bring in 4 plays');
    expect(await plays()).toEqual([]);

    const done = await show({ act: 'bring', name: 'Spielzüge', ...said, ...rule, ...result }).expect(200);
    expect(done.text).toContain('4 plays added');
    expect(await plays()).toEqual(expected);

    // Next time the columns are known, and the same file changes nothing.
    const next = (await upload(observer, file).expect(303)).headers.location as string;
    const known = (await observer.get(next).expect(200)).text;
    expect(known).toContain('read as “Spielzüge”');
    expect(known).toContain('<strong>0</strong> would be added, <strong>0</strong> changed');
    const list = (await coordinator.get('/log-mappings').expect(200)).text;
    expect(list).toContain('Spielzüge');
    expect(list).toContain('Kind of play from “Was”');
    expect(list).toMatch(/last changed [^<]* (CST|CDT)/);
  });

  it('changes, renames and deletes what is kept, without a file at hand', async () => {
    const id = await keep();
    const page = (await coordinator.get(`/log-mappings/${id}`).expect(200)).text;
    expect(page).toContain('name="v:kind:7:lauf"');
    const form: Record<string, string> = {
      act: 'keep',
      name: 'Crew of statistics',
      'f:kind:0:from': at('Was'),
    };
    const changed = {
      ...form,
      'v:kind:7:lauf': 'pass',
      'v:kind:7:wurf': 'pass',
      'v:kind:7:anstoß': 'free kick',
    };
    await coordinator
      .post(`/log-mappings/${id}`)
      .type('form')
      .send({ ...changed, name: ' ' })
      .expect(422);
    await coordinator.post(`/log-mappings/${id}`).type('form').send(changed).expect(303);
    const kept = (await coordinator.get(`/api/log-mappings/${id}`).expect(200)).body;
    expect(kept.name).toBe('Crew of statistics');
    expect(kept.mapping.facts).toEqual({
      kind: [{ from: 'column', column: 'Was', values: { lauf: 'pass', wurf: 'pass', anstoß: 'free kick' } }],
    });
    await coordinator.post(`/log-mappings/${id}/deletion`).expect(303);
    expect((await coordinator.get('/log-mappings').expect(200)).text).toContain('None yet');
  });

  it("takes a workbook of a whole season's plays, of which only this game's rows are taken, with fouls", async () => {
    const text = (value: string) => ({ value, type: String });
    const number = (value: number) => ({ value, type: Number });
    const rows = [
      ['Season of the league', '', '', '', '', '', '', ''].map(text),
      ['Day', 'Team', 'Play', 'Yard', 'Go', 'Flag', 'On', 'Then'].map(text),
      [number(1), text('HOM'), text('R'), number(-20), text('Goal'), text('Held'), text('VIS'), text('yes')],
      [number(1), text('VIS'), text('R'), number(5), text('Goal'), text('-'), text(''), text('')],
      [number(2), text('XYZ'), text('R'), number(-20), number(10), text('-'), text(''), text('')],
    ];
    const workbook = await writeExcelFile(rows).toBuffer();
    const sent = await observer
      .post(`/games/${game.gameId}/log`)
      .attach('file', workbook, {
        filename: 'league.xlsx',
        contentType: 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
      })
      .expect(303);
    const page = sent.headers.location as string;
    const show = (more: Record<string, string>) => observer.post(page).type('form').send(more);
    // Other headings are other columns: the page begins anew with them.
    const moved = (await show({ act: 'show', headings: '2', headingsWere: '1' }).expect(200)).text;
    expect(moved).toContain('<th scope="row">Yard</th>');
    const form = {
      headings: '2',
      headingsWere: '2',
      'r:0:column': '0',
      'r:0:rule': 'only',
      'r:0:texts': '1',
      'f:offense:0:from': '1',
      's:hom': 'home',
      's:vis': 'visitor',
      'f:kind:0:from': '2',
      'v:kind:2:r': 'run',
      'f:spot:0:from': '3',
      'f:spot:0:as': 'signed, minus own',
      'f:distance:0:from': '4',
      'v:distance:4:goal': 'goal',
      'f:fouls:0:from': '5',
      'v:fouls:5:held': 'holding',
      'v:fouls:5:-': 'none',
      'f:fouls:0:by': '6',
      'f:fouls:0:outcome': '7',
      'o:7:yes': 'accepted',
      'f:injury:0:from': '=no',
    };
    const asked = (await show({ ...form, act: 'show' }).expect(200)).text;
    expect(asked).toContain(
      '<strong>2</strong> plays, <strong>0</strong> undecided, <strong>1</strong> left out',
    );
    await show({ ...form, act: 'bring', name: 'League' }).expect(200);
    expect(await plays()).toEqual([
      {
        kind: 'run',
        spot: 20,
        offense: 'home',
        distance: 80,
        injury: false,
        fouls: [{ foul: 'holding', by: 'defense', outcome: 'accepted' }],
      },
      { kind: 'run', spot: 95, offense: 'visitor', distance: 5, injury: false, fouls: [] },
    ]);
  });

  it('tells what is wrong with a file, and that a file is not kept any more', async () => {
    expect((await upload(observer, '').expect(422)).text).toContain('The file is empty');
    const old = `/games/${game.gameId}/log/00000000-0000-4000-8000-000000000000`;
    expect((await observer.get(old).expect(404)).text).toContain('Choose it again');
  });
});
