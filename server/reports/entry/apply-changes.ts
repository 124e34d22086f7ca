import type { Acting, PersonActing } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { findingsOf } from '../../duties/finding.ts';
import type { Play } from '../../football/play.ts';
import { insertPlay, lockPlayLog, playLogIsClosed, removePlayRow, updatePlay } from '../../games/play-log.ts';
import { columnsOf, type PlayColumns, playOf } from '../../games/play-rows.ts';
import { confirmCrew, ReportNotFound } from '../filing/filing.ts';
import { lockReport, type ReportRow, workingCrew } from '../filing/report-material.ts';
import { isOpen, StepRefused } from '../states.ts';
import type {
  Change,
  ChangeResult,
  ConfirmCrew,
  EntryChange,
  GeneralComment,
  PutMark,
  PutPlay,
  RemoveMark,
  RemovePlay,
  Resolve,
} from './changes.ts';

/** Where the changes of one device go: the report, held until the transaction ends. */
interface Entry extends Acting {
  readonly client: Queryable;
  readonly personId: string;
  readonly report: ReportRow;
}

type Outcome = { outcome: 'applied' | 'same' } | { outcome: 'conflict'; theirs: object };
type Kept = Pick<Outcome, 'outcome'>;

/** A change that can never apply as it stands; the message says why. */
export class Refused extends Error {}

/** How one change is applied: what is given here may be put around it. */
export type Each = (apply: () => Promise<Kept>) => Promise<Kept>;

/**
 * Applies a device's changes in their order, each exactly once however often it is sent, inside the caller's
 * transaction. A change that cannot apply is refused on its own; those after it are still tried.
 * @throws ReportNotFound; StepRefused when the report is no longer open.
 */
export async function applyChanges(
  client: Queryable,
  acting: PersonActing,
  reportId: string,
  changes: readonly Change[],
  each: Each = (apply) => apply(),
): Promise<ChangeResult[]> {
  const report = await lockReport(client, acting.conferenceId, reportId);
  if (!report) throw new ReportNotFound();
  // A mark looks for itself among what is known, in the query it makes anyway.
  const onlyMarks = isOpen(report.state) && changes.every((change) => change.kind === 'put mark');
  const known = onlyMarks
    ? new Map<string, Kept['outcome']>()
    : await outcomesKnown(client, acting, reportId, changes);
  if (!isOpen(report.state) && changes.some((change) => !known.has(change.id))) {
    throw new StepRefused(`This report is ${report.state}; its marks can no longer be changed.`);
  }
  const entry: Entry = { ...acting, client, report };
  const results: ChangeResult[] = [];
  for (const change of changes) {
    const before = known.get(change.id);
    if (before) {
      results.push({ id: change.id, outcome: before });
      continue;
    }
    try {
      const { outcome } = await each(() => applyOne(entry, change));
      known.set(change.id, outcome);
      results.push({ id: change.id, outcome });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      results.push({ id: change.id, outcome: 'refused', message: error.message });
    }
  }
  return results;
}

async function outcomesKnown(
  client: Queryable,
  acting: Acting,
  reportId: string,
  changes: readonly Change[],
): Promise<Map<string, Kept['outcome']>> {
  const { rows } = await client.query<{ id: string; outcome: Kept['outcome'] }>(
    `SELECT id, outcome FROM report_change WHERE conference_id = $1 AND report_id = $2 AND id = ANY ($3::uuid[])`,
    [acting.conferenceId, reportId, changes.map((change) => change.id)],
  );
  return new Map(rows.map((row) => [row.id, row.outcome]));
}

async function applyOne(entry: Entry, change: Change): Promise<Kept> {
  if (change.kind === 'resolve') return resolve(entry, change);
  return applyEntry(entry, change, null);
}

async function applyEntry(entry: Entry, change: EntryChange, resolves: string | null): Promise<Kept> {
  switch (change.kind) {
    case 'put mark':
      return putMark(entry, change, resolves);
    case 'remove mark':
      return removeMark(entry, change, resolves);
    case 'put play':
      return putPlay(entry, change, resolves);
    case 'remove play':
      return removePlay(entry, change, resolves);
    case 'confirm crew':
      return putCrew(entry, change, resolves);
    case 'general comment':
      return putGeneralComment(entry, change, resolves);
  }
}

const keepChange = `INSERT INTO report_change (conference_id, report_id, id, made_by, kind, content, outcome, theirs, resolves)
  VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`;

function changeValues(entry: Entry, change: Change, outcome: Outcome, resolves: string | null): unknown[] {
  const { id, kind, ...content } = change;
  return [
    entry.conferenceId,
    entry.report.id,
    id,
    entry.personId,
    kind,
    JSON.stringify(content),
    outcome.outcome,
    outcome.outcome === 'conflict' ? JSON.stringify(outcome.theirs) : null,
    resolves,
  ];
}

async function keep(
  entry: Entry,
  change: Change,
  outcome: Outcome,
  resolves: string | null,
): Promise<Outcome> {
  const closes = resolves ?? (outcome.outcome === 'applied' ? null : await supersededConflict(entry, change));
  await entry.client.query(keepChange, changeValues(entry, change, outcome, closes));
  return outcome;
}

/** A device's later version of what met a conflict takes its earlier version's place: one question, not two. */
async function supersededConflict(entry: Entry, change: Change): Promise<string | null> {
  if (!('basedOn' in change) || change.basedOn === null || change.kind === 'resolve') return null;
  const { rowCount } = await entry.client.query(
    `SELECT FROM report_change c
      WHERE c.conference_id = $1 AND c.report_id = $2 AND c.id = $3 AND c.outcome = 'conflict'
        AND NOT EXISTS (SELECT FROM report_change r WHERE r.conference_id = $1 AND r.report_id = $2 AND r.resolves = c.id)`,
    [entry.conferenceId, entry.report.id, change.basedOn],
  );
  return rowCount === 1 ? change.basedOn : null;
}

// Marks ---------------------------------------------------------------------------------------------------------

interface MarkRow {
  id: string;
  play_id: string;
  position: string;
  duty_key: string;
  finding: string;
  comment: string;
  change_id: string | null;
  removed_at: string | null;
}

async function putMark(entry: Entry, change: PutMark, resolves: string | null): Promise<Kept> {
  const { client, conferenceId, report } = entry;
  const { rows } = await client.query<{
    person: string | null;
    play: boolean | null;
    graded_as: 'mechanics' | 'call' | null;
    mark: (MarkRow & { report_id: string }) | null;
    beside: MarkRow | null;
    known: Kept['outcome'] | null;
  }>({
    name: 'put-mark-reads',
    text: `SELECT w.person_id AS person,
            (SELECT removed_at IS NULL FROM play WHERE conference_id = $1 AND id = $4 AND game_id = $3) AS play,
            (SELECT d.graded_as FROM duty d WHERE d.conference_id = $1 AND d.key = $6 AND d.rubric_version_id =
              (SELECT id FROM rubric_version WHERE conference_id = $1 AND season_id = $8 ORDER BY number DESC LIMIT 1)
            ) AS graded_as,
            (SELECT to_jsonb(o) FROM observation o WHERE o.conference_id = $1 AND o.id = $7) AS mark,
            (SELECT to_jsonb(o) FROM observation o
              WHERE o.conference_id = $1 AND o.report_id = $2 AND o.play_id = $4 AND o.person_id = w.person_id
                AND o.duty_key = $6 AND o.removed_at IS NULL AND o.id <> $7) AS beside,
            (SELECT outcome FROM report_change WHERE conference_id = $1 AND report_id = $2 AND id = $9) AS known
       FROM (VALUES (1)) one LEFT JOIN working_crew_member w
         ON w.conference_id = $1 AND w.game_id = $3 AND w.position = $5`,
    values: [
      conferenceId,
      report.id,
      report.gameId,
      change.playId,
      change.position,
      change.dutyKey,
      change.markId,
      report.seasonId,
      change.id,
    ],
  });
  const seen = rows[0]!;
  if (seen.known) return { outcome: seen.known };
  if (!seen.person) throw new Refused(`Nobody is entered as working as ${change.position} in this game.`);
  if (seen.play === null) throw new Refused('The play is not in the play log of this game.');
  if (!seen.graded_as) throw new Refused(`The rubric has no duty "${change.dutyKey}".`);
  const fitting: readonly string[] = findingsOf(seen.graded_as);
  if (!fitting.includes(change.finding)) {
    throw new Refused(
      `"${change.finding}" does not fit a duty graded as ${seen.graded_as}; use ${fitting.join(', ')}.`,
    );
  }
  if (seen.mark && seen.mark.report_id !== report.id)
    throw new Refused('The mark belongs to another report.');
  if (seen.play === false) {
    const theirs = { playRemoved: change.playId, ...(seen.mark ? { mark: markSeen(seen.mark) } : {}) };
    return keep(entry, change, { outcome: 'conflict', theirs }, resolves);
  }
  if (seen.beside && resolves !== null && seen.beside.change_id === change.basedOn) {
    // The observer chose this version over one entered elsewhere under another id.
    await client.query(
      'UPDATE observation SET removed_at = now(), change_id = $3 WHERE conference_id = $1 AND id = $2',
      [conferenceId, seen.beside.id, change.id],
    );
  } else if (seen.beside) {
    const same = seen.beside.finding === change.finding && seen.beside.comment === change.comment;
    if (same) return keep(entry, change, { outcome: 'same' }, resolves);
    return keep(entry, change, { outcome: 'conflict', theirs: { mark: markSeen(seen.beside) } }, resolves);
  } else if (seen.mark && seen.mark.change_id !== change.basedOn) {
    if (sameMark(seen.mark, change)) return keep(entry, change, { outcome: 'same' }, resolves);
    return keep(entry, change, { outcome: 'conflict', theirs: { mark: markSeen(seen.mark) } }, resolves);
  }
  const applied: Outcome = { outcome: 'applied' };
  await client.query({
    name: 'put-mark-writes',
    text: `WITH kept AS (${keepChange})
     INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding, comment,
                              change_id)
     VALUES ($1, $10, $2, $11, $12, $13, $14, $15, $16, $3)
     ON CONFLICT (conference_id, id) DO UPDATE
       SET play_id = EXCLUDED.play_id, person_id = EXCLUDED.person_id, position = EXCLUDED.position,
           duty_key = EXCLUDED.duty_key, finding = EXCLUDED.finding, comment = EXCLUDED.comment,
           change_id = EXCLUDED.change_id, updated_at = now(), removed_at = NULL, version = observation.version + 1`,
    values: [
      ...changeValues(entry, change, applied, resolves),
      change.markId,
      change.playId,
      seen.person,
      change.position,
      change.dutyKey,
      change.finding,
      change.comment,
    ],
  });
  return applied;
}

const sameMark = (row: MarkRow, change: PutMark) =>
  row.removed_at === null &&
  row.play_id === change.playId &&
  row.position === change.position &&
  row.duty_key === change.dutyKey &&
  row.finding === change.finding &&
  row.comment === change.comment;

/** The other version as an observer is shown it. */
const markSeen = (row: MarkRow) => ({
  markId: row.id,
  playId: row.play_id,
  position: row.position,
  dutyKey: row.duty_key,
  finding: row.finding,
  comment: row.comment,
  removed: row.removed_at !== null,
  changeId: row.change_id,
});

async function removeMark(entry: Entry, change: RemoveMark, resolves: string | null): Promise<Outcome> {
  const { rows } = await entry.client.query<MarkRow>(
    'SELECT * FROM observation WHERE conference_id = $1 AND id = $2 AND report_id = $3',
    [entry.conferenceId, change.markId, entry.report.id],
  );
  const row = rows[0];
  if (!row || row.removed_at !== null) return keep(entry, change, { outcome: 'same' }, resolves);
  if (row.change_id !== change.basedOn) {
    return keep(entry, change, { outcome: 'conflict', theirs: { mark: markSeen(row) } }, resolves);
  }
  await entry.client.query(
    `UPDATE observation SET removed_at = now(), change_id = $3, updated_at = now(), version = version + 1
      WHERE conference_id = $1 AND id = $2`,
    [entry.conferenceId, change.markId, change.id],
  );
  return keep(entry, change, { outcome: 'applied' }, resolves);
}

// Plays ---------------------------------------------------------------------------------------------------------

type PlayRow = PlayColumns & {
  id: string;
  number: number;
  film_seconds: number | null;
  note: string;
  change_id: string | null;
  removed_at: string | null;
};

async function playRow(entry: Entry, playId: string): Promise<PlayRow | undefined> {
  await lockPlayLog(entry.client, entry.conferenceId, entry.report.gameId);
  const { rows } = await entry.client.query<PlayRow & { game_id: string }>(
    'SELECT * FROM play WHERE conference_id = $1 AND id = $2',
    [entry.conferenceId, playId],
  );
  if (rows[0] && rows[0].game_id !== entry.report.gameId) {
    throw new Refused('The play belongs to another game.');
  }
  return rows[0];
}

async function putPlay(entry: Entry, change: PutPlay, resolves: string | null): Promise<Outcome> {
  const { client, conferenceId, report } = entry;
  const row = await playRow(entry, change.playId);
  const factsChange = !row || !sameFacts(row, change.play);
  if (factsChange && (await playLogIsClosed(client, conferenceId, report.gameId, report.id))) {
    throw new Refused(
      'Another report on this game is already with the coordinator; ask the coordinator to correct the play log.',
    );
  }
  if (row && row.change_id !== change.basedOn) {
    const same =
      row.removed_at === null &&
      !factsChange &&
      row.film_seconds === change.filmSeconds &&
      row.note === change.note;
    if (same) return keep(entry, change, { outcome: 'same' }, resolves);
    return keep(entry, change, { outcome: 'conflict', theirs: { play: playSeen(row) } }, resolves);
  }
  if (row) await updatePlay(client, conferenceId, report.gameId, change, row.removed_at !== null);
  else await insertPlay(client, conferenceId, report.gameId, change);
  return keep(entry, change, { outcome: 'applied' }, resolves);
}

async function removePlay(entry: Entry, change: RemovePlay, resolves: string | null): Promise<Outcome> {
  const { client, conferenceId, report } = entry;
  const row = await playRow(entry, change.playId);
  if (!row || row.removed_at !== null) return keep(entry, change, { outcome: 'same' }, resolves);
  if (await playLogIsClosed(client, conferenceId, report.gameId, report.id)) {
    throw new Refused(
      'Another report on this game is already with the coordinator; ask the coordinator to correct the play log.',
    );
  }
  if (row.change_id !== change.basedOn) {
    return keep(entry, change, { outcome: 'conflict', theirs: { play: playSeen(row) } }, resolves);
  }
  const { rows } = await client.query<{ report_id: string }>(
    `SELECT report_id FROM observation WHERE conference_id = $1 AND play_id = $2 AND removed_at IS NULL`,
    [conferenceId, change.playId],
  );
  if (rows.some((mark) => mark.report_id !== report.id)) {
    throw new Refused('Another observer has marks on this play; it stays in the play log.');
  }
  if (rows.length > 0 && !change.marksToo) {
    // Marks arrived, perhaps from another device, that whoever removed the play had not seen.
    return keep(
      entry,
      change,
      { outcome: 'conflict', theirs: { play: playSeen(row), marks: rows.length } },
      resolves,
    );
  }
  await removePlayRow(client, conferenceId, report.gameId, change.playId, change.id);
  return keep(entry, change, { outcome: 'applied' }, resolves);
}

const playSeen = (row: PlayRow) => ({
  playId: row.id,
  number: row.number,
  play: playOf(row),
  filmSeconds: row.film_seconds,
  note: row.note,
  removed: row.removed_at !== null,
  changeId: row.change_id,
});

/** Equal whatever the order of the facts. */
function sameFacts(row: PlayColumns, play: Play): boolean {
  const sorted = (value: object) =>
    JSON.stringify(value, (_key, part) =>
      part !== null && typeof part === 'object' && !Array.isArray(part)
        ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1)))
        : part,
    );
  return sorted(playOf(row)) === sorted(playOf(columnsOf(play)));
}

// Crew and comment ----------------------------------------------------------------------------------------------

async function putCrew(entry: Entry, change: ConfirmCrew, resolves: string | null): Promise<Outcome> {
  const { client, conferenceId, report } = entry;
  const text = (crew: ConfirmCrew['was']) =>
    crew
      .map((member) => `${member.position} ${member.personId}`)
      .sort()
      .join('\n');
  const now = await workingCrew(client, conferenceId, report.gameId);
  const same = text(now) === text(change.crew);
  if (!same && text(now) !== text(change.was)) {
    return keep(entry, change, { outcome: 'conflict', theirs: { crew: now } }, resolves);
  }
  const confirmed = change.confirmed !== false;
  if (!same) {
    const { rows } = await client.query<{ id: string }>(
      `SELECT p.id FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
        WHERE p.conference_id = $1 AND p.id = ANY ($2::uuid[]) AND r.role = 'official'`,
      [conferenceId, change.crew.map((member) => member.personId)],
    );
    if (rows.length < change.crew.length) throw new Refused('Somebody in this crew is not an official here.');
  }
  if ((!same || !confirmed) && (await playLogIsClosed(client, conferenceId, report.gameId, report.id))) {
    throw new Refused(
      'Another report on this game is already with the coordinator; ask the coordinator to correct the crew.',
    );
  }
  await confirmCrew(client, entry, report.gameId, same ? undefined : change.crew, confirmed);
  return keep(entry, change, { outcome: 'applied' }, resolves);
}

async function putGeneralComment(
  entry: Entry,
  change: GeneralComment,
  resolves: string | null,
): Promise<Outcome> {
  const { client, conferenceId, report } = entry;
  const { rows } = await client.query<{ comment: string }>(
    'SELECT general_comment AS comment FROM report WHERE conference_id = $1 AND id = $2',
    [conferenceId, report.id],
  );
  const now = rows[0]!.comment;
  if (now !== change.comment && now !== change.was) {
    return keep(entry, change, { outcome: 'conflict', theirs: { generalComment: now } }, resolves);
  }
  await client.query('UPDATE report SET general_comment = $3 WHERE conference_id = $1 AND id = $2', [
    conferenceId,
    report.id,
    change.comment,
  ]);
  return keep(entry, change, { outcome: 'applied' }, resolves);
}

// Conflicts -----------------------------------------------------------------------------------------------------

async function resolve(entry: Entry, change: Resolve): Promise<Kept> {
  const { client, conferenceId, report } = entry;
  const { rows } = await client.query<{ kind: string; content: object; theirs: Theirs; resolved: boolean }>(
    `SELECT c.kind, c.content, c.theirs,
            EXISTS (SELECT FROM report_change r WHERE r.conference_id = $1 AND r.report_id = $2 AND r.resolves = c.id)
              AS resolved
       FROM report_change c
      WHERE c.conference_id = $1 AND c.report_id = $2 AND c.id = $3 AND c.outcome = 'conflict'`,
    [conferenceId, report.id, change.conflictId],
  );
  const met = rows[0];
  if (!met) throw new Refused('There is no such conflict.');
  if (met.resolved) return keep(entry, change, { outcome: 'same' }, null);
  if (change.keep === 'theirs') return keep(entry, change, { outcome: 'applied' }, change.conflictId);
  const mine = { ...met.content, kind: met.kind, id: change.id } as EntryChange;
  const { theirs } = met;
  if ('basedOn' in mine) mine.basedOn = change.basedOn;
  if ('was' in mine) {
    if (mine.kind === 'confirm crew') mine.was = theirs.crew ?? mine.was;
    else mine.was = theirs.generalComment ?? mine.was;
  }
  if (mine.kind === 'remove play') mine.marksToo = true;
  if (mine.kind === 'put mark' && theirs.playRemoved) await restorePlay(entry, theirs.playRemoved, change.id);
  return applyEntry(entry, mine, change.conflictId);
}

interface Theirs {
  crew?: ConfirmCrew['was'];
  generalComment?: string;
  playRemoved?: string;
}

/** A mark made on a play that another device removed: choosing the mark brings the play back, last in the log. */
async function restorePlay(entry: Entry, playId: string, changeId: string): Promise<void> {
  const row = await playRow(entry, playId);
  if (!row || row.removed_at === null) return;
  await updatePlay(
    entry.client,
    entry.conferenceId,
    entry.report.gameId,
    { playId, after: playId, id: changeId, play: playOf(row), filmSeconds: row.film_seconds, note: row.note },
    true,
  );
}
