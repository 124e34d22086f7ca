import type { Queryable } from '../database/transaction.ts';
import type { ReelFiles } from './reel-files.ts';

/**
 * Removes files of reels that are gone, as one goes with its program, and clips beyond what is kept. All of it can be made
 * again.
 */
export async function tidyReels(db: Queryable, files: ReelFiles): Promise<void> {
  const here = await files.conferences();
  if (here.length === 0) return;
  const { rows: known } = await db.query<{ id: string }>('SELECT id FROM conference');
  const conferences = new Set(known.map(({ id }) => id));
  for (const conferenceId of here) {
    if (!conferences.has(conferenceId)) {
      await files.removeAll(conferenceId);
      continue;
    }
    const { rows } = await db.query<{ id: string; holder: string | null }>(
      'SELECT id, in_hand_of AS holder FROM reel WHERE conference_id = $1',
      [conferenceId],
    );
    const reels = new Set(rows.map(({ id }) => id));
    for (const id of await files.reels(conferenceId))
      if (!reels.has(id)) await files.removeReel(conferenceId, id);
    const { rows: recordings } = await db.query<{ id: string }>(
      'SELECT id FROM narration WHERE conference_id = $1',
      [conferenceId],
    );
    await files.sweep(
      conferenceId,
      new Set(rows.flatMap(({ holder }) => holder ?? [])),
      new Set(recordings.map(({ id }) => id)),
    );
  }
}
