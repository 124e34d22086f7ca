// @module-tag rest
import { spawn } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, expect, it } from 'vitest';
import { makeConference } from '../support/people.ts';
import { program } from '../support/program.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

let database: TestDatabase;
let folder: string;

beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());
beforeEach(async () => {
  folder = await mkdtemp(path.join(os.tmpdir(), 'crewmark-folder-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

/** Runs `npm run import` as a process of its own. */
async function run(...args: string[]): Promise<{ code: number | null; out: string; err: string }> {
  const script = [...program('server/imports/import-folder.ts'), ...args];
  return new Promise((resolve) => {
    const child = spawn(process.execPath, script, { env: { ...process.env, DATABASE_URL: database.url } });
    let out = '';
    let err = '';
    child.stdout.on('data', (chunk) => {
      out += chunk;
    });
    child.stderr.on('data', (chunk) => {
      err += chunk;
    });
    child.on('close', (code) => resolve({ code, out, err }));
  });
}

const venues = 'name,latitude,longitude,time zone\nOak Field,41.5,-93.5,America/Chicago\n';

it('imports what a folder holds, in order, and says in one sentence what is in the way', async () => {
  const nowhere = await run(path.join(folder, 'nothing'));
  expect([nowhere.code, nowhere.err]).toEqual([
    1,
    `The folder ${path.join(folder, 'nothing')} cannot be read (ENOENT).\n`,
  ]);
  const none = await run();
  expect([none.code, none.err]).toEqual([
    1,
    'Name one folder: npm run import -- FOLDER [--conference NAME] [--open-season NAME] [--check]\n',
  ]);

  await writeFile(path.join(folder, 'venues.csv'), venues);
  await writeFile(path.join(folder, 'teams.csv'), 'name,home venue\nOaks,Oak Field\n');
  await writeFile(path.join(folder, 'budget.csv'), 'a,b\n');
  const early = await run(folder);
  expect([early.code, early.err]).toEqual([
    1,
    'There is no conference yet; open one (npm run new-conference), then import.\n',
  ]);

  await makeConference(database.pool);
  const first = await run(folder);
  expect(first.out).toBe(
    [
      'budget.csv: not read, the name tells no kind of file (venues.csv, teams.csv, staff.csv, crews.csv, schedule.csv, working-crews.csv, plays.csv, observer-assignments.csv, official-facts.csv, clinic-attendance.csv)',
      'venues.csv: 1 added, 0 changed, 0 unchanged',
      'teams.csv: 1 added, 0 changed, 0 unchanged',
      '',
    ].join('\n'),
  );
  expect(first.code).toBe(0);

  await writeFile(path.join(folder, 'venues.csv'), `${venues}Elm Field,north,0,America/Chicago\n`);
  const second = await run(folder);
  expect(second.out.split('\n').slice(1)).toEqual([
    'venues.csv: nothing imported, 1 problem',
    '  line 3, latitude, "north": This is not a number written with a decimal point. Write degrees north with a decimal point, such as 41.62.',
    'teams.csv: not read, because a file before it was not imported',
    '',
  ]);
  expect(second.code).toBe(1);

  await writeFile(
    path.join(folder, 'venues.csv'),
    `${venues.replace('41.5', '41.6')}Elm Field,40,0,America/Chicago\n`,
  );
  const checked = await run(folder, '--check');
  expect(checked.out.split('\n').slice(1)).toEqual([
    'venues.csv: checked, nothing imported; it would be 1 added, 1 changed, 0 unchanged',
    'teams.csv: checked, nothing imported; it would be 0 added, 0 changed, 1 unchanged',
    '',
  ]);
  expect(checked.code).toBe(0);
  const wrongFlag = await run(folder, '--dates', 'backwards');
  expect([wrongFlag.code, wrongFlag.err]).toEqual([1, '--dates is one of: day-first, month-first.\n']);

  await writeFile(
    path.join(folder, 'schedule.csv'),
    'season;week;game;kickoff;home;visitor;venue\n2026;1;G1;9/5/2026 14:30;Oaks;Elms;Oak Field\n',
  );
  await writeFile(path.join(folder, 'teams.csv'), 'name\nOaks\nElms\n');
  const asked = await run(folder);
  expect(asked.out.split('\n').slice(-6)).toEqual([
    'schedule.csv: nothing imported, a question is open',
    '  read with semicolons between the columns, text in UTF-8',
    '  Are the dates written day first or month first? For example "9/5/2026 14:30". Say it by one of:',
    '    --dates day-first   Day first: May 9, 2026 at 14:30',
    '    --dates month-first   Month first: September 5, 2026 at 14:30',
    '',
  ]);
  expect(asked.code).toBe(1);
  expect((await run(folder, '--dates', 'month-first')).out).toContain('schedule.csv: 1 added, 0 changed');
});
