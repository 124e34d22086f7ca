import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { filmNotes } from '../films/film-facts.ts';
import { type Film, listFilms } from '../films/film-store.ts';
import { placesInFilms } from '../films/marks-store.ts';
import { type Recording, recordingAddress } from '../narration/recording.ts';
import { listRecordings } from '../narration/recording-store.ts';
import { secondsOfCut } from '../timeline/cut-length.ts';
import { cutSchema } from '../timeline/cut-schema.ts';
import { notFound } from '../web/problem.ts';
import { readCut } from './stores/cut-store.ts';
import { readDefaultCuts } from './stores/default-cuts.ts';
import { gameOfLoggedPlay } from './stores/play-facts.ts';
import { playIn } from './stores/play-store.ts';
import { readProgram } from './stores/program-rows.ts';

const filmAnswer = z.object({
  id: z.uuid(),
  angle: z.string(),
  address: z.string().describe('of its file, with byte ranges'),
  seconds: z.number(),
  rate: z.number().describe('frames a second, on average'),
  sound: z.boolean(),
  notes: z.array(z.string()),
  snap: z
    .object({ seconds: z.number(), by: z.enum(['mark', 'marks', 'log', 'near']) })
    .nullable()
    .describe('where the play’s snap is in it, as far as is known'),
});

export const recordingAnswer = z.object({
  id: z.uuid(),
  seconds: z.number(),
  bytes: z.number().describe('of its file: FLAC, 48 kHz, one channel'),
  sha256: z.string().describe('of that file, in hexadecimal'),
  address: z.string().describe('of that file, with byte ranges'),
  madeBy: z.string(),
  madeAt: z.string(),
});

export const answerOfRecording = (
  programId: string,
  { id, seconds, bytes, sha256, madeBy, madeAt }: Recording,
): z.output<typeof recordingAnswer> => ({
  ...{ id, seconds, bytes, sha256, madeBy },
  address: recordingAddress(programId, id),
  madeAt: madeAt.toISOString(),
});

/** How a play is cut, and what it can be cut from. */
export const cutAnswer = z.object({
  isKept: z.boolean().describe('somebody cut it; else `cut` is the default'),
  version: z.int().describe('of the cut, to be sent with the next; 0 while nobody cut it'),
  cut: cutSchema.nullable().describe('null where there is nothing to cut it from: see `lacking`'),
  lacking: z.string().nullable(),
  seconds: z.number().describe('how long it runs, slow repeats and freezes counted'),
  changedBy: z.string().nullable(),
  changedAt: z.string().nullable(),
  films: z.array(filmAnswer).describe('of the play’s game that can be cut'),
  recordings: z
    .array(recordingAnswer)
    .describe('of somebody who spoke its narration, the newest first; the cut names the one that is heard'),
});
type CutAnswer = z.output<typeof cutAnswer>;

/** @throws Problem 404 when the program has no such play, or its log no longer has it */
export async function cutNow(
  { database: { pool } }: FastifyInstance,
  conferenceId: string,
  programId: string,
  playId: string,
): Promise<CutAnswer> {
  const play = playIn(await readProgram(pool, conferenceId, programId), playId);
  const gameId = await gameOfPlay(pool, conferenceId, playId);
  const kept = await readCut(pool, conferenceId, programId, playId);
  const usual = kept
    ? undefined
    : (await readDefaultCuts(pool, conferenceId, [{ ...play, gameId }])).get(playId);
  const cut = kept?.cut ?? (usual && 'cut' in usual ? usual.cut : null);
  const recordings = await listRecordings(pool, conferenceId, { programId, playId });
  const films = (await listFilms(pool, conferenceId, gameId)).filter(canBeCut);
  const filmIds = films.map(({ id }) => id);
  const places = await placesInFilms(pool, conferenceId, gameId, filmIds);
  return {
    isKept: kept !== undefined,
    version: kept?.version ?? 0,
    cut,
    lacking: cut === null && usual && 'lacking' in usual ? usual.lacking : null,
    seconds: cut === null ? 0 : secondsOfCut(cut),
    changedBy: kept?.changedBy ?? null,
    changedAt: kept?.changedAt.toISOString() ?? null,
    films: films.map((film) => ({
      ...{ id: film.id, angle: film.angle, address: `/games/${gameId}/films/${film.id}/file` },
      ...{ seconds: film.facts!.seconds, rate: film.facts!.rate, sound: film.facts!.sound },
      notes: filmNotes(film.facts!),
      snap: places.get(film.id)?.get(playId) ?? null,
    })),
    recordings: recordings.map((one) => answerOfRecording(programId, one)),
  };
}

const canBeCut = ({ source, state, facts }: Film) =>
  source !== 'link' && state === 'ready' && facts !== null && facts.form !== null;

/** @throws Problem 404 when the log no longer has the play */
export async function gameOfPlay(
  pool: FastifyInstance['database']['pool'],
  conferenceId: string,
  playId: string,
): Promise<string> {
  const gameId = await gameOfLoggedPlay(pool, conferenceId, playId);
  if (gameId === undefined) throw notFound('play in its log');
  return gameId;
}
