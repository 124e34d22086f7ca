import { runTool } from '../../films/looking/tool-process.ts';
import { limited } from './limiter.ts';
import { renderLimits } from './limits.ts';
import { requireDone } from './trouble.ts';

/** Loudness of what is said (EBU R 128: -23 LUFS), and how far from it is near enough. */
const wantedLoudness = -23;
const nearEnough = 0.5;
/** Its peaks stay below, so that coding cannot clip them (EBU R 128: -1 dBTP). */
const highestPeak = 0.84;
const mostTries = 3;
/** Below this nothing is being said. */
const silentBelow = -69;

/**
 * Brings a voice to the wanted loudness: measured, raised or lowered under a limiter, measured again. Silence stays.
 * @param to 48 kHz in two channels, PCM
 */
export async function levelVoice(
  from: { readonly file: string; readonly options: readonly string[] },
  to: string,
  signal: AbortSignal,
): Promise<void> {
  const source = [...from.options, '-i', `file:${from.file}`];
  const first = await loudnessOf(source, signal);
  let gain = first <= silentBelow ? 0 : wantedLoudness - first;
  for (let tried = 1; ; tried += 1) {
    const ended = await runTool(
      'ffmpeg',
      [
        ...['-nostdin', '-v', 'error', '-y', ...source, '-map', '0:a:0', '-map_metadata', '-1'],
        ...['-af', `aresample=48000,volume=${gain.toFixed(2)}dB,${limited(highestPeak)}`],
        ...['-ac', '2', '-c:a', 'pcm_s16le', '-fflags', '+bitexact', '-f', 'wav', `file:${to}`],
      ],
      renderLimits,
      signal,
      () => {},
    );
    requireDone(ended, 'Bringing a voice to its loudness');
    if (first <= silentBelow || tried === mostTries) return;
    const now = await loudnessOf(['-i', `file:${to}`], signal);
    if (Math.abs(now - wantedLoudness) <= nearEnough) return;
    gain += wantedLoudness - now;
  }
}

/** Integrated loudness in LUFS, as ITU-R BS.1770 gates it; minus infinity for silence. */
async function loudnessOf(source: readonly string[], signal: AbortSignal): Promise<number> {
  const { code, errors } = await runTool(
    'ffmpeg',
    [
      '-nostdin',
      '-v',
      'info',
      '-nostats',
      ...source,
      '-map',
      '0:a:0',
      '-af',
      // Only the sum is said. A quieter level is there from ffmpeg 6 on.
      'ebur128=framelog=verbose',
      '-f',
      'null',
      '-',
    ],
    renderLimits,
    signal,
    () => {},
  );
  const read = /I:\s+(-?[\d.]+|-?inf|nan) LUFS/.exec(errors)?.[1];
  if (code !== 0 || read === undefined) return Number.NEGATIVE_INFINITY;
  const value = Number(read);
  return Number.isFinite(value) ? value : Number.NEGATIVE_INFINITY;
}
