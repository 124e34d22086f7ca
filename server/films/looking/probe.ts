import { open } from 'node:fs/promises';
import type { FilmFacts } from '../film-facts.ts';
import { type BrowserForm, browserForm } from './browser-form.ts';
import { type FilmFrames, mostFrames, readFrames, secondsOfFrames } from './film-frames.ts';
import { frameTimes } from './frame-times.ts';
import { outerBoxes } from './mp4-boxes.ts';
import { factsOf, isRefused, type RefusedFilm, readProbed, tooLong } from './probed.ts';
import { input, type Limits, ofStrangers, runTool } from './tool-process.ts';

// Whoever opens films elsewhere, too.
export { ofStrangers };

export const limits: Limits = { cpuSeconds: 600, seconds: 1800, fileBytes: 0 };
/** What it says of streams; a file can name thousands. */
const mostText = 1_000_000;

export interface Looked {
  readonly facts: FilmFacts;
  readonly form: BrowserForm;
  readonly frames: FilmFrames;
}

/** Looks at a film's file: its streams, then the time of each frame, which shows whether it is whole. */
export async function lookAt(
  file: string,
  signal: AbortSignal,
  onProgress: (part: number) => void,
): Promise<Looked | RefusedFilm> {
  let answer = '';
  const asked = ['-v', 'error', ...ofStrangers, '-show_format', '-show_streams', '-of', 'json', input(file)];
  const ended = await runTool('ffprobe', asked, limits, signal, (line) => {
    if (answer.length < mostText) answer += line;
  });
  if (ended.tookTooLong) return tooLong;
  const boxes = await boxesOf(file);
  const read = readProbed({ answer, errors: ended.errors, boxes });
  if (isRefused(read)) return read;
  const frames = await readFrames(file, limits, signal, (seconds) =>
    onProgress(Math.min(1, seconds / (read.format!.duration || Infinity))),
  );
  if (frames.tookTooLong || frames.ticks.length > mostFrames) return tooLong;
  const facts = factsOf(read, frameTimes(secondsOfFrames(frames)), `${ended.errors}\n${frames.errors}`);
  if (isRefused(facts)) return facts;
  const form = browserForm(read, boxes);
  return { facts: { ...facts, form: form.form }, form, frames };
}

async function boxesOf(file: string): Promise<string[]> {
  const handle = await open(file);
  try {
    return await outerBoxes(async (offset, length) => {
      const buffer = Buffer.alloc(length);
      const { bytesRead } = await handle.read(buffer, 0, length, offset);
      return buffer.subarray(0, bytesRead);
    });
  } finally {
    await handle.close();
  }
}
