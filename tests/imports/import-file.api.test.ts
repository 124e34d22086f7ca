// @module-tag rest
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { type DemoFile, demoFiles } from '../../seed-demo/files.ts';
import { fileKindNamed, fileKindOfFileName, fileKinds } from '../../server/imports/files/index.ts';
import { type AfterImport, importFile } from '../../server/imports/import-file.ts';
import type { ImportOutcome } from '../../server/imports/import-outcome.ts';
import { demoSeason } from '../support/demo-season.ts';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';
import { clinicOf2031 } from './clinic-of-2031.ts';

let database: TestDatabase;
let conferenceId: string;
let season: DemoFile[];

beforeAll(async () => {
  database = await testDatabase();
  season = demoFiles(demoSeason()).filter(({ name }) => fileKindNamed(name) !== undefined);
});
afterAll(() => database.drop());

let number = 0;
beforeEach(async () => {
  number += 1;
  const { rows } = await database.pool.query<{ id: string }>(
    'INSERT INTO conference (slug, name) VALUES ($1, $2) RETURNING id',
    [`test-${number}`, `Test conference ${number}`],
  );
  conferenceId = rows[0]?.id ?? '';
});

async function* inPieces(text: string) {
  const bytes = Buffer.from(text);
  for (let at = 0; at < bytes.length; at += 10_000) yield bytes.subarray(at, at + 10_000);
}

function put(name: string, text: string, after?: AfterImport): Promise<ImportOutcome> {
  const kind = fileKindNamed(name);
  if (kind === undefined) throw new Error(`No kind ${name}.`);
  const by = { conferenceId, personId: null };
  return importFile(database.pool, by, { kind, fileName: `${name}.csv`, open: () => inPieces(text) }, after);
}

async function putSeason(): Promise<ImportOutcome[]> {
  const outcomes: ImportOutcome[] = [];
  for (const { name, text } of season) outcomes.push(await put(name, text));
  return outcomes;
}

const fileOf = (name: string) => season.find((file) => file.name === name)?.text ?? '';
const summary = ({ added, changed, unchanged, problems }: ImportOutcome) => ({
  added,
  changed,
  unchanged,
  problems,
});

async function count(table: string): Promise<number> {
  const { rows } = await database.pool.query<{ count: number }>(
    `SELECT count(*)::int AS count FROM ${table} WHERE conference_id = $1`,
    [conferenceId],
  );
  return rows[0]?.count ?? -1;
}

/** Everything an import may write, as text, to see that nothing else moved. */
async function everything(): Promise<string> {
  const tables = [
    'venue',
    'team',
    'person',
    'person_role',
    'season',
    'crew',
    'crew_member',
    'game',
    'working_crew_member',
    'play',
    'observer_assignment',
  ];
  const parts: string[] = [];
  for (const table of tables) {
    const { rows } = await database.pool.query<{ row: string }>(
      `SELECT t::text AS row FROM ${table} t WHERE conference_id = $1 ORDER BY 1`,
      [conferenceId],
    );
    parts.push(table, ...rows.map(({ row }) => row));
  }
  return parts.join('\n');
}

const small = {
  venues:
    'name,place,latitude,longitude,time zone\nOak Field,Oakton,41.5,-93.5,America/Chicago\nElm Field,,40,-90,America/New_York\n',
  teams: 'name,home venue\nOaks,Oak Field\nElms,Elm Field\n',
  staff:
    'email,given name,family name,roles\nboss@demo.example,Bo,Ss,coordinator\nann@demo.example,Ann,One,official\nben@demo.example,Ben,Two,official;observer\ncat@demo.example,Cat,Three,observer\n',
  crews: 'season,crew,position,email\n2031,Ash,referee,ann@demo.example\n2031,Ash,umpire,ben@demo.example\n',
  schedule:
    'season,week,game,kickoff,home,visitor,venue,crew\n2031,1,G1,2031-09-06 19:00,Oaks,Elms,Oak Field,Ash\n',
  'working-crews': 'game,position,email\nG1,referee,ann@demo.example\nG1,umpire,ben@demo.example\n',
  plays:
    'game,play,kind,spot,down,distance,fouls,pile,note\nG1,1,free kick,35,,,none,no,\nG1,2,run,25,1,10,holding / offense / umpire / accepted,yes,"Up the middle, 3"\n',
  'observer-assignments': 'game,email,how,answer\nG1,cat@demo.example,film,accepted\n',
  'official-facts':
    'season,email,years of service,rules test,fitness passed,fitness until,good standing,standing reason,available,days away,postseason games lately,tied to\n2031,ann@demo.example,12,91.5,yes,2032-06-30,no,Dues unpaid,yes,2031-12-06; 2031-12-13,1,Oaks; Elms\n2031,ben@demo.example,,,,,,,,,,\n',
  'clinic-attendance':
    'season,clinic,day,email,attendance,note\n2031,Rules,2031-04-12,ann@demo.example,excused,Ill\n2031,Rules,2031-04-12,ben@demo.example,,\n',
} as const;

async function putSmall(): Promise<void> {
  for (const [name, text] of Object.entries(small)) {
    if (name === 'clinic-attendance') await clinicOf2031(database.pool, conferenceId, 'Rules');
    expect((await put(name, text)).problems, name).toEqual([]);
  }
}

const openAnother = () =>
  database.pool.query("INSERT INTO season (conference_id, name) VALUES ($1, '2032')", [conferenceId]);

describe('a whole season', () => {
  it('goes in, in order, and again without changing anything', { tags: ['long'] }, async () => {
    const first = await putSeason();
    // The demo season has no facts of officials and no clinics.
    expect([...first.map(({ kind }) => kind), 'official-facts', 'clinic-attendance']).toEqual(
      fileKinds.map((kind) => kind.format.name),
    );
    for (const outcome of first) {
      expect(outcome.problems).toEqual([]);
      expect(outcome).toMatchObject({ applied: true, added: outcome.rows, changed: 0, unchanged: 0 });
    }
    expect([await count('game'), await count('crew'), await count('working_crew_member')]).toEqual([
      55, 8, 400,
    ]);
    const before = await everything();
    for (const outcome of await putSeason()) {
      expect(summary(outcome)).toEqual({ added: 0, changed: 0, unchanged: outcome.rows, problems: [] });
      expect(outcome.playLogsChanged).toEqual([]);
    }
    expect(await everything()).toBe(before);
    expect(await count('import_file')).toBe(16);
  });

  it('refuses a kickoff outside the weeks of its season, with the row and the fix', async () => {
    await putSmall();
    await database.pool.query(
      `INSERT INTO season_week (conference_id, season_id, number, first_day, last_day)
       SELECT conference_id, id, 1, '2031-09-01', '2031-09-07' FROM season WHERE conference_id = $1`,
      [conferenceId],
    );
    expect((await put('schedule', small.schedule)).problems).toEqual([]);
    const { problems } = await put('schedule', small.schedule.replace('2031-09-06', '2030-09-06'));
    expect(problems).toMatchObject([
      {
        line: 2,
        problem: 'Season 2031 lasts from 2031-09-01 to 2031-09-07; this day is outside its weeks.',
        fix: 'Correct the date, or add the week on the Seasons page.',
      },
    ]);
  });

  it('places each kickoff in its venue’s time zone', async () => {
    await putSmall();
    const { rows } = await database.pool.query<{ kickoff: Date }>(
      'SELECT kickoff FROM game WHERE conference_id = $1',
      [conferenceId],
    );
    // 19:00 in Chicago in September is five hours behind UTC (IANA Time Zone Database).
    expect(rows[0]?.kickoff.toISOString()).toBe('2031-09-07T00:00:00.000Z');
  });
});

describe('a changed row updates, and only that row', () => {
  beforeEach(putSmall);

  it.each([
    ['venues', '41.5', '41.6'],
    ['teams', 'Elms,Elm Field', 'Elms,Oak Field'],
    ['staff', 'Ben,Two,official;observer', 'Ben,Two,official'],
    ['staff', 'Ann,One', 'Anna,One'],
    ['crews', 'umpire,ben', 'umpire,ann'],
    ['schedule', '19:00', '18:00'],
    ['working-crews', 'umpire,ben', 'center judge,ben'],
    ['plays', 'run,25', 'pass,25'],
    ['plays', 'yes,"Up', 'no,"Up'],
    ['plays', 'holding /', 'facemask /'],
    ['observer-assignments', 'accepted', 'declined'],
    ['official-facts', '12,91.5', '13,91.5'],
    ['official-facts', 'Dues unpaid', 'Dues paid'],
    ['official-facts', '; 2031-12-13', ''],
    ['official-facts', 'Oaks; Elms', 'Oaks'],
    ['clinic-attendance', 'excused', 'missed'],
    ['clinic-attendance', 'Ill', 'Ill for a week'],
  ] as const)('%s: %s becomes %s', async (name, from, to) => {
    const text = small[name].replace(from, to);
    expect(text).not.toBe(small[name]);
    const outcome = await put(name, text);
    if (name === 'crews') {
      // The same official can't have both seats.
      expect(outcome.problems[0]?.problem).toBe('Line 2 has the same official in the same crew.');
      return;
    }
    if (name === 'working-crews') {
      expect(outcome.problems[0]).toMatchObject({
        problem: 'This official already worked the game as umpire.',
        line: 3,
      });
      return;
    }
    expect(outcome.problems).toEqual([]);
    expect({ added: outcome.added, changed: outcome.changed, unchanged: outcome.unchanged }).toEqual({
      added: 0,
      changed: 1,
      unchanged: outcome.rows - 1,
    });
    const back = await put(name, small[name]);
    expect(back).toMatchObject({ added: 0, changed: 1 });
  });

  it('lets two officials change places', async () => {
    const swapped = small['working-crews'].replace('ann', 'x').replace('ben', 'ann').replace('x@', 'ben@');
    expect(summary(await put('working-crews', swapped))).toEqual({
      added: 0,
      changed: 2,
      unchanged: 0,
      problems: [],
    });
    const crews = small.crews.replace('ann', 'x').replace('ben', 'ann').replace('x@', 'ben@');
    expect(summary(await put('crews', crews))).toEqual({ added: 0, changed: 2, unchanged: 0, problems: [] });
  });

  it('keeps what a left-out column says, and empties what an empty cell says', async () => {
    await put('venues', 'name,latitude,longitude,time zone\nOak Field,1,2,America/Chicago\n');
    await put('plays', 'game,play,kind,spot,pile\nG1,2,run,25,\n');
    const venue = await database.pool.query(
      'SELECT place, latitude FROM venue WHERE conference_id = $1 AND name = $2',
      [conferenceId, 'Oak Field'],
    );
    expect(venue.rows).toEqual([{ place: 'Oakton', latitude: 1 }]);
    const play = await database.pool.query(
      'SELECT down, facts, note, version FROM play WHERE conference_id = $1 AND number = 2',
      [conferenceId],
    );
    expect(play.rows).toEqual([
      {
        down: 1,
        facts: { fouls: [{ foul: 'holding', by: 'offense', reportedBy: 'umpire', outcome: 'accepted' }] },
        note: 'Up the middle, 3',
        version: 2,
      },
    ]);
  });

  it('tells which games have another play log now', async () => {
    const outcome = await put('plays', small.plays.replace('run,25', 'run,26'));
    const { rows } = await database.pool.query<{ id: string; play_log_revision: string }>(
      'SELECT id, play_log_revision FROM game WHERE conference_id = $1',
      [conferenceId],
    );
    expect(outcome.playLogsChanged).toEqual([rows[0]?.id]);
    expect(rows[0]?.play_log_revision).toBe('3');
  });

  it('does not undo an answer that a file says nothing about', async () => {
    expect(await put('observer-assignments', 'game,email,how\nG1,cat@demo.example,film\n')).toMatchObject({
      unchanged: 1,
    });
    const { rows } = await database.pool.query(
      'SELECT answer FROM observer_assignment WHERE conference_id = $1',
      [conferenceId],
    );
    expect(rows).toEqual([{ answer: 'accepted' }]);
  });

  it('leaves attendance that an empty cell says nothing about, and says who noted the rest', async () => {
    const head = 'season,clinic,day,email,attendance,note\n';
    const noted = async () => {
      const { rows } = await database.pool.query(
        `SELECT p.given_name AS who, a.state, a.note, a.noted_at IS NOT NULL AS noted
           FROM clinic_attendance a JOIN person p ON p.conference_id = a.conference_id AND p.id = a.official_id
          WHERE a.conference_id = $1 ORDER BY 1`,
        [conferenceId],
      );
      return rows;
    };
    const before = [
      { who: 'Ann', state: 'excused', note: 'Ill', noted: true },
      { who: 'Ben', state: 'open', note: '', noted: false },
    ];
    expect(await noted()).toEqual(before);
    const row = (who: string, rest: string) => `2031,Rules,2031-04-12,${who}@demo.example,${rest}\n`;
    expect(await put('clinic-attendance', head + row('ann', ',') + row('ben', 'attended,'))).toMatchObject({
      ...{ added: 1, changed: 0, unchanged: 1 },
    });
    expect(await noted()).toEqual([before[0], { who: 'Ben', state: 'attended', note: '', noted: true }]);
    // What was noted by mistake is taken back by the word for it.
    expect(await put('clinic-attendance', head + row('ben', 'open,'))).toMatchObject({ changed: 1 });
    expect((await noted())[1]).toMatchObject({ state: 'open' });
  });

  it.each([
    ['4/12/2031', '4/25/2031'],
    ['12.4.2031', '25.4.2031'],
    ['4/12/2031 0:00', '4/25/2031 0:00'],
    ['12 Apr 2031', '25 April 2031'],
    ['47950', '47963'],
  ])(
    'reads attendance whose days a spreadsheet wrote anew as it saved the sheet: %s',
    async (twelfth, later) => {
      await clinicOf2031(database.pool, conferenceId, 'Mechanics', '2031-04-25');
      const sheet = `season,clinic,day,email,attendance,note\n2031,Rules,${twelfth},ann@demo.example,missed,\n2031,Mechanics,${later},ben@demo.example,attended,\n`;
      expect(await put('clinic-attendance', sheet)).toMatchObject({
        ...{ applied: true, added: 1, changed: 1, problems: [], questions: [] },
      });
    },
  );

  it('reads days of facts of officials that a spreadsheet wrote anew', async () => {
    const anew = small['official-facts']
      .replace('2032-06-30', '6/30/2032')
      .replace('2031-12-13', '13 Dec 2031');
    expect(await put('official-facts', anew)).toMatchObject({
      applied: true,
      added: 0,
      changed: 0,
      problems: [],
    });
  });

  it('asks which way days of clinics are written where they leave that open', async () => {
    const sheet = 'season,clinic,day,email,attendance,note\n2031,Rules,4/12/2031,ann@demo.example,missed,\n';
    const asked = await put('clinic-attendance', sheet);
    expect(asked).toMatchObject({ applied: false, problems: [] });
    expect(asked.questions.map(({ name, example, answers }) => [name, example, answers])).toEqual([
      [
        'dates',
        '4/12/2031',
        [
          { answer: 'day-first', words: 'Day first: December 4, 2031' },
          { answer: 'month-first', words: 'Month first: April 12, 2031' },
        ],
      ],
    ]);
  });

  it('waits for whoever is noting attendance on the clinic’s page, and sees what they noted', async () => {
    const client = await database.pool.connect();
    const head = 'season,clinic,day,email,attendance,note\n';
    try {
      await client.query('BEGIN');
      // As the page holds a clinic while it looks whether anything was noted since it was shown.
      await client.query('SELECT FROM clinic WHERE conference_id = $1 FOR NO KEY UPDATE', [conferenceId]);
      let done = false;
      const imported = put(
        'clinic-attendance',
        `${head}2031,Rules,2031-04-12,ben@demo.example,missed,\n`,
      ).then((outcome) => {
        done = true;
        return outcome;
      });
      const isHeld = async () => {
        const { rows } = await client.query<{ held: boolean }>(
          `SELECT pg_sleep(0.05), EXISTS (SELECT FROM pg_stat_activity WHERE datname = current_database()
                                            AND wait_event_type = 'Lock' AND query LIKE '%FROM clinic %') AS held`,
        );
        return rows[0]!.held;
      };
      while (!done && !(await isHeld()));
      expect(done).toBe(false);
      await client.query(
        `UPDATE clinic_attendance a SET state = 'attended' FROM person p
          WHERE p.conference_id = $1 AND p.id = a.official_id AND p.given_name = 'Ben' AND a.conference_id = $1`,
        [conferenceId],
      );
      await client.query('COMMIT');
      // Noted before: the file changes it, and adds nothing.
      expect(await imported).toMatchObject({ applied: true, added: 0, changed: 1 });
    } finally {
      await client.query('ROLLBACK');
      client.release();
    }
  });

  it('confirms the working crew', async () => {
    const { rows } = await database.pool.query(
      'SELECT crew_confirmed_at FROM game WHERE conference_id = $1',
      [conferenceId],
    );
    expect(rows[0]?.crew_confirmed_at).toBeInstanceOf(Date);
  });
});

describe('all or nothing, with every problem listed', () => {
  beforeEach(putSmall);

  it.each([
    [
      'teams',
      'name,home venue\nFirs,Oak Field\nYews,Nowhere\n',
      3,
      'home venue',
      'Nowhere',
      'There is no venue of this name.',
    ],
    [
      'teams',
      'name,home venue\nFirs,\nYews,\nFirs,Oak Field\n',
      4,
      'name',
      'Firs',
      'Line 2 has the same team.',
    ],
    [
      'venues',
      'name,latitude,longitude,time zone\nA,91,0,America/Chicago\n',
      2,
      'latitude',
      '91',
      'This is outside -90 to 90.',
    ],
    [
      'venues',
      'name,latitude,longitude,time zone\nA,1,0,Central\n',
      2,
      'time zone',
      'Central',
      'This is not an IANA time zone name.',
    ],
    [
      'clinic-attendance',
      'season,clinic,day,email,attendance,note\n2031,Ruels,2031-04-12,ann@demo.example,attended,\n',
      2,
      'clinic',
      'Ruels',
      'Season 2031 has no clinic of this title.',
    ],
    [
      'clinic-attendance',
      'season,clinic,day,email,attendance,note\n2031,Rules,2031-04-13,ann@demo.example,attended,\n',
      2,
      'day',
      '2031-04-13',
      'This clinic was not on this day, but on 2031-04-12.',
    ],
    [
      'clinic-attendance',
      'season,clinic,day,email,attendance,note\n2031,Rules,2031-04-12,cat@demo.example,attended,\n',
      2,
      'email',
      'cat@demo.example',
      'Nobody of this e-mail address was asked to this clinic.',
    ],
    [
      'clinic-attendance',
      'season,clinic,day,email,attendance,note\n2031,Rules,2031-04-12,ann@demo.example,there,\n',
      2,
      'attendance',
      'there',
      'This is not one of the choices.',
    ],
    [
      'clinic-attendance',
      'season,clinic,day,email,attendance,note\n2032,Rules,2031-04-12,ann@demo.example,attended,\n',
      2,
      'season',
      '2032',
      'There is no season of this name; there is 2031.',
    ],
    [
      'staff',
      'email,given name,family name,roles\nnobody,A,B,official\n',
      2,
      'email',
      'nobody',
      'This is not an e-mail address.',
    ],
    [
      'staff',
      'email,given name,family name,roles\nA@demo.example,A,B,official\na@demo.example,A,C,official\n',
      3,
      'email',
      'a@demo.example',
      'Line 2 has the same person.',
    ],
    [
      'staff',
      'email,given name,family name,roles\na@demo.example,A,B,umpire\n',
      2,
      'roles',
      'umpire',
      'This has "umpire", which is not one of the choices.',
    ],
    [
      'staff',
      'email,given name,family name,roles,home latitude,home longitude\na@demo.example,A,B,observer,40,\n',
      2,
      'home longitude',
      '',
      'One of the two home coordinates is missing.',
    ],
    [
      'staff',
      'email,given name,family name,roles\nboss@demo.example,Bo,Ss,observer\n',
      2,
      'roles',
      'boss@demo.example',
      'This takes the role of coordinator from the last person who has it.',
    ],
    [
      'crews',
      'season,crew,position,email\n2031,Ash,mascot,ann@demo.example\n',
      2,
      'position',
      'mascot',
      'This is not one of the choices.',
    ],
    [
      'crews',
      'season,crew,position,email\n2031,Ash,referee,cat@demo.example\n',
      2,
      'email',
      'cat@demo.example',
      'This person is not listed as official.',
    ],
    [
      'schedule',
      'season,week,game,kickoff,home,visitor,venue\n2031,1,G2,2031-09-06 19:00,Oaks,Oaks,Oak Field\n',
      2,
      'visitor',
      'Oaks',
      'The home team is also the visitor.',
    ],
    [
      'schedule',
      'season,week,game,kickoff,home,visitor,venue\n2031,1,G2,2031-09-31 19:00,Oaks,Elms,Oak Field\n',
      2,
      'kickoff',
      '2031-09-31 19:00',
      'This is not a date and time that exists.',
    ],
    // Clocks in Chicago skip 02:00 to 03:00 on 9 March 2031 (IANA Time Zone Database).
    [
      'schedule',
      'season,week,game,kickoff,home,visitor,venue\n2031,1,G2,2031-03-09 02:30,Oaks,Elms,Oak Field\n',
      2,
      'kickoff',
      '2031-03-09 02:30',
      'Daylight saving time skips this time of day in America/Chicago.',
    ],
    [
      'schedule',
      'season,week,game,kickoff,home,visitor,venue,crew\n2031,1,G2,2031-09-06 19:00,Oaks,Elms,Oak Field,Ashes\n',
      2,
      'crew',
      'Ashes',
      'There is no crew of this name in the season.',
    ],
    [
      'working-crews',
      'game,position,email\nG9,referee,ann@demo.example\n',
      2,
      'game',
      'G9',
      'There is no game with this key.',
    ],
    [
      'working-crews',
      'game,position,email,season\nG1,referee,ann@demo.example,2030\n',
      2,
      'season',
      '2030',
      'Game "G1" is not in this season, but in 2031.',
    ],
    [
      'working-crews',
      'game,position,email\nG1,referee,who@demo.example\n',
      2,
      'email',
      'who@demo.example',
      'Nobody in the conference has this e-mail address.',
    ],
    [
      'plays',
      'game,play,kind,spot\nG1,3,run,25\nG1,3,pass,30\n',
      3,
      'play',
      '3',
      'Line 2 has the same play of the same game.',
    ],
    [
      'plays',
      'game,play,kind,spot\nG1,3,sprint,25\n',
      2,
      'kind',
      'sprint',
      'This is not one of the choices.',
    ],
    ['plays', 'game,play,kind,spot\nG1,3,run,\n', 2, 'spot', '', 'The cell is empty.'],
    ['plays', 'game,play,kind,spot,down\nG1,3,run,25,5\n', 2, 'down', '5', 'This is outside 1 to 4.'],
    [
      'plays',
      'game,play,kind,spot,clock\nG1,3,run,25,16:00\n',
      2,
      'clock',
      '16:00',
      'This is more than the 15:00 of a quarter.',
    ],
    [
      'plays',
      'game,play,kind,spot,film timecode\nG1,3,run,25,now\n',
      2,
      'film timecode',
      'now',
      'This is not a film timecode.',
    ],
    ['plays', 'game,play,kind,spot,pile\nG1,3,run,25,maybe\n', 2, 'pile', 'maybe', 'This is not yes or no.'],
    [
      'observer-assignments',
      'game,email,how\nG1,ann@demo.example,film\n',
      2,
      'email',
      'ann@demo.example',
      'This person is not listed as observer.',
    ],
    [
      'observer-assignments',
      'game,email,how\nG1,cat@demo.example,radio\n',
      2,
      'how',
      'radio',
      'This is not one of the choices.',
    ],
  ] as const)('%s: %j', async (name, text, line, column, value, problem) => {
    const before = await everything();
    const outcome = await put(name, text);
    expect(outcome.applied).toBe(false);
    expect(outcome.problems).toHaveLength(1);
    expect(outcome.problems[0]).toMatchObject({ line, column, value, problem });
    expect(outcome.problems[0]?.fix).toMatch(/\.$/);
    expect(await everything()).toBe(before);
  });

  it('reads a line once that says the same as an earlier one, however it is written', async () => {
    const outcome = await put(
      'plays',
      'game,play,kind,spot,pile,fouls\nG1,3,run,25,yes,\nG1,4,run,25,,\nG1,3,RUN,25,Y,\nG1,4,run,25,,\nG1,4,run,25,,\n',
    );
    expect(outcome).toMatchObject({ applied: true, rows: 2, added: 2, unchanged: 0, problems: [] });
    expect(outcome.notes).toEqual([
      { text: 'This line repeats an earlier one and was read once.', lines: [4, 5, 6], count: 3 },
    ]);
    expect(
      (await put('plays', 'game,play,kind,spot\nG1,3,run,25\nG1,3,run,26\nG1,3,run,25\n')).problems,
    ).toMatchObject([{ line: 3, problem: 'Line 2 has the same play of the same game.' }]);
  });

  it('tells 168 contradictions as one', async () => {
    const plays = Array.from({ length: 168 }, (_, at) => `G1,${at + 10},run,25\nG1,${at + 10},run,26`);
    const { problemGroups } = await put('plays', `game,play,kind,spot\n${plays.join('\n')}\n`);
    expect(problemGroups).toHaveLength(1);
    expect(problemGroups[0]).toMatchObject({
      count: 168,
      problem: 'An earlier line has the same play of the same game.',
    });
  });

  it('says how a foul is written when one cannot be read', async () => {
    const { problems } = await put('plays', 'game,play,kind,spot,fouls\nG1,3,run,25,holding\n');
    expect(problems[0]).toMatchObject({ line: 2, column: 'fouls', value: 'holding' });
    expect(problems[0]?.fix).toContain('holding / offense / umpire / accepted');
  });

  it('lists problems of all sorts together, in the order of lines', async () => {
    const { problems } = await put(
      'plays',
      'game,play,kind,spot\nG1,3,run,25\nG7,1,run,25\nG1,4,leap,25\nG1,3,run,26\nG1,5,run,101\n',
    );
    expect(problems.map((one) => [one.line, one.column])).toEqual([
      [3, 'game'],
      [4, 'kind'],
      [5, 'play'],
      [6, 'spot'],
    ]);
  });

  it('refuses another crew under a filed report', async () => {
    await database.pool.query(
      `WITH season AS (SELECT * FROM season WHERE conference_id = $1), rubric AS (
         INSERT INTO rubric_version (conference_id, season_id, number) SELECT $1, id, 1 FROM season RETURNING id)
       INSERT INTO report (conference_id, season_id, game_id, observer_id, state, rubric_version_id, filed_at)
       SELECT $1, g.season_id, g.id, p.id, 'filed', rubric.id, now()
         FROM game g, person p, rubric WHERE g.conference_id = $1 AND p.conference_id = $1 AND p.email LIKE 'cat%'`,
      [conferenceId],
    );
    const { problems } = await put(
      'working-crews',
      'game,position,email\nG1,line judge,ann@demo.example\nG1,referee,ben@demo.example\nG1,umpire,ann@demo.example\n',
    );
    expect(
      problems.some((one) => one.problem === 'A report on this game is filed with another referee.'),
    ).toBe(true);
  });

  it('undoes all when what follows an import fails, and the connection can be used again', async () => {
    const before = await everything();
    const failing = put('teams', 'name\nFirs\n', async () => {
      throw new Error('the audit trail is full');
    });
    await expect(failing).rejects.toThrow('the audit trail is full');
    expect(await everything()).toBe(before);
    expect(await put('teams', 'name\nFirs\n')).toMatchObject({ added: 1 });
  });

  it('undoes all when the upload breaks off', async () => {
    const kind = fileKindNamed('plays');
    async function* breaking() {
      yield Buffer.from('game,play,kind,spot\nG1,3,run,25\n');
      throw new Error('connection lost');
    }
    const before = await everything();
    await expect(
      importFile(
        database.pool,
        { conferenceId, personId: null },
        { kind: kind!, fileName: 'plays.csv', open: breaking },
      ),
    ).rejects.toThrow('connection lost');
    expect(await everything()).toBe(before);
    expect(await put('plays', 'game,play,kind,spot\nG1,3,run,25\n')).toMatchObject({ added: 1 });
  });

  it('keeps conferences apart', async () => {
    const { rows } = await database.pool.query<{ id: string }>(
      "INSERT INTO conference (slug, name) VALUES ($1, 'Other') RETURNING id",
      [`other-${number}`],
    );
    const mine = conferenceId;
    conferenceId = rows[0]?.id ?? '';
    const outcome = await put('plays', small.plays);
    expect(outcome.problems[0]?.problem).toBe('There is no game with this key.');
    conferenceId = mine;
  });

  it('opens the first season of a conference, and no other', async () => {
    await putSmall();
    expect((await put('crews', small.crews.replaceAll('2031', '2032'))).problems[0]).toMatchObject({
      line: 2,
      column: 'season',
      value: '2032',
      problem: 'There is no season of this name; there is 2031.',
      fix: 'Correct the name, or open the season on the Seasons page first.',
    });
    const { rows } = await database.pool.query('SELECT name, state FROM season WHERE conference_id = $1', [
      conferenceId,
    ]);
    expect(rows).toEqual([{ name: '2031', state: 'open' }]);
  });

  it('refuses a first file that names two seasons', async () => {
    for (const name of ['venues', 'teams', 'staff'] as const) await put(name, small[name]);
    const both = `${small.schedule.replace(',Ash', ',')}2032,1,G1,2032-09-04 19:00,Oaks,Elms,Oak Field,\n`;
    expect((await put('schedule', both)).problems).toMatchObject([
      { line: 3, column: 'season', value: '2032' },
    ]);
  });

  it('takes the weeks of a season that has its weeks', async () => {
    await putSmall();
    await database.pool.query(
      `INSERT INTO season_week (conference_id, season_id, number, first_day, last_day)
       SELECT conference_id, id, n, date '2031-08-25' + 7 * n, date '2031-08-31' + 7 * n
         FROM season, generate_series(1, 3) n WHERE conference_id = $1`,
      [conferenceId],
    );
    const later = small.schedule.replace('2031,1,G1', '2031,4,G2');
    expect((await put('schedule', later)).problems).toMatchObject([
      { column: 'week', value: '4', problem: 'Season 2031 has no week 4; it has weeks 1 to 3.' },
    ]);
    expect((await put('schedule', later.replace('2031,4', '2031,3'))).problems).toEqual([]);
  });

  it('leaves a closed season as it is, and does not take its games for the new season’s', async () => {
    await putSmall();
    await database.pool.query(
      `UPDATE season SET state = 'closed', closed_at = now() WHERE conference_id = $1`,
      [conferenceId],
    );
    const closed = {
      problem: 'Season 2031 is closed: it can only be read.',
      fix: 'Reopen it on the Seasons page first, if it really is to change.',
    };
    expect((await put('schedule', small.schedule)).problems).toMatchObject([{ column: 'season', ...closed }]);
    expect((await put('plays', small.plays)).problems).toMatchObject([
      { column: 'game', ...closed },
      { column: 'game', ...closed },
    ]);
    await openAnother();
    await put('schedule', small.schedule.replaceAll('2031', '2032').replace(',Ash', ','));
    expect(await put('plays', 'game,play,kind,spot\nG1,3,run,25\n')).toMatchObject({
      added: 1,
      problems: [],
    });
    const { rows } = await database.pool.query(
      `SELECT s.name FROM play p JOIN game g ON g.id = p.game_id JOIN season s ON s.id = g.season_id
        WHERE p.conference_id = $1 AND p.number = 3`,
      [conferenceId],
    );
    expect(rows).toEqual([{ name: '2032' }]);
  });

  it('asks for the season when two seasons use the same game key', async () => {
    await putSmall();
    await openAnother();
    await put('crews', small.crews.replaceAll('2031', '2032'));
    await put('schedule', small.schedule.replaceAll('2031', '2032'));
    const { problems } = await put('plays', 'game,play,kind,spot\nG1,3,run,25\n');
    expect(problems[0]).toMatchObject({
      column: 'season',
      fix: 'Add a season column and write the season of each game.',
    });
    expect(await put('plays', 'season,game,play,kind,spot\n2032,G1,3,run,25\n')).toMatchObject({ added: 1 });
  });

  it('lets two imports at once both finish', async () => {
    const outcomes = await Promise.all([put('teams', 'name\nFirs\n'), put('teams', 'name\nFirs\n')]);
    expect(outcomes.map((outcome) => outcome.added).sort()).toEqual([0, 1]);
  });
});

describe('text of all kinds', () => {
  it('survives the way into the database', async () => {
    await putSmall();
    const note = 'Tab\there, backslash \\N, quote " and\r\nnew line, Łukasz 語 😀 {a,b}';
    const text = `game,play,kind,spot,note\r\nG1,3,run,25,"${note.replaceAll('"', '""')}"\r\n`;
    expect(await put('plays', text)).toMatchObject({ added: 1, problems: [] });
    const { rows } = await database.pool.query(
      'SELECT note FROM play WHERE conference_id = $1 AND number = 3',
      [conferenceId],
    );
    // A line break inside a value is kept as LF.
    expect(rows).toEqual([{ note: note.replace('\r\n', '\n') }]);
  });
});

setFlagsFromString('--expose_gc');
const collectGarbage = runInNewContext('gc') as () => void;

describe('a play log of 60,000 rows', { tags: ['long'] }, () => {
  it('goes in without being held in memory', async () => {
    await putSmall();
    const headings = fileOf('plays').slice(0, fileOf('plays').indexOf('\r\n') + 2);
    const example = fileOf('plays').split('\r\n')[2]!.split(',').slice(2).join(',');
    const rows = 60_000;
    const games = 60;
    const schedule = ['season,week,game,kickoff,home,visitor,venue'];
    for (let game = 0; game < games; game += 1)
      schedule.push(`2031,2,B${game},2031-09-13 19:00,Oaks,Elms,Oak Field`);
    await put('schedule', `${schedule.join('\n')}\n`);
    let bytes = 0;
    let highest = 0;
    collectGarbage();
    const start = process.memoryUsage();
    async function* made() {
      yield Buffer.from(headings);
      for (let row = 0; row < rows; row += 50) {
        let piece = '';
        for (let at = row; at < row + 50; at += 1)
          piece += `B${at % games},${Math.floor(at / games) + 1},${example}\r\n`;
        bytes += piece.length;
        if (row % 5000 === 0) {
          collectGarbage();
          const { heapUsed, external } = process.memoryUsage();
          highest = Math.max(highest, heapUsed + external - start.heapUsed - start.external);
        }
        yield Buffer.from(piece);
      }
    }
    const outcome = await importFile(
      database.pool,
      { conferenceId, personId: null },
      { kind: fileKindNamed('plays')!, fileName: 'plays.csv', open: made },
    );
    expect(outcome).toMatchObject({ applied: true, added: rows, changed: 0, unchanged: 0 });
    expect(bytes).toBeGreaterThan(12_000_000);
    // What is reachable after each collection; the text of the file alone would be over 12 MB, its rows far more.
    expect(highest).toBeLessThan(8_000_000);
  });
});

describe('file names', () => {
  it('tell the kind of file', () => {
    const named = (name: string) => fileKindOfFileName(name)?.format.name;
    expect(named('plays.csv')).toBe('plays');
    expect(named('Working Crews.CSV')).toBe('working-crews');
    expect(named('Staff.xlsx')).toBe('staff');
    expect(named('plays-week-3.csv')).toBe('plays');
    expect(named('observer_assignments.csv')).toBe('observer-assignments');
    expect(named('players.csv')).toBeUndefined();
  });
});
