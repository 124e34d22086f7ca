import { rename, rm } from 'node:fs/promises';
import type pg from 'pg';
import { bytesOf, type FilmFiles } from '../film-files.ts';
import { placeOfOffered } from '../offered-files.ts';
import { readFrames } from './film-frames.ts';
import { keepFrames } from './kept-frames.ts';
import {
  claimNext,
  giveBack,
  type InHand,
  letWait,
  mostAttempts,
  renewEveryMs,
  settleReady,
  settleRefused,
  stillInHand,
} from './look-queue.ts';
import { makeForBrowsers } from './make-for-browsers.ts';
import { limits, lookAt } from './probe.ts';
import { isRefused, tooLong } from './probed.ts';
import { hasFfmpeg } from './tool-process.ts';

interface Looker {
  readonly pool: pg.Pool;
  readonly files: FilmFiles;
  readonly filmDir: string | undefined;
  /** Aborted when the process stops. */
  readonly stop: AbortSignal;
}

/** Looking takes a small part of the time that making takes. */
const partOfLooking = 0.3;

/** Looks at the film that waits longest. @returns false when none waits, or nothing can be looked at here. */
export async function lookAtNext(looker: Looker): Promise<boolean> {
  if (looker.stop.aborted || !(await hasFfmpeg())) return false;
  const film = await claimNext(looker.pool);
  if (!film) return false;
  if (film.attempts > mostAttempts) {
    return refuse(
      looker,
      film,
      `Looking at the film was broken off ${mostAttempts} times, each time with the program. Export it anew and try again.`,
    );
  }
  const gone = new AbortController();
  let progress = 0;
  const renew = setInterval(() => {
    // A database that is away for a moment loses nothing: the lease is longer.
    void stillInHand(looker.pool, film, progress).then(
      (held) => held || gone.abort(),
      () => {},
    );
  }, renewEveryMs);
  let told = 0;
  const onProgress = (part: number) => {
    progress = part;
    if (part - told < 0.05) return;
    told = part;
    void stillInHand(looker.pool, film, part).catch(() => {});
  };
  const signal = AbortSignal.any([looker.stop, gone.signal]);
  try {
    await lookAndMake(looker, film, signal, onProgress);
  } catch (error) {
    await rm(looker.files.unfinished(film.conferenceId, film.id, film.holder), { force: true });
    if (!signal.aborted) {
      await letWait(
        looker.pool,
        film,
        'Looking at the film did not work just now; it is tried again in five minutes.',
      );
      throw error;
    }
    if (looker.stop.aborted) await giveBack(looker.pool, film);
  } finally {
    clearInterval(renew);
  }
  return true;
}

async function refuse({ pool, files }: Looker, film: InHand, sentence: string): Promise<true> {
  // Nothing of it is kept; what lies in the server's folder is not ours.
  if (await settleRefused(pool, film, sentence)) await files.remove(film.conferenceId, film.id);
  return true;
}

async function lookAndMake(
  looker: Looker,
  film: InHand,
  signal: AbortSignal,
  onProgress: (part: number) => void,
): Promise<unknown> {
  const { pool, files, filmDir } = looker;
  const { conferenceId, id } = film;
  const file =
    film.source === 'upload'
      ? files.came(conferenceId, id)
      : await placeOfOffered(filmDir, film.slug, film.place!);
  const bytes = file === undefined ? 0 : await bytesOf(file);
  if (file === undefined || bytes === 0)
    return refuse(looker, film, 'Its file is no longer on the server. Bring the film again.');
  const looked = await lookAt(file, signal, (part) => onProgress(part * partOfLooking));
  if (isRefused(looked)) return refuse(looker, film, looked.refused);
  const { facts, form, frames } = looked;
  await files.prepare(conferenceId);
  if (form.make === null) {
    await keepFrames(files.frames(conferenceId, id), frames);
    return settleReady(pool, film, facts, bytes, 0);
  }

  const to = files.unfinished(conferenceId, id, film.holder);
  const made = await makeForBrowsers({ from: file, to, bytes }, facts, form.make, signal, (part) =>
    onProgress(partOfLooking + part * (1 - partOfLooking)),
  );
  if (made === 'no room') {
    await rm(to, { force: true });
    return letWait(
      pool,
      film,
      'The disk of the server is full. Whoever runs it has to free some room; it is tried again every five minutes.',
    );
  }
  if (made !== 'made') {
    await rm(to, { force: true });
    return refuse(
      looker,
      film,
      made === 'took too long'
        ? tooLong.refused
        : 'Its picture could not be put into a file that browsers play. Export the film as MP4 with H.264 and try again.',
    );
  }
  const { tookTooLong, errors: _, ...shown } = await readFrames(to, limits, signal);
  // Without them they are read when somebody cuts the film.
  if (!tookTooLong && shown.ticks.length > 0) await keepFrames(files.frames(conferenceId, id), shown);
  await rename(to, files.made(conferenceId, id));
  const settled = await settleReady(pool, film, facts, bytes, await bytesOf(files.made(conferenceId, id)));
  // The pictures are in the new file, bit by bit.
  if (settled && film.source === 'upload') await rm(file, { force: true });
  return settled;
}
