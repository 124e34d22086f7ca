import type { Play } from '../../football/play.ts';
import { insertPlay, lockPlayLog, playLogIsClosed, removePlayRow, updatePlay } from '../../games/play-log.ts';
import { columnsOf, type PlayColumns, playOf } from '../../games/play-rows.ts';
import type { PutPlay, RemovePlay } from './changes.ts';
import { type Entry, keep, type Outcome, Refused } from './keep-change.ts';
import { moveRangesOff } from './watched-changes.ts';

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

export async function putPlay(entry: Entry, change: PutPlay, resolves: string | null): Promise<Outcome> {
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

export async function removePlay(
  entry: Entry,
  change: RemovePlay,
  resolves: string | null,
): Promise<Outcome> {
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
  await moveRangesOff(entry, report.gameId, change.playId);
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

/** A mark made on a play that another device removed: choosing the mark brings the play back, last in the log. */
export async function restorePlay(entry: Entry, playId: string, changeId: string): Promise<void> {
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
