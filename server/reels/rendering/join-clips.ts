import { writeFile } from 'node:fs/promises';
import { runTool } from '../../films/looking/tool-process.ts';
import type { ReelFacts } from '../plan/reel-places.ts';
import { frameTicks, timescale } from './constants.ts';
import { probeLimits, renderLimits } from './limits.ts';
import { requireDone } from './trouble.ts';

interface ToJoin {
  readonly clips: readonly { readonly file: string; readonly frames: number }[];
  readonly chapters: ReelFacts['chapters'];
  readonly frames: number;
}

/** Joins clips into a reel: pictures as they are, the sound coded once, chapters at their frames. */
export async function joinClips(
  { clips, chapters, frames }: ToJoin,
  { list, metadata, to }: { list: string; metadata: string; to: string },
  signal: AbortSignal,
): Promise<void> {
  await writeFile(list, concatList(clips));
  await writeFile(metadata, chapterList(chapters, frames));
  const ended = await runTool('ffmpeg', joinArguments(list, metadata, to), renderLimits, signal, () => {});
  requireDone(ended, 'Joining the clips');
  const wrong = await wrongWithReel(to, frames, signal);
  if (wrong) throw new Error(`The joined reel is not as it should be: ${wrong}.`);
}

// What tells of the whole comes from the list of chapters alone, which says nothing: without that, chapters lose their names.
const joinArguments = (list: string, metadata: string, to: string): string[] => [
  ...['-nostdin', '-v', 'error', '-y'],
  ...['-protocol_whitelist', 'file', '-f', 'concat', '-safe', '0', '-i', `file:${list}`],
  ...['-protocol_whitelist', 'file', '-f', 'ffmetadata', '-i', `file:${metadata}`],
  ...['-map', '0:v', '-map', '0:a', '-map_metadata', '1', '-map_chapters', '1'],
  ...['-c:v', 'copy', '-c:a', 'aac', '-b:a', '128k', '-threads', '1'],
  ...['-video_track_timescale', String(timescale), '-movflags', '+faststart'],
  ...['-fflags', '+bitexact', '-flags:a', '+bitexact', '-f', 'mp4', `file:${to}`],
];

/** Each with its length: one file's last frame must not decide where the next begins. Roundings do not add up. */
function concatList(clips: ToJoin['clips']): string {
  let before = 0;
  const micros = (frames: number) => Math.round((frames * frameTicks * 1e6) / timescale);
  const lines = clips.flatMap(({ file, frames }) => {
    const length = micros(before + frames) - micros(before);
    before += frames;
    return [`file '${file.replaceAll("'", "'\\''")}'`, `duration ${(length / 1e6).toFixed(6)}`];
  });
  return `ffconcat version 1.0\n${lines.join('\n')}\n`;
}

/** The format gives `=`, `;`, `#` and `\` a meaning of their own. */
function chapterList(chapters: ReelFacts['chapters'], frames: number): string {
  const parts = chapters.map(({ title, frame }, at) =>
    [
      '[CHAPTER]',
      `TIMEBASE=${frameTicks}/${timescale}`,
      `START=${frame}`,
      `END=${chapters[at + 1]?.frame ?? frames}`,
      `title=${title.replaceAll(/[=;#\\\n]/g, (mark) => `\\${mark}`)}`,
    ].join('\n'),
  );
  return `;FFMETADATA1\n${parts.join('\n')}\n`;
}

/** Every frame follows the one before by the length of a frame, to the last. */
async function wrongWithReel(file: string, frames: number, signal: AbortSignal): Promise<string | null> {
  const times: number[] = [];
  await runTool(
    'ffprobe',
    [
      ...['-v', 'error', '-protocol_whitelist', 'file', '-select_streams', 'v:0'],
      ...['-show_entries', 'packet=pts', '-of', 'csv=p=0', `file:${file}`],
    ],
    probeLimits,
    signal,
    (line) => times.push(Number.parseInt(line, 10)),
  );
  if (times.length !== frames) return `it has ${times.length} frames, not ${frames}`;
  const sorted = Float64Array.from(times).sort();
  const odd = sorted.findIndex((time, at) => time !== at * frameTicks);
  return odd === -1 ? null : `frame ${odd} is at ${sorted[odd]}, not ${odd * frameTicks}`;
}
