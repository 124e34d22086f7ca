import type pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { conflict, notFound } from '../web/problem.ts';
import { freezePlan } from './freeze-plan.ts';
import type { ReelFacts } from './plan/reel-places.ts';
import type { ReelPlan } from './plan/reel-plan.ts';

export const reelStates = ['waiting', 'ready', 'failed'] as const;

export interface Reel {
  readonly id: string;
  readonly programId: string;
  /** Null: a private preview of the program as it was. */
  readonly edition: number | null;
  readonly burnedIn: boolean;
  readonly state: (typeof reelStates)[number];
  readonly plan: ReelPlan;
  readonly facts: ReelFacts | null;
  readonly bytes: number;
  readonly failed: string | null;
  readonly trouble: string | null;
  readonly progress: number;
  /** Somebody is at it. */
  readonly underway: boolean;
  readonly askedBy: string | null;
  readonly askedAt: Date;
}

const columns = `r.id, r.program_id AS "programId", r.edition_number AS edition, r.burned_in AS "burnedIn", r.state, r.plan,
  r.facts, r.bytes::float8 AS bytes, r.failed, r.trouble, r.progress, r.in_hand_of IS NOT NULL AS underway,
  r.asked_by AS "askedBy", r.asked_at AS "askedAt"`;

/** Reels of a program and of its editions, the newest first. */
export async function listReels(db: Queryable, conferenceId: string, programId: string): Promise<Reel[]> {
  const { rows } = await db.query<Reel>(
    `SELECT ${columns} FROM reel r WHERE r.conference_id = $1 AND r.program_id = $2 ORDER BY r.asked_at DESC, r.id`,
    [conferenceId, programId],
  );
  return rows;
}

/** @throws Problem 404 when the program has no such reel */
export async function readReel(
  db: Queryable,
  conferenceId: string,
  programId: string,
  reelId: string,
): Promise<Reel> {
  const { rows } = await db.query<Reel>(
    `SELECT ${columns} FROM reel r WHERE r.conference_id = $1 AND r.program_id = $2 AND r.id = $3`,
    [conferenceId, programId, reelId],
  );
  if (!rows[0]) throw notFound('reel of this training program');
  return rows[0];
}

/** So many are kept of a program; another is made once one was removed. */
const mostReels = 20;

/**
 * Asks for a reel: of an edition, or (null) of the program as it is now, for the coordinator alone. It shows what there is
 * now, whatever changes until it is made.
 *
 * @throws Problem 404 without such a program or edition, 409 when it has no play, or too many reels
 */
export async function askForReel(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  { edition, burnedIn }: { edition: number | null; burnedIn: boolean },
): Promise<string> {
  return inTransaction(pool, async (client) => {
    const plan = await freezePlan(client, conferenceId, programId, edition);
    const { rows: kept } = await client.query<{ reels: number }>(
      'SELECT count(*)::int AS reels FROM reel WHERE conference_id = $1 AND program_id = $2',
      [conferenceId, programId],
    );
    if (kept[0]!.reels >= mostReels)
      throw conflict(`This program has ${mostReels} reels; remove one that is no longer needed first.`);
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO reel (conference_id, program_id, edition_number, plan, burned_in, state, asked_by)
       VALUES ($1, $2, $3, $4, $5, 'waiting', $6) RETURNING id`,
      [conferenceId, programId, edition, JSON.stringify(plan), burnedIn, personId],
    );
    const { id } = rows[0]!;
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'asked for a reel', subjectKind: 'reel', subjectId: id },
      after: { programId, edition, burnedIn },
    });
    return id;
  });
}

/** Removes a reel; the caller then removes its file. @throws Problem 404 */
export async function removeReel(
  pool: pg.Pool,
  { conferenceId, personId }: PersonActing,
  programId: string,
  reelId: string,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { edition } = await readReel(client, conferenceId, programId, reelId);
    await client.query('DELETE FROM reel WHERE conference_id = $1 AND id = $2', [conferenceId, reelId]);
    await appendAudit(client, {
      ...{ conferenceId, actorId: personId, action: 'removed a reel' },
      ...{ subjectKind: 'reel', subjectId: reelId, before: { programId, edition } },
    });
  });
}
