import { rename, rm, stat } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { hasFfmpeg } from '../films/looking/tool-process.ts';
import { planSchema } from './plan/reel-plan.ts';
import type { ReelFiles } from './reel-files.ts';
import {
  claimReel,
  failReel,
  giveReelBack,
  letReelWait,
  mostAttempts,
  type ReelInHand,
  reelStillInHand,
  renewEveryMs,
  settleReel,
} from './reel-queue.ts';
import { renderReel } from './rendering/render-reel.ts';
import { diskFull, ffmpegGone, ReelFailed, ReelWaits } from './rendering/trouble.ts';

export interface ReelMaker {
  readonly app: FastifyInstance;
  readonly files: ReelFiles;
  /** Aborted when the process stops. */
  readonly stop: AbortSignal;
}

/** A progress that is nearly the last one told is not worth a query. */
const leastStep = 0.02;

/** Makes the reel that waits longest. @returns false when none waits, or nothing can be made here. */
export async function makeNextReel(maker: ReelMaker): Promise<boolean> {
  const { pool } = maker.app.database;
  if (maker.stop.aborted || !(await hasFfmpeg())) return false;
  const reel = await claimReel(pool);
  if (!reel) return false;
  if (reel.attempts > mostAttempts) {
    await failReel(
      pool,
      reel,
      `Making the reel was broken off ${mostAttempts} times at the same clip, each time with the program. Look at that play’s film, or leave it out, and make the reel again.`,
    );
    return true;
  }
  const gone = new AbortController();
  let progress = 0;
  let told = 0;
  const tell = (made = false) =>
    // A database that is away for a moment loses nothing: the lease is longer.
    void reelStillInHand(pool, reel, progress, made).then(
      (held) => held || gone.abort(),
      () => {},
    );
  const renew = setInterval(tell, renewEveryMs);
  const onProgress = (part: number, made = false) => {
    progress = part;
    if (!made && part - told < leastStep) return;
    told = part;
    tell(made);
  };
  const signal = AbortSignal.any([maker.stop, gone.signal]);
  try {
    await make(maker, reel, signal, onProgress);
  } catch (error) {
    await settleTrouble(maker, reel, error, signal);
  } finally {
    clearInterval(renew);
    await maker.files.endWork(reel.conferenceId, reel.holder);
  }
  return true;
}

async function make(
  { app, files }: ReelMaker,
  reel: ReelInHand,
  signal: AbortSignal,
  onProgress: (part: number, made?: boolean) => void,
): Promise<void> {
  const { conferenceId, id, holder, burnedIn } = reel;
  const plan = planSchema.parse(reel.plan);
  const to = path.join(files.work(conferenceId, holder), 'reel.mp4');
  const facts = await renderReel({
    ...{ app, files, conferenceId, holder, plan, burnedIn, to, signal, onProgress },
  });
  const file = files.reel(conferenceId, id);
  await rename(to, file);
  const { size } = await stat(file);
  // Removed, or made by another, while its last bytes were written.
  if (!(await settleReel(app.database.pool, reel, facts, size))) {
    const { rowCount } = await app.database.pool.query(
      'SELECT FROM reel WHERE conference_id = $1 AND id = $2',
      [conferenceId, id],
    );
    if (rowCount === 0) await rm(file, { force: true });
  }
}

async function settleTrouble(
  { app, stop }: ReelMaker,
  reel: ReelInHand,
  error: unknown,
  signal: AbortSignal,
): Promise<void> {
  const { pool } = app.database;
  if (signal.aborted) {
    if (stop.aborted) await giveReelBack(pool, reel);
    return;
  }
  if (error instanceof ReelFailed) return failReel(pool, reel, error.message);
  if (error instanceof ReelWaits) return letReelWait(pool, reel, error.message);
  if ((error as NodeJS.ErrnoException).code === 'ENOSPC') return letReelWait(pool, reel, diskFull);
  if (!(await hasFfmpeg())) return letReelWait(pool, reel, ffmpegGone);
  await letReelWait(pool, reel, 'Making the reel did not work just now; it is tried again in five minutes.');
  throw error;
}
