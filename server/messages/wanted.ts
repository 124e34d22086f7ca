import type { Queryable } from '../database/transaction.ts';
import type { Wanted } from './kinds.ts';

interface Whose {
  readonly conferenceId: string;
  readonly personId: string;
}

/** How somebody wants to be mailed; null when there is no such active person. */
export async function readWanted(
  db: Queryable,
  { conferenceId, personId }: Whose,
): Promise<{
  wanted: Wanted;
  email: string;
  conference: string;
  refusedAt: Date | null;
  refusedBecause: string | null;
} | null> {
  const { rows } = await db.query(
    `SELECT p.mail_wanted AS wanted, p.email, c.name AS conference, p.mail_refused_at AS "refusedAt",
            p.mail_refused_because AS "refusedBecause"
       FROM person p JOIN conference c ON c.id = p.conference_id
      WHERE p.conference_id = $1 AND p.id = $2 AND p.active`,
    [conferenceId, personId],
  );
  return rows[0] ?? null;
}

/** Keeps it; what waits for a daily mail that is no longer wanted is settled anew, at once. */
export async function keepWanted(
  client: Queryable,
  { conferenceId, personId }: Whose,
  wanted: Wanted,
): Promise<void> {
  await client.query('UPDATE person SET mail_wanted = $3 WHERE conference_id = $1 AND id = $2', [
    conferenceId,
    personId,
    wanted,
  ]);
  if (wanted === 'daily') return;
  await client.query(
    `UPDATE message SET digest = false, next_attempt = now()
      WHERE conference_id = $1 AND person_id = $2 AND mail = 'waiting' AND digest AND attempts = 0`,
    [conferenceId, personId],
  );
}
