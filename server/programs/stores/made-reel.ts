import { z } from 'zod';
import type { Queryable } from '../../database/transaction.ts';
import type { MadeReel } from '../edition-places.ts';

const places = z.object({
  frames: z.int(),
  plays: z.array(z.object({ number: z.int(), frame: z.int(), frames: z.int() })),
  questions: z.array(z.object({ number: z.int(), frame: z.int() })),
});
const stops = z.array(z.object({ play: z.int().nullable(), frames: z.int() }));

/** What the newest reel of an edition that can be watched shows where; null while there is none. */
export async function readMadeReel(
  db: Queryable,
  conferenceId: string,
  { programId, number }: { readonly programId: string; readonly number: number },
): Promise<MadeReel | null> {
  const { rows } = await db.query<{ facts: unknown; stops: unknown }>(
    `SELECT facts, jsonb_path_query_array(plan, '$.segments[*] ? (@.stops == true)') AS stops FROM reel
      WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 AND state = 'ready'
      ORDER BY asked_at DESC, id LIMIT 1`,
    [conferenceId, programId, number],
  );
  return rows[0] ? { ...places.parse(rows[0].facts), stops: stops.parse(rows[0].stops) } : null;
}
