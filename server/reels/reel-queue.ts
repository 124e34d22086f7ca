import { randomUUID } from 'node:crypto';
import type pg from 'pg';
import type { Queryable } from '../database/transaction.ts';
import type { ReelFacts } from './plan/reel-places.ts';
import type { ReelPlan } from './plan/reel-plan.ts';

/** A reel that this process has in hand to make: nobody else does until its lease runs out. */
export interface ReelInHand {
  readonly conferenceId: string;
  readonly id: string;
  readonly plan: ReelPlan;
  readonly burnedIn: boolean;
  readonly holder: string;
  /** Since a clip of it was last finished, with this one. */
  readonly attempts: number;
}

/** Renewed while it goes on, so only a process that died has its reels taken over. */
const leaseSeconds = 60;
export const renewEveryMs = 15_000;
/** A reel on which processes die without finishing a clip is not taken up for ever. */
export const mostAttempts = 3;
const waitSeconds = 300;

/** Takes the reel that waits longest, of those that are not in another's hand. */
export async function claimReel(pool: pg.Pool): Promise<ReelInHand | undefined> {
  const { rows } = await pool.query<ReelInHand>(
    `UPDATE reel r SET in_hand_of = $1, in_hand_until = now() + make_interval(secs => $2), attempts = attempts + 1
      WHERE (r.conference_id, r.id) = (
        SELECT conference_id, id FROM reel
         WHERE state = 'waiting' AND (in_hand_until IS NULL OR in_hand_until <= now())
         ORDER BY asked_at, id LIMIT 1 FOR UPDATE SKIP LOCKED)
      RETURNING r.conference_id AS "conferenceId", r.id, r.plan, r.burned_in AS "burnedIn", r.in_hand_of AS holder,
                r.attempts`,
    [randomUUID(), leaseSeconds],
  );
  return rows[0];
}

const mine = `conference_id = $1 AND id = $2 AND in_hand_of = $3 AND state = 'waiting'`;
const whose = ({ conferenceId, id, holder }: ReelInHand) => [conferenceId, id, holder];

/**
 * Tells how far it is, and keeps it in hand. @param made a clip was finished: earlier tries no longer count
 * @returns false when it is no longer in hand: removed, or taken over
 */
export async function reelStillInHand(
  db: Queryable,
  reel: ReelInHand,
  progress: number,
  made = false,
): Promise<boolean> {
  const { rowCount } = await db.query(
    `UPDATE reel SET progress = $4, trouble = NULL, in_hand_until = now() + make_interval(secs => $5),
            attempts = CASE WHEN $6 THEN 1 ELSE attempts END WHERE ${mine}`,
    [...whose(reel), progress, leaseSeconds, made],
  );
  return rowCount === 1;
}

/** It can be watched. @returns false when it was no longer in hand. */
export async function settleReel(
  db: Queryable,
  reel: ReelInHand,
  facts: ReelFacts,
  bytes: number,
): Promise<boolean> {
  const { rowCount } = await db.query(
    `UPDATE reel SET state = 'ready', facts = $4, bytes = $5, progress = 1, trouble = NULL, in_hand_of = NULL,
            in_hand_until = NULL WHERE ${mine}`,
    [...whose(reel), JSON.stringify(facts), bytes],
  );
  return rowCount === 1;
}

export async function failReel(db: Queryable, reel: ReelInHand, sentence: string): Promise<void> {
  await db.query(
    `UPDATE reel SET state = 'failed', failed = $4, trouble = NULL, in_hand_of = NULL, in_hand_until = NULL
      WHERE ${mine}`,
    [...whose(reel), sentence],
  );
}

/** It has to wait for what passes, such as a full disk: another try does not count. */
export async function letReelWait(db: Queryable, reel: ReelInHand, trouble: string): Promise<void> {
  await db.query(
    `UPDATE reel SET trouble = $4, attempts = greatest(0, attempts - 1), in_hand_of = NULL,
            in_hand_until = now() + make_interval(secs => $5) WHERE ${mine}`,
    [...whose(reel), trouble, waitSeconds],
  );
}

/** Gives it back at once, as a process does that is stopped. */
export async function giveReelBack(db: Queryable, reel: ReelInHand): Promise<void> {
  await db.query(
    `UPDATE reel SET attempts = greatest(0, attempts - 1), in_hand_of = NULL, in_hand_until = NULL WHERE ${mine}`,
    whose(reel),
  );
}
