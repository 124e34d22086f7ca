import { z } from 'zod';
import { clockInWords } from '../football/clock-words.ts';
import { leastSeconds, longestSeconds, mostSeconds } from './recording.ts';

/** Of what `ffprobe -show_streams -show_format -of json` writes, what is looked at. */
const probed = z.object({
  streams: z.array(z.object({ codec_type: z.string().optional() })).default([]),
  format: z.object({ format_name: z.string(), duration: z.coerce.number().optional() }).optional(),
});

/** What a file says of its sound. */
interface PromisedSound {
  /** Undefined where it does not tell, as what a browser records does not, or only guesses. */
  readonly seconds: number | undefined;
}
/** Why it is not kept: a sentence for whoever sent it. */
export interface RefusedSound {
  readonly refused: string;
}
const refused = (sentence: string): RefusedSound => ({ refused: sentence });

export const notASound = refused(
  'This is not a sound that can be read: WAV, MP3, M4A, OGG, FLAC and WebM can. Record it here, or export it as one of these.',
);
export const emptyFile = refused('The file is empty. Record the narration again, or send the whole file.');
export const tookTooLong = refused(
  'Reading the sound took far longer than a narration takes, so it was given up. Export it anew, or record it here.',
);

/** Their length is reckoned from the bytes, and is wrong where the rate changes. */
const guessed = new Set(['mp3', 'aac']);

export function promisedBy(answer: string): PromisedSound | RefusedSound {
  const read = probed.safeParse(parsed(answer));
  if (!read.success || !read.data.format) return notASound;
  const { streams, format } = read.data;
  if (!streams.some(({ codec_type }) => codec_type === 'audio')) return notASound;
  return { seconds: guessed.has(format.format_name) ? undefined : format.duration };
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** By so much what a file promises may be off. */
const mostMissing = (promised: number) => Math.max(0.5, 0.02 * promised);

/** Whether what could be read of it is a narration. @param seconds that were read, a second more than may be at most */
export function wrongWithSound({ seconds: promised }: PromisedSound, seconds: number): RefusedSound | null {
  if (seconds > longestSeconds)
    return refused(
      `The recording runs ${promised !== undefined && promised > longestSeconds ? clockInWords(promised) : `more than ${clockInWords(mostSeconds)}`}; what is said over a play may run ${clockInWords(mostSeconds)} at most. Make it shorter.`,
    );
  if (seconds < leastSeconds)
    return refused('There is no sound in this recording, or it is too short to hear. Record it again.');
  if (promised !== undefined && promised - seconds > mostMissing(promised))
    return refused(
      `The sound breaks off after ${clockInWords(seconds)} of ${clockInWords(promised)}: its file is not whole. Send the whole file.`,
    );
  return null;
}
