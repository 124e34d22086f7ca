import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { Problem } from '../web/problem.ts';
import { foldedHeading, headingsOf } from './csv/headings.ts';
import { NoteList } from './csv/notes.ts';
import { ProblemList } from './csv/problems.ts';
import { tableRecords } from './csv/table-records.ts';
import { UnreadableFile } from './csv/unreadable.ts';
import type { FileKind } from './files/file-kind.ts';
import { playsFormat } from './files/plays.ts';
import type { ImportOutcome } from './import-outcome.ts';
import { bringLog, gameOfLog, inTheWay, type LogToBring, planLog } from './mapping/bring-log.ts';
import { meantBy } from './mapping/mapping.ts';
import { fitting, type KeptMapping, keptMappings } from './mapping/mapping-store.ts';
import { withLikelyTeams } from './mapping/propose.ts';
import { type ForeignTable, readForeign } from './mapping/read-foreign.ts';

type Open = () => AsyncIterable<Uint8Array>;

/** A play log whose columns are not those of plays.csv, with the kept mapping that knows them. */
interface KnownLog {
  readonly table: ForeignTable;
  readonly kept: KeptMapping;
}

/** Whether a file of plays is in a form that the conference has explained before; undefined when it is plays.csv, or unknown. */
export async function knownLog(
  client: pg.ClientBase,
  conferenceId: string,
  { kind, open }: { kind: FileKind; open: Open },
): Promise<KnownLog | undefined> {
  if (kind.format.name !== playsFormat.name || (await hasOwnHeadings(open))) return undefined;
  const mappings = await keptMappings(client, conferenceId);
  if (mappings.length === 0) return undefined;
  try {
    const table = await readForeign(open);
    const [kept] = fitting(mappings, (headings) => table.with(headings).columns);
    return kept && { table, kept };
  } catch (error) {
    // What cannot be read as a table is told by the ordinary way.
    if (error instanceof Problem) return undefined;
    throw error;
  }
}

/** Are all needed headings of plays.csv in the first line that holds something? */
async function hasOwnHeadings(open: Open): Promise<boolean> {
  const known = headingsOf(playsFormat as never);
  const needed = Object.entries(playsFormat.columns).filter(([, column]) => !column.mayBeAbsent);
  try {
    for await (const { cells } of tableRecords(open(), playsFormat as never, () => {})) {
      if (cells.every((cell) => cell.trim() === '')) continue;
      const there = new Set(cells.map((cell) => known.get(foldedHeading(cell))));
      return needed.every(([name]) => there.has(name));
    }
  } catch (error) {
    if (!(error instanceof UnreadableFile)) throw error;
  }
  return true;
}

/** Brings a log of a known form in, in the import's transaction: to the game that the file's name tells. */
export async function importKnownLog(
  client: pg.ClientBase,
  by: Acting,
  fileName: string,
  { table, kept }: KnownLog,
): Promise<ImportOutcome> {
  const problems = new ProblemList();
  const notes = new NoteList();
  notes.add(`Read as “${kept.name}”, which the conference keeps for such columns.`);
  const outcome: ImportOutcome = {
    kind: playsFormat.name,
    fileName,
    applied: false,
    fits: false,
    readAs: table.readAs,
    notes: [],
    questions: [],
    rows: 0,
    added: 0,
    changed: 0,
    unchanged: 0,
    problems: [],
    moreProblems: 0,
    problemGroups: [],
    playLogsChanged: [],
    recounted: [],
  };
  const told = () =>
    Object.assign(outcome, {
      notes: notes.listed,
      problems: problems.listed,
      moreProblems: problems.unlisted,
      problemGroups: problems.groups,
      fits: problems.count === 0,
    });
  const games = await gamesNamed(client, by.conferenceId, fileName);
  const [game] = games;
  if (game === undefined || games.length > 1) {
    problems.add({
      line: 0,
      column: '',
      value: fileName,
      problem:
        game === undefined
          ? 'The name of the file tells no game.'
          : 'Two seasons that are not closed have a game of this name.',
      fix: "Name it plays- and the game as in schedule.csv, such as plays-W01-LAR-COP.csv, or bring it on the game's page.",
    });
    return told();
  }
  const file = table.with(kept.mapping.headings);
  const teams = await gameOfLog(client, by.conferenceId, game.id);
  const mapping = withLikelyTeams(file, kept.mapping, teams);
  for (const [text, team] of Object.entries(mapping.sides)) {
    if (meantBy(kept.mapping.sides, text) === undefined) {
      notes.add(`“${text}” was taken for ${team === teams.home.id ? teams.home.name : teams.visitor.name}.`);
    }
  }
  const plan = await planLog(client, by.conferenceId, game.id, { file, mapping, right: 'log' });
  for (const one of plan.undecided) {
    problems.add({ ...one, problem: `This ${one.problem}.`, fix: `${one.fix} On the game's page.` });
  }
  const wrong = inTheWay(plan);
  if (wrong !== undefined && problems.count === 0) {
    problems.add({ line: 0, column: '', value: '', problem: wrong, fix: "Bring it on the game's page." });
  }
  if (problems.count > 0) return told();
  if (plan.skipped > 0) notes.add(`${plan.skipped} rows were left out by it.`);
  if (plan.differing > 0) {
    notes.add(
      `At ${plan.differing} plays log and file say something different; what is logged stays. On the game's page the file can be given the last word.`,
    );
  }
  const brought: LogToBring = {
    gameId: game.id,
    fileName,
    sha256: table.sha256,
    file,
    mapping,
    mappingName: kept.name,
    right: 'log',
    reason: `The play log was corrected by importing ${fileName}`,
  };
  const done = await bringLog(client, { ...by, mayCorrectFiled: true }, brought);
  Object.assign(outcome, {
    rows: done.plays.length,
    added: done.added,
    changed: done.changed,
    unchanged: done.plays.length - done.added - done.changed,
    playLogsChanged: done.added + done.changed > 0 ? [game.id] : [],
    recounted: done.recounted.map((report) => ({
      game: report.game,
      observer: report.observer,
      before: report.before,
      after: report.after,
    })),
  });
  return told();
}

/** The games of seasons that are not closed whose key the file's name ends with, behind `plays-`. */
async function gamesNamed(client: pg.ClientBase, conferenceId: string, fileName: string) {
  const named = fileName.replace(/\.[a-z]+$/i, '').replace(/^plays[\s_-]*/i, '');
  const { rows } = await client.query<{ id: string }>(
    `SELECT g.id FROM game g JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id
      WHERE g.conference_id = $1 AND s.state <> 'closed'
        AND regexp_replace(lower(g.key), '[\\s_-]+', '-', 'g') = regexp_replace(lower($2), '[\\s_-]+', '-', 'g')`,
    [conferenceId, named],
  );
  return rows;
}
