import { mostPixels } from '../films/looking/probed.ts';
import { input, type Limits, runTool } from '../films/looking/tool-process.ts';
import { longestSeconds } from './recording.ts';
import { notASound, promisedBy, type RefusedSound, tookTooLong, wrongWithSound } from './sound-probed.ts';

/**
 * Strangers' sounds: no other file, no network, no format but those of sounds, no decoder but theirs and those of the
 * covers that lie in them, of which none may fill the memory.
 */
const ofStrangers = [
  ...['-protocol_whitelist', 'file', '-format_whitelist', 'wav,mp3,mov,ogg,flac,aac,matroska'],
  ...['-max_pixels', String(mostPixels)],
  '-codec_whitelist',
  [
    ...['opus', 'libopus', 'vorbis', 'libvorbis', 'aac', 'mp3', 'mp3float', 'flac', 'alac'],
    ...['pcm_u8', 'pcm_s16le', 'pcm_s24le', 'pcm_s32le', 'pcm_f32le', 'pcm_f64le', 'pcm_s16be', 'pcm_s24be'],
    ...['png', 'mjpeg'],
  ].join(','),
];

/** A pure tone of ten minutes takes a second or two. */
const limits: Limits = { cpuSeconds: 60, seconds: 180, fileBytes: 0, memoryBytes: 2 ** 30 };
/** Ten minutes of noise, as 16-bit samples of one channel, and a little for FLAC's own. */
const mostKept = (longestSeconds + 1) * 48_000 * 2 * 1.1;
const mostText = 200_000;

/** Samples a second of what is kept. */
const keptRate = 48_000;

/**
 * Puts a stranger's sound into the one form that is kept: 48 kHz, one channel, FLAC, with nothing said about whose it is.
 * @returns how long it is, or why it is refused
 * @throws Error when a tool is not there, or `signal` ended it; where the disk is full, with the code ENOSPC
 */
export async function cleanSound(
  from: string,
  to: string,
  signal: AbortSignal,
): Promise<{ readonly seconds: number } | RefusedSound> {
  let answer = '';
  const asked = ['-v', 'error', ...ofStrangers, '-show_format', '-show_streams', '-of', 'json', input(from)];
  const looked = await runTool('ffprobe', asked, limits, signal, (line) => {
    if (answer.length < mostText) answer += line;
  });
  if (looked.tookTooLong) return tookTooLong;
  const promised = promisedBy(answer);
  if ('refused' in promised) return promised;
  const made = await runTool(
    'ffmpeg',
    [
      ...['-nostdin', '-v', 'error', '-y', ...ofStrangers, '-i', input(from)],
      ...['-map', '0:a:0', '-map_metadata', '-1', '-map_chapters', '-1', '-t', String(longestSeconds + 1)],
      // What a browser records has gaps where it was held up: they stay as long as they were. Where the first sample
      // stands is not to be asked for: what coders set before it (Opus: 312 samples) would be heard as a silence.
      ...['-af', `aresample=${keptRate}:async=1,aformat=sample_fmts=s16:channel_layouts=mono`],
      ...['-c:a', 'flac', '-fflags', '+bitexact', '-flags:a', '+bitexact', '-f', 'flac', input(to)],
    ],
    { ...limits, fileBytes: mostKept },
    signal,
    () => {},
  );
  if (/No space left on device/i.test(made.errors))
    throw Object.assign(new Error('The disk is full.'), { code: 'ENOSPC' });
  if (made.tookTooLong) return tookTooLong;
  const seconds = await secondsOf(to, signal);
  // What could be read before it broke off is told; of what could not be read at all nothing is known.
  if (seconds === undefined) return notASound;
  return wrongWithSound(promised, seconds) ?? { seconds };
}

async function secondsOf(file: string, signal: AbortSignal): Promise<number | undefined> {
  let samples = Number.NaN;
  await runTool(
    'ffprobe',
    [
      ...['-v', 'error', '-protocol_whitelist', 'file', '-f', 'flac', '-show_entries', 'stream=duration_ts'],
      ...['-of', 'csv=p=0', input(file)],
    ],
    limits,
    signal,
    (line) => {
      samples = Number.parseInt(line, 10);
    },
  );
  return Number.isFinite(samples) ? samples / keptRate : undefined;
}
