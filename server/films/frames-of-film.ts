import { stat } from 'node:fs/promises';
import type { FastifyInstance } from 'fastify';
import { conflict, Problem } from '../web/problem.ts';
import { fileGone, placeOfFilm } from './film-place.ts';
import type { Film } from './film-store.ts';
import { type FilmFrames, readFrames } from './looking/film-frames.ts';
import { keepFrames, readKeptFrames } from './looking/kept-frames.ts';
import { limits } from './looking/probe.ts';
import { hasFfmpeg, noFfmpeg } from './looking/tool-process.ts';

const underway = new Map<string, Promise<FilmFrames>>();

/**
 * When each frame of a film is shown: as it was kept when the film was looked at, else read of its file now and kept.
 * @throws Problem 409 where it is a link or not ready, 404 where its file is gone, 503 without ffmpeg
 */
export async function framesOfFilm(
  app: FastifyInstance,
  conferenceId: string,
  film: Film,
): Promise<FilmFrames> {
  if (film.source === 'link')
    throw conflict(
      'This film is only linked to: it can be watched, but its frames are not known here. Upload its file, or put it into the server’s folder.',
    );
  if (film.state !== 'ready')
    throw conflict('This film cannot be watched yet, so its frames are not known. Wait until it is ready.');
  const file = await placeOfFilm(app, conferenceId, film);
  if (file === undefined) throw new Problem(404, 'Not found', fileGone);
  const { mtimeMs } = await stat(file);
  const kept = await readKeptFrames(app.films.files.frames(conferenceId, film.id), mtimeMs);
  if (kept) return kept;
  const key = `${conferenceId} ${film.id}`;
  const reading = underway.get(key) ?? readAndKeep(app, conferenceId, film.id, file);
  underway.set(key, reading);
  return reading.finally(() => underway.delete(key));
}

async function readAndKeep(
  app: FastifyInstance,
  conferenceId: string,
  filmId: string,
  file: string,
): Promise<FilmFrames> {
  const { files } = app.films;
  if (!(await hasFfmpeg())) throw new Problem(503, 'Not now', noFfmpeg);
  const { errors: _, tookTooLong, ...frames } = await readFrames(file, limits, AbortSignal.timeout(600_000));
  if (tookTooLong || frames.ticks.length === 0)
    throw new Problem(503, 'Not now', 'The film’s frames could not be read just now; try again in a while.');
  await files.prepare(conferenceId);
  await keepFrames(files.frames(conferenceId, filmId), frames);
  return frames;
}
