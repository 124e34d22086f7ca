import { type Consequence, consequenceAfter, unfitConsequence } from '../../duties/consequence.ts';
import { findingsOf } from '../../duties/finding.ts';
import type { PutMark, RemoveMark } from './changes.ts';
import {
  changeValues,
  type Entry,
  type Kept,
  keep,
  keepChange,
  type Outcome,
  Refused,
} from './keep-change.ts';

interface MarkRow {
  id: string;
  play_id: string;
  position: string;
  duty_key: string;
  finding: string;
  comment: string;
  consequence: Consequence | null;
  change_id: string | null;
  removed_at: string | null;
}

export async function putMark(entry: Entry, change: PutMark, resolves: string | null): Promise<Kept> {
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
  const unfit = unfitConsequence(change.finding, change.consequence);
  if (unfit) throw new Refused(unfit);
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
    if (sameFinding(seen.beside, change)) return keep(entry, change, { outcome: 'same' }, resolves);
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
                              consequence, change_id)
     VALUES ($1, $10, $2, $11, $12, $13, $14, $15, $16, $17, $3)
     ON CONFLICT (conference_id, id) DO UPDATE
       SET play_id = EXCLUDED.play_id, person_id = EXCLUDED.person_id, position = EXCLUDED.position,
           duty_key = EXCLUDED.duty_key, finding = EXCLUDED.finding, comment = EXCLUDED.comment,
           consequence = EXCLUDED.consequence, change_id = EXCLUDED.change_id, updated_at = now(),
           removed_at = NULL, version = observation.version + 1`,
    values: [
      ...changeValues(entry, change, applied, resolves),
      change.markId,
      change.playId,
      seen.person,
      change.position,
      change.dutyKey,
      change.finding,
      change.comment,
      consequenceAfter(change, (seen.mark ?? seen.beside)?.consequence),
    ],
  });
  return applied;
}

const sameMark = (row: MarkRow, change: PutMark) =>
  row.removed_at === null &&
  row.play_id === change.playId &&
  row.position === change.position &&
  row.duty_key === change.dutyKey &&
  sameFinding(row, change);

/** The other version as an observer is shown it. */
const markSeen = (row: MarkRow) => ({
  markId: row.id,
  playId: row.play_id,
  position: row.position,
  dutyKey: row.duty_key,
  finding: row.finding,
  comment: row.comment,
  consequence: row.consequence,
  removed: row.removed_at !== null,
  changeId: row.change_id,
});

export async function removeMark(
  entry: Entry,
  change: RemoveMark,
  resolves: string | null,
): Promise<Outcome> {
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

const sameFinding = (row: MarkRow, change: PutMark) =>
  row.finding === change.finding &&
  row.comment === change.comment &&
  (change.consequence === undefined || row.consequence === change.consequence);
