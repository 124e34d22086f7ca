import type { FilmFacts } from '../film-facts.ts';
import type { BrowserForm } from './browser-form.ts';
import { input, ofStrangers, runTool } from './tool-process.ts';

type Made = 'made' | 'took too long' | 'no room' | 'failed';

/** Puts a film's picture, as it is coded, into an MP4 file that browsers can begin before they have all of it. */
export async function makeForBrowsers(
  { from, to, bytes }: { from: string; to: string; bytes: number },
  { seconds, sound }: FilmFacts,
  { sound: how }: NonNullable<BrowserForm['make']>,
  signal: AbortSignal,
  onProgress: (part: number) => void,
): Promise<Made> {
  const ofSound = !sound
    ? []
    : how === 'copied'
      ? ['-c:a', 'copy']
      : ['-c:a', 'aac', '-b:a', '128k', '-ac', '2'];
  const { code, tookTooLong, errors } = await runTool(
    'ffmpeg',
    [
      ...['-nostdin', '-v', 'error', '-progress', 'pipe:1', '-y', ...ofStrangers, '-i', input(from)],
      ...[
        '-map',
        '0:V:0',
        '-map',
        '0:a:0?',
        '-map_metadata',
        '-1',
        '-map_chapters',
        '-1',
        '-c:v',
        'copy',
        ...ofSound,
      ],
      ...['-movflags', '+faststart', '-f', 'mp4', input(to)],
    ],
    // The index is moved to the front by writing the file a second time; sound that was raw becomes smaller.
    { cpuSeconds: 3600, seconds: 7200, fileBytes: Math.ceil(bytes * 1.2 + 64e6) },
    signal,
    (line) => {
      const time = /^out_time_us=(\d+)$/.exec(line)?.[1];
      if (time !== undefined) onProgress(Math.min(1, Number(time) / 1e6 / seconds));
    },
  );
  if (code === 0) return 'made';
  if (/No space left on device/.test(errors)) return 'no room';
  return tookTooLong ? 'took too long' : 'failed';
}
