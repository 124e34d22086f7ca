// @module-tag long
import { parse } from 'csv-parse/sync';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import writeExcelFile from 'write-excel-file/node';
import yauzl from 'yauzl';
import { facts, type Play, playSchema } from '../../server/football/play.ts';
import { sampleValues } from '../../server/football/sample-values.ts';
import { type PlayColumns, playOf } from '../../server/games/play-rows.ts';
import { writeCsv } from '../../server/imports/csv/write-csv.ts';
import { exportQueries } from '../../server/imports/exports/export-queries.ts';
import { fileKindNamed, fileKinds } from '../../server/imports/files/index.ts';
import { playCells, playsFormat } from '../../server/imports/files/plays.ts';
import { importFile } from '../../server/imports/import-file.ts';
import type { ImportOutcome } from '../../server/imports/import-outcome.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { makeConference } from '../support/people.ts';
import { personSignedIn, type SignedInAgent } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';
import { clinicOf2031 } from './clinic-of-2031.ts';

let database: DemoDatabase;
let app: FastifyInstance;
let awkward: { conferenceId: string; agent: SignedInAgent };
let demo: { conferenceId: string; agent: SignedInAgent };

/** Everything that could go wrong between a program, a file and a spreadsheet. */
const everyFact: Play = playSchema.parse({
  ...Object.fromEntries(facts.map((fact) => [fact, sampleValues[fact].at(-1)])),
  fouls: [
    {
      foul: 'holding',
      by: 'offense',
      reportedBy: 'umpire',
      outcome: 'picked up',
      player: '72',
      moment: 'live ball',
      spot: 38,
    },
    { foul: 'offside', by: 'defense', spot: 3 },
  ],
});
const everyFactFile = writeCsv(playsFormat, [
  { ...playCells(everyFact), game: 'G1', number: 4, season: null, filmSeconds: null, note: null },
]);

const files = {
  venues:
    'name,place,latitude,longitude,time zone\n=SUM(A1),"Oak, ""town""",0.0000001,-93.98123456789012,America/Chicago\n\'=quoted,,-40,-90.5,America/New_York\nElm;Field,,40.25,-90,America/New_York\n',
  teams: 'name,home venue\n-Oaks,=SUM(A1)\n@Élms,Elm;Field\nＡshes,\n',
  staff:
    'email,given name,family name,roles,home place,home latitude,home longitude\nann@demo.example,+Ann,O\'Neill,official,,,\nben@demo.example,Łukasz,Two,official;observer,"Way, far",1.5,-2.25\n',
  crews: 'season,crew,position,email\n2031,Ash,referee,ann@demo.example\n2031,Ash,umpire,ben@demo.example\n',
  schedule:
    'season,week,game,kickoff,home,visitor,venue,crew,film link\n2031,1,G1,2031-09-06 19:00,-Oaks,@Élms,Elm;Field,Ash,https://film.example/?a=1;b=2\n2031,1,1-2,2031-11-02 00:30,@Élms,-Oaks,=SUM(A1),,\n',
  'working-crews': 'game,position,email\nG1,referee,ann@demo.example\nG1,umpire,ben@demo.example\n',
  plays:
    'game,play,kind,spot,quarter,clock,down,distance,play side,catch depth,fouls,pile,film timecode,note\nG1,1,free kick,35,1,15:00,,,,,none,no,0:00:07,\nG1,2,pass,25,1,0:07,1,10,middle,-3,holding / offense / umpire / accepted; offside / defense,yes,1:02:03.125,"=1+1; ""quoted""\nand more, \tso"\nG1,3,run,25,,,,,,,,,0:12:59.96,-5 yards\n',
  'observer-assignments':
    'game,email,how,answer\nG1,ben@demo.example,film,accepted\n1-2,ben@demo.example,in person,\n',
  'official-facts':
    'season,email,years of service,rules test,fitness passed,fitness until,good standing,standing reason,available,days away,postseason games lately,tied to\n2031,ann@demo.example,0,0.5,yes,2032-06-30,no,"=1+1; ""late""",no,2031-12-06; 2031-12-13,1,-Oaks; @Élms\n2031,ben@demo.example,,,no,,,,,,,\n',
  'clinic-attendance':
    'season,clinic,day,email,attendance,note\n2031,"=Rules, ""new""",2031-04-12,ann@demo.example,made up,"=1+1; ""late"", \tso"\n2031,"=Rules, ""new""",2031-04-12,ben@demo.example,,\n',
} as const;

function put(conferenceId: string, name: string, file: string | Buffer): Promise<ImportOutcome> {
  async function* open() {
    yield Buffer.from(file);
  }
  const kind = fileKindNamed(name)!;
  return importFile(database.pool, { conferenceId, personId: null }, { kind, fileName: `${name}.csv`, open });
}

beforeAll(async () => {
  database = await demoDatabase();
  app = await testApp(database, { LOG_LEVEL: 'silent' });
  const conferenceId = await makeConference(database.pool);
  awkward = { conferenceId, agent: (await personSignedIn(app, conferenceId, ['coordinator'])).agent };
  for (const [name, file] of Object.entries(files)) {
    if (name === 'clinic-attendance') await clinicOf2031(database.pool, conferenceId, '=Rules, "new"');
    expect((await put(conferenceId, name, file)).problems, name).toEqual([]);
  }
  expect((await put(conferenceId, 'plays', everyFactFile)).problems).toEqual([]);
  const coordinator = await personSignedIn(app, database.conferenceId, ['coordinator']);
  demo = { conferenceId: database.conferenceId, agent: coordinator.agent };
});
afterAll(async () => {
  await app.close();
  await database.drop();
});

const bytesOf = async (agent: SignedInAgent, address: string): Promise<Buffer> => {
  const answer = await agent
    .get(address)
    .buffer(true)
    .parse((response, done) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('end', () => done(null, Buffer.concat(chunks)));
    });
  expect(answer.status, address).toBe(200);
  return answer.body as Buffer;
};

function unzipped(zip: Buffer): Promise<Map<string, Buffer>> {
  return new Promise((resolve, reject) => {
    const found = new Map<string, Buffer>();
    yauzl.fromBuffer(zip, { lazyEntries: true }, (error, file) => {
      if (error) return reject(error);
      file.on('entry', (entry) => {
        file.openReadStream(entry, (failed, stream) => {
          if (failed) return reject(failed);
          const chunks: Buffer[] = [];
          stream.on('data', (chunk: Buffer) => chunks.push(chunk));
          stream.on('end', () => {
            found.set(entry.fileName, Buffer.concat(chunks));
            file.readEntry();
          });
        });
      });
      file.on('end', () => resolve(found));
      file.readEntry();
    });
  });
}

it('keeps every fact of a play through an import', async () => {
  const { rows } = await database.pool.query<PlayColumns>(
    `SELECT kind, spot, quarter, clock_seconds, down, distance, facts FROM play
      WHERE conference_id = $1 AND number = 4 AND removed_at IS NULL`,
    [awkward.conferenceId],
  );
  expect(facts.filter((fact) => everyFact[fact] === undefined)).toEqual([]);
  expect(rows.map((row) => playOf(row))).toEqual([everyFact]);
});

it('knows how to write every kind of file that can be imported', () => {
  expect(Object.keys(exportQueries)).toEqual(fileKinds.map((kind) => kind.format.name));
});

describe.each([
  ['comma', false],
  ['semicolon', true],
  ['tab', true],
] as const)('written with %s between the columns, byte order mark: %s', (separator, mark) => {
  it.each(fileKinds.map((kind) => kind.format.name))(
    '%s is imported again without changing anything',
    async (name) => {
      const { conferenceId, agent } = awkward;
      const file = await bytesOf(agent, `/api/exports/${name}?separator=${separator}&mark=${mark}`);
      expect(file.subarray(0, 3).toString('hex') === 'efbbbf').toBe(mark);
      const outcome = await put(conferenceId, name, file);
      expect(outcome.problems).toEqual([]);
      expect(outcome.notes).toEqual([]);
      expect(outcome.readAs).toMatchObject({ separator, encoding: 'UTF-8', byteOrderMark: mark });
      expect(outcome).toMatchObject({ applied: true, added: 0, changed: 0 });
      expect(outcome.rows).toBeGreaterThan(0);
    },
  );

  it('holds no cell that a spreadsheet would take for a formula', async () => {
    // OWASP, "CSV Injection": cells that begin with = + - @ tab or carriage return. csv-parse reads, not our reader.
    for (const { format } of fileKinds) {
      const file = await bytesOf(awkward.agent, `/api/exports/${format.name}?separator=${separator}`);
      const rows = parse(file, {
        delimiter: { comma: ',', semicolon: ';', tab: '\t' }[separator],
      }) as string[][];
      for (const cell of rows.flat()) {
        if (!/^[+-]?\d+([.,]\d+)?$/.test(cell)) expect(cell).not.toMatch(/^[=+\-@\t\r＝＋－＠]/);
      }
    }
  });
});

it.each(fileKinds.map((kind) => kind.format.name))(
  '%s goes through a workbook, which another library writes, without changing anything',
  async (name) => {
    const { conferenceId, agent } = awkward;
    const rows = parse(await bytesOf(agent, `/api/exports/${name}`)) as string[][];
    const cells = rows.map((row) =>
      row.map((cell) => (cell === '' ? null : String(Number(cell)) === cell ? Number(cell) : cell)),
    );
    const outcome = await put(conferenceId, name, await writeExcelFile(cells, { sheet: name }).toBuffer());
    expect(outcome.problems).toEqual([]);
    expect(outcome.readAs).toEqual({ form: 'workbook', sheet: name, otherSheets: [] });
    expect(outcome).toMatchObject({ applied: true, added: 0, changed: 0, rows: rows.length - 1 });
  },
);

it('takes a workbook by the API', async () => {
  const { agent } = awkward;
  const file = await writeExcelFile([['name'], ['Yews']]).toBuffer();
  const answer = await agent
    .post('/api/imports/teams')
    .set('content-type', 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet')
    .send(file)
    .expect(200);
  expect(answer.body).toMatchObject({ added: 1, readAs: { form: 'workbook', sheet: 'Sheet1' } });
});

it('takes a whole season out as a ZIP and brings it back unchanged', { tags: ['long'] }, async () => {
  const zip = await unzipped(await bytesOf(demo.agent, '/api/exports?mark=true'));
  expect([...zip.keys()]).toEqual(fileKinds.map((kind) => `${kind.format.name}.csv`));
  for (const [name, file] of zip) {
    const outcome = await put(demo.conferenceId, name.replace('.csv', ''), file);
    expect(outcome.problems, name).toEqual([]);
    expect(outcome, name).toMatchObject({ applied: true, added: 0, changed: 0, recounted: [] });
  }
  const { rows } = await database.pool.query<{ plays: number }>(
    'SELECT count(*)::int AS plays FROM play WHERE conference_id = $1 AND removed_at IS NULL',
    [demo.conferenceId],
  );
  const plays = parse(zip.get('plays.csv')!, { bom: true }) as string[][];
  expect(plays).toHaveLength(rows[0]!.plays + 1);
});

it('brings a correction made in the file back, and nothing else', async () => {
  const file = (await bytesOf(awkward.agent, '/api/exports/plays')).toString('utf8');
  const outcome = await put(awkward.conferenceId, 'plays', file.replace('-5 yards', '-6 yards'));
  expect(outcome).toMatchObject({ applied: true, added: 0, changed: 1, unchanged: 3 });
});

it('gives one season when asked, none that is closed unless asked, and 404 for one that is not there', async () => {
  const { conferenceId, agent } = awkward;
  const lines = async (address: string) =>
    (await bytesOf(agent, address)).toString('utf8').trim().split('\r\n').length;
  expect(await lines('/api/exports/schedule?season=2031')).toBe(3);
  await database.pool.query(
    "UPDATE season SET state = 'closed', closed_at = now() WHERE conference_id = $1",
    [conferenceId],
  );
  expect(await lines('/api/exports/schedule')).toBe(1);
  expect(await lines('/api/exports/schedule?season=2031')).toBe(3);
  await agent.get('/api/exports/schedule?season=2030').expect(404);
  const answer = await agent.get('/api/exports/schedule?season=2031');
  expect(answer.headers['content-disposition']).toBe('attachment; filename="schedule-2031.csv"');
  await agent.get('/api/exports/budget').expect(400);
});
