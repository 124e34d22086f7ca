// @module-tag long
import type { FastifyInstance } from 'fastify';
import request from 'supertest';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { buildApp } from '../../server/app.ts';
import { readConfig } from '../../server/config.ts';
import { makeConference, makePerson, type TestPerson } from '../support/people.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let app: FastifyInstance;
let coordinator: TestPerson;
let observer: TestPerson;
let cookie: string;
let csrf: string;

beforeAll(async () => {
  database = await testDatabase();
  app = await buildApp(database, readConfig({ LOG_LEVEL: 'silent' }));
  await app.ready();
});
afterAll(async () => {
  await app.close();
  await database.drop();
});
beforeEach(async () => {
  const conferenceId = await makeConference(database.pool);
  coordinator = await makePerson(database.pool, conferenceId, ['coordinator']);
  observer = await makePerson(database.pool, conferenceId, ['observer']);
  ({ cookie, csrf } = await signedIn(coordinator));
});

async function signedIn(person: TestPerson) {
  const token = await startSession(database.pool, person);
  const found = await findSession(database.pool, token);
  return { cookie: `crewmark_session=${token}`, csrf: found!.session.csrfToken };
}

const venues = 'name,latitude,longitude,time zone\nOak Field,41.5,-93.5,America/Chicago\n';
const teams = 'name,home venue\nOaks,Oak Field\n';

const send = (kind: string, body: string) =>
  request(app.server)
    .post(`/api/imports/${kind}`)
    .set('cookie', cookie)
    .set('x-csrf-token', csrf)
    .set('content-type', 'text/csv')
    .send(body);

describe('POST /api/imports/:kind', () => {
  it('imports a file and says what came of it', async () => {
    const first = await send('venues', venues);
    expect(first.status).toBe(200);
    expect(first.body).toMatchObject({
      kind: 'venues',
      applied: true,
      added: 1,
      changed: 0,
      unchanged: 0,
      problems: [],
    });
    expect((await send('venues', venues)).body).toMatchObject({ added: 0, changed: 0, unchanged: 1 });
  });

  it('answers with problem details (RFC 9457) that list every problem', async () => {
    const answer = await send(
      'venues',
      'name,latitude,longitude,time zone\nA,91,0,America/Chicago\n,0,0,Here\n',
    );
    expect(answer.status).toBe(422);
    expect(answer.headers['content-type']).toContain('application/problem+json');
    expect(answer.body).toMatchObject({
      status: 422,
      title: 'Unprocessable Entity',
      detail: 'Nothing was imported. venues.csv has 3 problems.',
    });
    expect(
      answer.body.outcome.problems.map((p: { line: number; column: string }) => [p.line, p.column]),
    ).toEqual([
      [2, 'latitude'],
      [3, 'name'],
      [3, 'time zone'],
    ]);
  });

  it('knows only the kinds there are, and wants CSV', async () => {
    expect((await send('players', venues)).status).toBe(400);
    const json = await request(app.server)
      .post('/api/imports/venues')
      .set('cookie', cookie)
      .set('x-csrf-token', csrf)
      .send({ a: 1 });
    expect(json.status).toBe(415);
  });

  it('is for the coordinator, with a token', async () => {
    const other = await signedIn(observer);
    const refused = await request(app.server)
      .post('/api/imports/venues')
      .set('cookie', other.cookie)
      .set('x-csrf-token', other.csrf)
      .set('content-type', 'text/csv')
      .send(venues);
    expect(refused.status).toBe(403);
    const forged = await request(app.server)
      .post('/api/imports/venues')
      .set('cookie', cookie)
      .set('content-type', 'text/csv')
      .send(venues);
    expect(forged.status).toBe(403);
    expect(
      (await database.pool.query('SELECT FROM venue WHERE conference_id = $1', [coordinator.conferenceId]))
        .rowCount,
    ).toBe(0);
  });

  it('is remembered in the audit trail, once for each file that changed something', async () => {
    await send('venues', venues);
    await send('venues', venues);
    const { rows } = await database.pool.query(
      `SELECT actor_id, action, after FROM audit_entry WHERE conference_id = $1 AND action = 'imported'`,
      [coordinator.conferenceId],
    );
    expect(rows).toEqual([
      {
        actor_id: coordinator.personId,
        action: 'imported',
        after: { kind: 'venues', fileName: 'venues.csv', added: 1, changed: 0, unchanged: 0, recounted: [] },
      },
    ]);
  });
});

const schedule = (kickoff: string) =>
  `season,week,game,kickoff,home,visitor,venue\n2026,1,G1,${kickoff},Oaks,Elms,Oak Field\n`;

async function putTeams() {
  await send('venues', venues);
  await send('teams', 'name\nOaks\nElms\n');
}

async function kickoffs(): Promise<string[]> {
  const { rows } = await database.pool.query<{ kickoff: string }>(
    `SELECT to_char(kickoff AT TIME ZONE 'America/Chicago', 'YYYY-MM-DD HH24:MI') AS kickoff
       FROM game WHERE conference_id = $1`,
    [coordinator.conferenceId],
  );
  return rows.map((row) => row.kickoff);
}

describe('what only the person can say', () => {
  it('is asked once for the file, and answered by a parameter', async () => {
    await putTeams();
    const asked = await send('schedule', schedule('9/5/2026 14:30'));
    expect(asked.status).toBe(422);
    expect(asked.body.detail).toBe(
      'Nothing was imported. Are the dates written day first or month first? Send dates=day-first or month-first.',
    );
    expect(asked.body.outcome.questions).toEqual([
      {
        name: 'dates',
        asks: 'Are the dates written day first or month first?',
        example: '9/5/2026 14:30',
        answers: [
          { answer: 'day-first', words: 'Day first: May 9, 2026 at 14:30' },
          { answer: 'month-first', words: 'Month first: September 5, 2026 at 14:30' },
        ],
        count: 1,
        lines: [2],
      },
    ]);
    expect(await kickoffs()).toEqual([]);
    const answered = await send('schedule?dates=month-first', schedule('9/5/2026 14:30'));
    expect(answered.body).toMatchObject({ applied: true, added: 1 });
    expect(answered.body.notes).toEqual([
      {
        text: 'Month first, as in “9/5/2026 14:30”, which was read as September 5, 2026 at 14:30.',
        lines: [2],
        count: 1,
      },
    ]);
    expect(await kickoffs()).toEqual(['2026-09-05 14:30']);
    const wrong = await send('schedule?dates=month-first', schedule('25/9/2026 14:30'));
    expect(wrong.body.outcome.problems).toMatchObject([
      { line: 2, column: 'kickoff', problem: 'This cannot be read as the others are: month first.' },
    ]);
    expect((await send('schedule?dates=backwards', schedule('9/5/2026 14:30'))).status).toBe(400);
  });

  it('is the side of left and right in a play log', async () => {
    await putTeams();
    await send('schedule', schedule('2026-09-05 14:30'));
    const plays = 'game,play,kind,spot,play side,motion\nG1,1,run,25,Left,none\nG1,2,run,30,right,middle\n';
    const asked = await send('plays', plays);
    expect(asked.body.outcome.questions).toMatchObject([
      { name: 'left', example: 'Left', count: 2, lines: [2, 3] },
    ]);
    const sides = async () => {
      const { rows } = await database.pool.query<{ side: string | null }>(
        `SELECT facts->>'playSide' AS side FROM play WHERE conference_id = $1 ORDER BY number`,
        [coordinator.conferenceId],
      );
      return rows.map((row) => row.side);
    };
    expect((await send('plays?left=line-judge-side', plays)).body.applied).toBe(true);
    expect(await sides()).toEqual(['line judge side', 'head linesman side']);
    expect((await send('plays?left=head-linesman-side', plays)).body.changed).toBe(2);
    expect(await sides()).toEqual(['head linesman side', 'line judge side']);
    expect((await send('plays?left=unknown', plays)).body.changed).toBe(2);
    expect(await sides()).toEqual([null, null]);
  });
});

describe('a check', () => {
  it('tells what would be added, changed and the same, and imports nothing', async () => {
    await send('venues', venues);
    const more = `${venues.replace('41.5', '41.6')}Elm Field,40,-90,America/New_York\n`;
    const checked = await send('venues?check=true', more);
    expect(checked.status).toBe(200);
    expect(checked.body).toMatchObject({ applied: false, fits: true, added: 1, changed: 1, unchanged: 0 });
    expect((await send('venues', venues)).body).toMatchObject({ added: 0, changed: 0, unchanged: 1 });
    const bad = await send('venues?check=true', venues.replace('41.5', 'north'));
    expect(bad.status).toBe(422);
    expect(bad.body.detail).toMatch(/^Nothing would be imported\. /);
    const { rows } = await database.pool.query(
      `SELECT action FROM audit_entry WHERE conference_id = $1 AND action = 'imported'`,
      [coordinator.conferenceId],
    );
    expect(rows).toHaveLength(1);
  });
});

describe('the import page', () => {
  const upload = () => request(app.server).post(`/import?csrf=${csrf}`).set('cookie', cookie);

  it('tells the formats and offers a file with the headings of each', async () => {
    const page = await request(app.server).get('/import').set('cookie', cookie);
    expect(page.status).toBe(200);
    expect(page.text).toContain('working-crews.csv');
    const file = await request(app.server).get('/import/venues.csv').set('cookie', cookie);
    expect(file.text).toBe('name,place,latitude,longitude,time zone\r\n');
    expect(file.headers['content-disposition']).toBe('attachment; filename="venues.csv"');
    const offered = /href="([^"]*venues\.csv[^"]*)"/.exec(page.text)![1]!;
    const marked = await request(app.server).get(offered).set('cookie', cookie);
    expect(marked.text).toBe(`\uFEFF${file.text}`); // by which spreadsheets know UTF-8
    expect((await request(app.server).get('/import/players.csv').set('cookie', cookie)).status).toBe(404);
  });

  it('takes several files in any order', async () => {
    const answer = await upload()
      .attach('files', Buffer.from(teams), 'teams.csv')
      .attach('files', Buffer.from(venues), 'venues.csv');
    expect(answer.status).toBe(200);
    expect(answer.text.indexOf('venues.csv')).toBeLessThan(answer.text.indexOf('teams.csv'));
    expect(answer.text).toContain('1 added, 0 changed, 0 unchanged');
    const page = await request(app.server).get('/import').set('cookie', cookie);
    expect(page.text).toContain('Recent imports');
    // When it was, where the conference is: its zone's standard or daylight time (IANA Time Zone Database).
    expect(page.text.split('Recent imports')[1]).toMatch(/\d [AP]M (CST|CDT)</);
  });

  it('takes the kind that was chosen, whatever the file is called', async () => {
    const answer = await upload()
      .field('kind', 'venues')
      .attach('files', Buffer.from(venues), 'export (3).csv');
    expect(answer.status).toBe(200);
    expect(answer.text).toContain('export (3).csv');
  });

  it('lists problems, escapes what the file says, and does not read what may refer to it', async () => {
    const bad = 'name,latitude,longitude,time zone\n<script>alert(1)</script>,x,0,America/Chicago\n';
    const answer = await upload()
      .attach('files', Buffer.from(bad), 'venues.csv')
      .attach('files', Buffer.from(teams), 'teams.csv');
    expect(answer.status).toBe(422);
    expect(answer.text).toContain('Nothing of venues.csv was imported.');
    expect(answer.text).toContain('This is not a number written with a decimal point.');
    expect(answer.text).toMatch(/Not read, because .*teams\.csv/s);
    expect(answer.text).not.toContain('<script>alert');
  });

  it('counts the problems', async () => {
    const bad = 'name,latitude,longitude,time zone\nA,x,0,America/Chicago\nB,0,y,America/Chicago\n';
    const two = await upload().attach('files', Buffer.from(bad), 'venues.csv');
    expect(two.text).toContain('It has 2 problems; put them right');
    const one = await upload().attach('files', Buffer.from(bad.replace('y', '1')), 'venues.csv');
    expect(one.text).toContain('It has one problem; put it right');
    const many = `${bad}${'C,z,0,America/Chicago\n'.repeat(300)}`;
    const cut = await upload().attach('files', Buffer.from(many), 'venues.csv');
    expect(cut.text).toContain('It has 302 problems');
    expect(cut.text).toContain('<summary>301 lines</summary>2 and 4 to 303');
    expect(cut.text).toContain('<code>z</code> (300 lines: 4 to 303)');
  });

  it('checks files that refer to each other, and imports them from there', async () => {
    const checked = await upload()
      .field('act', 'check')
      .attach('files', Buffer.from(teams), 'teams.csv')
      .attach('files', Buffer.from(venues), 'venues.csv');
    expect(checked.status).toBe(200);
    expect(checked.text).toContain('Nothing is imported yet');
    expect(checked.text.match(/would be imported: 1 added, 0 changed, 0 unchanged/g)).toHaveLength(2);
    const action = /action="(\/import\/uploads\/[^"]+)"/.exec(checked.text)?.[1] ?? '';
    const goOn = (as = cookie, token = csrf) =>
      request(app.server).post(action).set('cookie', as).type('form').send({ _csrf: token, act: 'import' });
    const colleague = await makePerson(database.pool, coordinator.conferenceId, ['coordinator']);
    const other = await signedIn(colleague);
    expect((await goOn(other.cookie, other.csrf)).status).toBe(404);
    const imported = await goOn();
    expect(imported.status).toBe(200);
    expect(imported.text.match(/is imported: 1 added/g)).toHaveLength(2);
    const again = await goOn();
    expect(again.status).toBe(404);
    expect(again.text).toContain('Choose them again');
    const { rows } = await database.pool.query('SELECT FROM import_upload_piece WHERE conference_id = $1', [
      coordinator.conferenceId,
    ]);
    expect(rows).toEqual([]);
  });

  it('asks with a form, keeps the file meanwhile, and takes the answer', async () => {
    await putTeams();
    const asked = await upload().attach('files', Buffer.from(schedule('9/5/2026 14:30')), 'schedule.csv');
    expect(asked.status).toBe(422);
    expect(asked.text).toContain('Are the dates written day first or month first?');
    expect(asked.text).toContain('Day first: May 9, 2026 at 14:30');
    const action = /action="(\/import\/uploads\/[^"]+)"/.exec(asked.text)?.[1] ?? '';
    const answer = (act: string) =>
      request(app.server)
        .post(action)
        .set('cookie', cookie)
        .type('form')
        .send({ _csrf: csrf, act, 'dates-0': 'day-first' });
    const checked = await answer('check');
    expect(checked.text).toContain('would be imported: 1 added');
    expect(checked.text).toContain('<input type="hidden" name="dates-0" value="day-first">');
    expect(await kickoffs()).toEqual([]);
    expect((await answer('import')).text).toContain('is imported: 1 added');
    expect(await kickoffs()).toEqual(['2026-05-09 14:30']);
  });

  it('says so when a name tells nothing, or no file was chosen', async () => {
    const strange = await upload().attach('files', Buffer.from(venues), 'players.csv');
    expect(strange.status).toBe(422);
    expect(strange.text).toContain('its name does not tell what it holds');
    const none = await upload().field('kind', 'venues');
    expect(none.status).toBe(422);
    expect(none.text).toContain('No file was chosen');
  });
});

describe('POST /import', () => {
  it('tells that a form did not arrive whole, rather than failing over it', async () => {
    const answer = await request(app.server)
      .post('/import')
      .set('cookie', cookie)
      .set('x-csrf-token', csrf)
      .set('content-type', 'multipart/form-data; boundary=x')
      .send('--x\r\n\r\n');
    expect(answer.status).toBe(400);
    expect(answer.text).toContain('the form broke off or is not one');
  });
});
