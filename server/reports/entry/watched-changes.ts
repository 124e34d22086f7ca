import { sameWatched, type Watched, watchedWithout } from '../../duties/watched.ts';
import type { PutWatched } from './changes.ts';
import { type Entry, keep, type Outcome, Refused } from './keep-change.ts';

export async function putWatched(
  entry: Entry,
  change: PutWatched,
  resolves: string | null,
): Promise<Outcome> {
  const { client, conferenceId, report } = entry;
  const { rows } = await client.query<{ watched: Watched | null }>(
    'SELECT watched FROM report WHERE conference_id = $1 AND id = $2',
    [conferenceId, report.id],
  );
  const now = rows[0]!.watched;
  if (!sameWatched(now, change.watched) && !sameWatched(now, change.was)) {
    return keep(entry, change, { outcome: 'conflict', theirs: { watched: now } }, resolves);
  }
  const ends = change.watched.stretches.flatMap(({ from, to }) => [from, to]).filter((id) => id !== null);
  const logged = new Set(await orderedPlays(entry));
  if (ends.some((id) => !logged.has(id))) {
    throw new Refused('A play where a range of plays begins or ends is no longer in the log; say it again.');
  }
  await keepWatched(entry, report.id, change.watched);
  return keep(entry, change, { outcome: 'applied' }, resolves);
}

/** Before a play is taken out of the log: ranges of whatever report that begin or end there move to its neighbour. */
export async function moveRangesOff(
  entry: Pick<Entry, 'client' | 'conferenceId'>,
  gameId: string,
  playId: string,
): Promise<void> {
  const { rows } = await entry.client.query<{ id: string; watched: Watched }>(
    `SELECT id, watched FROM report WHERE conference_id = $1 AND game_id = $2 AND watched -> 'stretches' @> ANY (ARRAY[
              jsonb_build_array(jsonb_build_object('from', $3::text)), jsonb_build_array(jsonb_build_object('to', $3::text))])
        FOR UPDATE`,
    [entry.conferenceId, gameId, playId],
  );
  if (rows.length === 0) return;
  const plays = await orderedPlays({ ...entry, report: { gameId } });
  for (const { id, watched } of rows) {
    await keepWatched(entry, id, watchedWithout(watched, playId, plays));
  }
}

async function keepWatched(
  { client, conferenceId }: Pick<Entry, 'client' | 'conferenceId'>,
  reportId: string,
  watched: Watched,
): Promise<void> {
  await client.query('UPDATE report SET watched = $3 WHERE conference_id = $1 AND id = $2', [
    conferenceId,
    reportId,
    JSON.stringify(watched),
  ]);
}

async function orderedPlays({
  client,
  conferenceId,
  report,
}: Pick<Entry, 'client' | 'conferenceId'> & { report: { gameId: string } }): Promise<string[]> {
  const { rows } = await client.query<{ id: string }>(
    'SELECT id FROM play WHERE conference_id = $1 AND game_id = $2 AND removed_at IS NULL ORDER BY number',
    [conferenceId, report.gameId],
  );
  return rows.map(({ id }) => id);
}
