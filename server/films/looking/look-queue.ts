import { randomUUID } from 'node:crypto';
import type pg from 'pg';
import type { Queryable } from '../../database/transaction.ts';
import type { FilmFacts } from '../film-facts.ts';

/** A film that this process has in hand to look at: nobody else does until its lease runs out. */
export interface InHand {
  readonly conferenceId: string;
  readonly slug: string;
  readonly id: string;
  readonly source: 'upload' | 'folder';
  readonly place: string | null;
  readonly bytes: number;
  readonly holder: string;
  /** With this one. */
  readonly attempts: number;
}

/** Renewed while it goes on, so only a process that died has its films taken over. */
const leaseSeconds = 60;
export const renewEveryMs = 15_000;
/** A film on which processes die is not taken up for ever. */
export const mostAttempts = 3;
const waitSeconds = 300;

/** Takes the film that waits longest, of those that are not in another's hand. */
export async function claimNext(pool: pg.Pool): Promise<InHand | undefined> {
  const holder = randomUUID();
  const { rows } = await pool.query<InHand>(
    `UPDATE film f SET in_hand_of = $1, in_hand_until = now() + make_interval(secs => $2), attempts = attempts + 1,
            progress = 0
       FROM conference c
      WHERE c.id = f.conference_id AND (f.conference_id, f.id) = (
        SELECT conference_id, id FROM film
         WHERE state = 'waiting' AND (in_hand_until IS NULL OR in_hand_until <= now())
         ORDER BY made_at, id LIMIT 1 FOR UPDATE SKIP LOCKED)
      RETURNING f.conference_id AS "conferenceId", c.slug, f.id, f.source, f.place, f.bytes::float8 AS bytes,
                f.in_hand_of AS holder, f.attempts`,
    [holder, leaseSeconds],
  );
  return rows[0];
}

const mine = `conference_id = $1 AND id = $2 AND in_hand_of = $3 AND state = 'waiting'`;
const whose = ({ conferenceId, id, holder }: InHand) => [conferenceId, id, holder];

/** Tells how far it is, and keeps it in hand. @returns false when it is no longer: removed, or taken over. */
export async function stillInHand(db: Queryable, film: InHand, progress: number): Promise<boolean> {
  const { rowCount } = await db.query(
    `UPDATE film SET progress = $4, in_hand_until = now() + make_interval(secs => $5) WHERE ${mine}`,
    [...whose(film), progress, leaseSeconds],
  );
  return rowCount === 1;
}

/** It can be watched. @returns false when it was no longer in hand. */
export async function settleReady(
  db: Queryable,
  film: InHand,
  facts: FilmFacts,
  bytes: number,
  madeBytes: number,
): Promise<boolean> {
  const { rowCount } = await db.query(
    `UPDATE film SET state = 'ready', facts = $4, bytes = $5, made_bytes = $6, progress = 1, trouble = NULL,
            in_hand_of = NULL, in_hand_until = NULL WHERE ${mine}`,
    [...whose(film), JSON.stringify(facts), bytes, madeBytes],
  );
  return rowCount === 1;
}

export async function settleRefused(db: Queryable, film: InHand, sentence: string): Promise<boolean> {
  const { rowCount } = await db.query(
    `UPDATE film SET state = 'refused', refused = $4, trouble = NULL, in_hand_of = NULL, in_hand_until = NULL
      WHERE ${mine}`,
    [...whose(film), sentence],
  );
  return rowCount === 1;
}

/** It has to wait for what passes, such as a full disk: another try does not count. */
export async function letWait(db: Queryable, film: InHand, trouble: string): Promise<void> {
  await db.query(
    `UPDATE film SET trouble = $4, attempts = attempts - 1, in_hand_of = NULL,
            in_hand_until = now() + make_interval(secs => $5) WHERE ${mine}`,
    [...whose(film), trouble, waitSeconds],
  );
}

/** Gives it back at once, as a process does that is stopped. */
export async function giveBack(db: Queryable, film: InHand): Promise<void> {
  await db.query(
    `UPDATE film SET attempts = attempts - 1, in_hand_of = NULL, in_hand_until = NULL WHERE ${mine}`,
    whose(film),
  );
}
