import { rename, rm } from 'node:fs/promises';
import { runTool } from '../../films/looking/tool-process.ts';
import type { ReelFiles } from '../reel-files.ts';
import { wrongWithClip } from './check-clip.ts';
import { type Clip, clipArguments, clipKey } from './clip.ts';
import { renderLimits } from './limits.ts';
import { ReelFailed, requireDone } from './trouble.ts';

export interface ClipMaker {
  readonly files: ReelFiles;
  readonly conferenceId: string;
  readonly holder: string;
  /** What `ffmpeg -version` says of itself: another one makes other bytes. */
  readonly ffmpeg: string;
  readonly signal: AbortSignal;
}

/**
 * The clip's file, made and held against what a clip has to be, or as it was finished before.
 * @param what it is, as a sentence about its trouble begins
 * @param onFrames told how many of its frames are done
 */
export async function finishClip(
  { files, conferenceId, holder, ffmpeg, signal }: ClipMaker,
  clip: Clip,
  what: string,
  onFrames: (frames: number) => void,
): Promise<{ file: string; frames: number; wasThere: boolean }> {
  const key = clipKey(clip, ffmpeg);
  const there = await files.finished(conferenceId, key);
  if (there !== undefined) return { file: there, frames: clip.frames, wasThere: true };
  const file = files.clip(conferenceId, key);
  const unfinished = `${file}.${holder}.part`;
  try {
    const ended = await runTool(
      'ffmpeg',
      ['-progress', 'pipe:1', ...clipArguments(clip, `file:${unfinished}`)],
      renderLimits,
      signal,
      (line) => {
        const done = /^frame=\s*(\d+)$/.exec(line)?.[1];
        if (done !== undefined) onFrames(Math.min(clip.frames, Number(done)));
      },
    );
    requireDone(ended, what);
    const wrong = await wrongWithClip(unfinished, clip.frames, signal);
    if (wrong.length > 0) throw new ReelFailed(`${what} did not come out as it should: ${wrong.join('; ')}.`);
    await rename(unfinished, file);
  } finally {
    await rm(unfinished, { force: true });
  }
  return { file, frames: clip.frames, wasThere: false };
}

/** @returns the version's line, by which clips of another one are told apart */
export async function ffmpegVersion(signal: AbortSignal): Promise<string> {
  let said = '';
  await runTool('ffmpeg', ['-version'], renderLimits, signal, (line) => {
    said += `${line}\n`;
  });
  return said;
}
