import type pg from 'pg';
import { v5 as uuidv5 } from 'uuid';
import type { PersonInZone } from '../server/accounts/acting.ts';
import { inTransaction } from '../server/database/transaction.ts';
import { startingRubric } from '../server/duties/starting-rubric.ts';
import type { FileFormat, RowOf } from '../server/imports/csv/format.ts';
import { ProblemList } from '../server/imports/csv/problems.ts';
import { readRows } from '../server/imports/csv/read-rows.ts';
import { fileKindNamed } from '../server/imports/files/index.ts';
import { importFile } from '../server/imports/import-file.ts';
import { fileReport } from '../server/reports/filing/filing.ts';
import { openReport, putMarks } from '../server/reports/filing/open-report.ts';
import { acceptReport, releaseReport, returnReport } from '../server/reports/filing/review-steps.ts';
import { startRubric } from '../server/rubric/start-rubric.ts';
import { answerStep, seasonStepNames } from '../server/schedule/season-steps.ts';
import { loadAvailability } from './availability.ts';
import { usualSaturday } from './dates.ts';
import { type DemoFile, demoFiles } from './files.ts';
import { observationsFormat, reportsFormat } from './report-files.ts';
import { type DemoSeason, demoSeed, makeDemoSeason } from './season.ts';
import { loadTraining } from './training.ts';
import { readNotWatched, watchedOf } from './watching.ts';

export const demoSlug = 'demo';
const demoName = 'Lantern Plains Conference (invented)';
const policyText =
  'Grades are one input to the coordinator’s decision on postseason games, beside availability, fitness, tests and judgment. The current rules book and officials’ manual prevail over any guidance here.';

/** The mark of a finished load, among the imports: a load that was cut off is taken up again at the next start. */
const finished = 'demo season';

export interface DemoSignIn {
  role: 'coordinator' | 'observer' | 'official';
  name: string;
  email: string;
}

/** The password of the demo sign-ins. It is printed at the start and guards nothing but invented data. */
export const demoPassword = 'whistle flag bean bag';

export interface DemoLoad {
  conferenceId: string;
  /** The season's id. */
  seasonId: string;
  signIns: DemoSignIn[];
}

/** Whether the demo season was loaded to its end. */
export async function demoIsLoaded(pool: pg.Pool): Promise<boolean> {
  const { rows } = await pool.query(
    `SELECT FROM import_file f JOIN conference c ON c.id = f.conference_id WHERE c.slug = $1 AND f.kind = $2`,
    [demoSlug, finished],
  );
  return rows.length > 0;
}

/** The people who can sign in with the demo password: one in each role, with something to see. */
function demoSignIns({ conference, assignments, reports, games, truth }: DemoSeason): DemoSignIn[] {
  const released = (email: string) =>
    reports.filter((r) => r.observer === email && r.state === 'released').length;
  const drafts = reports.filter((report) => report.state === 'draft').map((report) => report.observer);
  const observer =
    conference.observers.find(({ email }) => drafts.includes(email) && released(email) > 0) ??
    conference.observers.find(({ email }) => assignments.some((assignment) => assignment.observer === email));
  const worked = (email: string) =>
    games.filter((game) => Object.values(game.workingCrew).includes(email)).length;
  const [repeat] = truth.planted
    .filter((miss) => miss.untilWeek === null)
    .sort((a, b) => worked(b.email) - worked(a.email));
  const official = conference.officials.find(({ email }) => email === repeat?.email);
  return [
    { role: 'coordinator' as const, person: conference.coordinator },
    { role: 'observer' as const, person: observer },
    { role: 'official' as const, person: official },
  ].flatMap(({ role, person }) =>
    person === undefined
      ? []
      : [{ role, name: `${person.givenName} ${person.familyName}`, email: person.email }],
  );
}

/**
 * Puts the demo season into the database, through the same code that imports a conference's files and files its
 * reports. Each step is told to `say`. A load that was cut off goes on where it stopped.
 *
 * `hashPassword` makes the stored form of the demo password, which only the three sign-ins get. `saturdayToCome`
 * (YYYY-MM-DD) is when the games are that observers are still to be planned for; nobody is sent to a game that is over.
 * `invent` makes the season of that day, or gives it where it is there already.
 */
export async function loadDemo(
  pool: pg.Pool,
  say: (line: string) => void,
  hashPassword: (password: string) => Promise<string>,
  saturdayToCome: string = usualSaturday,
  invent: (saturdayToCome: string) => DemoSeason = (saturday) => makeDemoSeason(demoSeed, saturday),
): Promise<DemoLoad> {
  say('Inventing the demo season');
  const season = invent(saturdayToCome);
  const files = demoFiles(season);
  const conferenceId = await openConference(pool);

  for (const file of files) {
    const kind = fileKindNamed(file.name);
    if (kind === undefined) continue;
    const fileName = `${file.name}.csv`;
    const by = { conferenceId, personId: null };
    const outcome = await importFile(pool, by, { kind, fileName, open: () => bytesOf(file) });
    const [problem] = outcome.problems;
    if (problem !== undefined) {
      throw new Error(`The demo's ${fileName}, line ${problem.line}: ${problem.column}: ${problem.problem}`);
    }
    say(`Imported ${fileName}: ${outcome.rows} lines`);
  }

  const seasonId = await openRubric(pool, conferenceId, season.conference.season);
  say(`Set up the rubric: ${startingRubric.length} duties`);
  const reports = await fileReports(pool, conferenceId, files, say);
  say(`Filed ${reports} observer reports`);

  await loadAvailability(pool, conferenceId, season.conference, demoSeed, saturdayToCome);
  say('Declared what observers are free for');

  const coordinator = await personOf(pool, conferenceId, season.conference.coordinator.email);
  const { plays } = await loadTraining(pool, coordinator, seasonId);
  say(`Released a training program of ${plays} plays`);

  const signIns = demoSignIns(season);
  await pool.query(
    'UPDATE person SET password_hash = $3 WHERE conference_id = $1 AND email = ANY ($2::text[])',
    [conferenceId, signIns.map(({ email }) => email), await hashPassword(demoPassword)],
  );
  // On desks, as in any season; nobody lives at an invented address.
  await pool.query(
    `UPDATE message SET mail = 'not mailed', not_mailed_because = 'brought in'
      WHERE conference_id = $1 AND mail = 'waiting'`,
    [conferenceId],
  );
  await pool.query(
    `INSERT INTO import_file (conference_id, kind, file_name, sha256, added, changed, unchanged)
     VALUES ($1, $2, '', '', $3, 0, 0)`,
    [conferenceId, finished, reports],
  );
  return { conferenceId, seasonId, signIns };
}

async function openConference(pool: pg.Pool): Promise<string> {
  const { rows } = await pool.query<{ id: string }>(
    `INSERT INTO conference (slug, name, policy_text, confirmed_at) VALUES ($1, $2, $3, now())
     ON CONFLICT (slug) DO UPDATE SET name = excluded.name RETURNING id`,
    [demoSlug, demoName, policyText],
  );
  return rows[0]!.id;
}

/** The season's first rubric version, unless it has one. */
async function openRubric(pool: pg.Pool, conferenceId: string, name: string): Promise<string> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ id: string }>(
      'SELECT id FROM season WHERE conference_id = $1 AND name = $2',
      [conferenceId, name],
    );
    const season = rows[0]!;
    const acting = { conferenceId, personId: null };
    await startRubric(client, acting, season.id, 'starting');
    for (const step of seasonStepNames) await answerStep(client, acting, season.id, step, 'confirmed');
    return season.id;
  });
}

async function personOf(pool: pg.Pool, conferenceId: string, email: string): Promise<PersonInZone> {
  const { rows } = await pool.query<{ personId: string; timeZone: string }>(
    `SELECT p.id AS "personId", c.time_zone AS "timeZone" FROM person p JOIN conference c ON c.id = p.conference_id
      WHERE p.conference_id = $1 AND p.email = $2`,
    [conferenceId, email],
  );
  return { conferenceId, ...rows[0]! };
}

async function* bytesOf({ text }: DemoFile): AsyncGenerator<Uint8Array> {
  yield Buffer.from(text);
}

async function rowsOf<C extends FileFormat['columns']>(
  files: readonly DemoFile[],
  format: FileFormat<C>,
): Promise<RowOf<C>[]> {
  const file = files.find(({ name }) => name === format.name);
  if (file === undefined) throw new Error(`The demo has no ${format.name}.csv.`);
  const problems = new ProblemList();
  const rows: RowOf<C>[] = [];
  for await (const { row } of readRows(bytesOf(file), format, problems)) rows.push(row);
  const [problem] = problems.listed;
  if (problem !== undefined)
    throw new Error(`The demo's ${format.name}.csv, line ${problem.line}: ${problem.problem}`);
  return rows;
}

type ReportLine = RowOf<(typeof reportsFormat)['columns']>;
type ObservationLine = RowOf<(typeof observationsFormat)['columns']>;

/** Any constant: it makes the ids of the demo's marks the same each time, so that a second load repeats nothing. */
const markNamespace = '0d1f6a52-54f5-4e0c-9a52-3d0c6e7c2b11';

async function fileReports(
  pool: pg.Pool,
  conferenceId: string,
  files: readonly DemoFile[],
  say: (line: string) => void,
): Promise<number> {
  const reports = await rowsOf(files, reportsFormat);
  const observations = new Map<string, ObservationLine[]>();
  for (const line of await rowsOf(files, observationsFormat)) {
    const key = `${line.game}\n${line.email}`;
    const list = observations.get(key);
    if (list === undefined) observations.set(key, [line]);
    else list.push(line);
  }
  const { rows } = await pool.query<{ id: string }>(
    `SELECT DISTINCT ON (w.person_id) g.id
       FROM working_crew_member w JOIN game g ON g.conference_id = w.conference_id AND g.id = w.game_id
      WHERE g.conference_id = $1 AND g.key = ANY ($2)
      ORDER BY w.person_id, g.kickoff DESC`,
    [conferenceId, reports.filter(({ state }) => state === 'released').map(({ game }) => game)],
  );
  const latestOfOfficials = new Set(rows.map(({ id }) => id));
  let done = 0;
  for (const report of reports) {
    const marks = observations.get(`${report.game}\n${report.email}`) ?? [];
    await inTransaction(pool, (client) => fileOne(client, conferenceId, report, marks, latestOfOfficials));
    done += 1;
    if (done % 20 === 0) say(`Filed ${done} of ${reports.length} reports`);
  }
  return reports.length;
}

const hour = 3_600_000;
const day = 24 * hour;

/** Opens, marks and files one report, and takes it as far as its state says, each step at a likely time. */
async function fileOne(
  client: pg.PoolClient,
  conferenceId: string,
  report: ReportLine,
  lines: readonly ObservationLine[],
  latestOfOfficials: ReadonlySet<string>,
): Promise<void> {
  const { rows } = await client.query<{ game: string; kickoff: Date; observer: string; coordinator: string }>(
    `SELECT g.id AS game, g.kickoff, p.id AS observer,
            (SELECT r.person_id FROM person_role r WHERE r.conference_id = $1 AND r.role = 'coordinator') AS coordinator
       FROM game g, person p
      WHERE g.conference_id = $1 AND g.key = $2 AND p.conference_id = $1 AND p.email = $3`,
    [conferenceId, report.game, report.email],
  );
  const { game, kickoff, observer, coordinator } = rows[0]!;
  // A season that is still on: nothing of it has happened tomorrow.
  const after = (milliseconds: number) => new Date(Math.min(kickoff.getTime() + milliseconds, Date.now()));
  const observing = (at: Date) => ({ conferenceId, personId: observer, at });
  const coordinating = (at: Date) => ({ conferenceId, personId: coordinator, at });

  const id = await openReport(client, observing(after(-hour)), { gameId: game, observerId: observer });
  const { rows: states } = await client.query<{ state: string; marks: number }>(
    `SELECT state, (SELECT count(*)::int FROM observation o WHERE o.conference_id = $1 AND o.report_id = r.id) AS marks
       FROM report r WHERE conference_id = $1 AND id = $2`,
    [conferenceId, id],
  );
  // An earlier load that was cut off got this far; each report is one transaction, all of it or none.
  if (states[0]!.state !== 'draft' || states[0]!.marks > 0) return;

  const plays = await idsByNumber(client, conferenceId, game);
  const crew = await crewOf(client, conferenceId, game);
  await putMarks(
    client,
    observing(after(4 * hour)),
    id,
    lines.map((line) => ({
      id: uuidv5(`${line.game} ${line.email} ${line.play} ${line.position} ${line.duty}`, markNamespace),
      playId: plays.get(line.play)!,
      personId: crew.get(line.position)!,
      position: line.position,
      dutyKey: line.duty,
      finding: line.finding,
      consequence: line.consequence ?? null,
      comment: line.comment ?? '',
    })),
  );
  const watched = watchedOf(readNotWatched(report.notWatched ?? ''), (play) => plays.get(play)!);
  await client.query(
    `UPDATE report SET general_comment = $3, watched = $4 WHERE conference_id = $1 AND id = $2`,
    [conferenceId, id, report.generalComment ?? '', JSON.stringify(watched)],
  );
  if (report.state === 'draft') return;
  await fileReport(client, observing(after(44 * hour)), id);
  if (report.state === 'filed') return;
  if (report.state === 'returned') {
    await returnReport(client, coordinating(after(3 * day)), id, report.returnedReason ?? '');
    return;
  }
  await acceptReport(client, coordinating(after(3 * day)), id);
  if (report.state === 'accepted') return;
  // Each official's latest only now: whoever tries the demo as an official can still answer a mark.
  await releaseReport(client, coordinating(latestOfOfficials.has(game) ? new Date() : after(4 * day)), id);
}

async function idsByNumber(
  client: pg.PoolClient,
  conferenceId: string,
  game: string,
): Promise<Map<number, string>> {
  const { rows } = await client.query<{ number: number; id: string }>(
    'SELECT number, id FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL',
    [conferenceId, game],
  );
  return new Map(rows.map(({ number, id }) => [number, id]));
}

async function crewOf(
  client: pg.PoolClient,
  conferenceId: string,
  game: string,
): Promise<Map<string, string>> {
  const { rows } = await client.query<{ position: string; person_id: string }>(
    'SELECT position, person_id FROM working_crew_member WHERE conference_id = $1 AND game_id = $2',
    [conferenceId, game],
  );
  return new Map(rows.map((row) => [row.position, row.person_id]));
}
