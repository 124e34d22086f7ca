import { randomUUID } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { rename, rm, stat } from 'node:fs/promises';
import { pipeline } from 'node:stream/promises';
import type { FastifyInstance } from 'fastify';
import type { PersonActing } from '../accounts/acting.ts';
import { hasFfmpeg } from '../films/looking/tool-process.ts';
import { Problem } from '../web/problem.ts';
import { cleanSound } from './clean-sound.ts';
import { mostBytes } from './recording.ts';
import { sha256Of } from './recording-files.ts';
import { addRecording, type PlayOfProgram } from './recording-store.ts';
import { emptyFile } from './sound-probed.ts';

const refuse = (sentence: string) => new Problem(400, 'Not a narration', sentence);
export const tooLarge = new Problem(
  413,
  'Too large',
  `The file is larger than ${mostBytes / 1e6} MB. Export it as MP3, M4A or OGG, which need far less.`,
);
const noFfmpeg = new Problem(
  503,
  'No ffmpeg',
  'ffmpeg is not installed on this server, so no recording can be kept: whoever runs it has to install ffmpeg, with ffprobe. Then keep it again.',
  [],
  { 'retry-after': '60' },
);
const noRoom = new Problem(
  507,
  'No room left to save',
  'The disk of the server has too little room for this recording. Whoever runs the server has to free some; then keep it again.',
);
/** Less than this is no room to write into. */
const leastRoom = 64e6;

/**
 * Takes a sound as it comes, looks at it in a process with limits, and keeps it in the one form that is kept.
 * @returns the recording's id
 * @throws Problem 400 when it is no sound, too long, empty or cut off; 413 when it is too large; 503 without ffmpeg
 */
export async function keepRecording(
  { database: { pool }, narration: { files, oneAtATime, stop } }: FastifyInstance,
  acting: PersonActing,
  play: PlayOfProgram,
  sound: AsyncIterable<Uint8Array>,
): Promise<string> {
  if (!(await hasFfmpeg())) throw noFfmpeg;
  const { conferenceId } = acting;
  const id = randomUUID();
  await files.prepare(conferenceId);
  if (((await files.room()) ?? Number.POSITIVE_INFINITY) < leastRoom) throw noRoom;
  const [came, made] = (['came', 'made'] as const).map((what) =>
    files.unfinished(conferenceId, id, what),
  ) as [string, string];
  const file = files.kept(conferenceId, id);
  try {
    await pipeline(limited(sound), createWriteStream(came, { mode: 0o600 }));
    if ((await stat(came)).size === 0) throw refuse(emptyFile.refused);
    const cleaned = await oneAtATime(() => cleanSound(came, made, stop));
    if ('refused' in cleaned) throw refuse(cleaned.refused);
    const { size: bytes } = await stat(made);
    const sha256 = await sha256Of(made);
    await rename(made, file);
    await addRecording(pool, acting, play, { id, bytes, sha256, seconds: cleaned.seconds });
    return id;
  } catch (error) {
    await rm(file, { force: true });
    throw (error as NodeJS.ErrnoException).code === 'ENOSPC' ? noRoom : error;
  } finally {
    await Promise.all([came, made].map((one) => rm(one, { force: true })));
  }
}

/** Passes a file on up to the largest size. */
async function* limited(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  let bytes = 0;
  for await (const chunk of source) {
    bytes += chunk.length;
    if (bytes > mostBytes) throw tooLarge;
    yield chunk;
  }
}
