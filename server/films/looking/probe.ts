import { open } from 'node:fs/promises';
import type { FilmFacts } from '../film-facts.ts';
import { type BrowserForm, browserForm } from './browser-form.ts';
import { frameTimes } from './frame-times.ts';
import { outerBoxes } from './mp4-boxes.ts';
import { factsOf, isRefused, mostPixels, type RefusedFilm, readProbed, tooLong } from './probed.ts';
import { type Limits, runTool } from './tool-process.ts';

/** Strangers' files: no other file, no network, no format but those of films, no picture that fills the memory. */
export const ofStrangers = [
  ...['-protocol_whitelist', 'file', '-format_whitelist', 'mov,matroska,mpegts'],
  ...['-max_pixels', String(mostPixels)],
];
/** A name cannot be taken for another protocol. */
export const input = (file: string) => `file:${file}`;

const limits: Limits = { cpuSeconds: 600, seconds: 1800, fileBytes: 0 };
/** A day at 120 frames a second. */
const mostFrames = 86_400 * 120;
/** What it says of streams; a file can name thousands. */
const mostText = 1_000_000;

export interface Looked {
  readonly facts: FilmFacts;
  readonly form: BrowserForm;
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
  const { times, errors, tookTooLong } = await framesOf(file, signal, (seconds) =>
    onProgress(Math.min(1, seconds / (read.format!.duration || Infinity))),
  );
  if (tookTooLong || times.length > mostFrames) return tooLong;
  const facts = factsOf(read, frameTimes(times), `${ended.errors}\n${errors}`);
  if (isRefused(facts)) return facts;
  const form = browserForm(read, boxes);
  return { facts: { ...facts, form: form.form }, form };
}

async function framesOf(file: string, signal: AbortSignal, onTime: (seconds: number) => void) {
  const times: number[] = [];
  const { errors, tookTooLong } = await runTool(
    'ffprobe',
    [
      ...['-v', 'error', ...ofStrangers, '-select_streams', 'V:0'],
      ...['-show_entries', 'packet=pts_time', '-of', 'csv=p=0', input(file)],
    ],
    limits,
    signal,
    (line) => {
      const time = Number.parseFloat(line);
      if (!Number.isFinite(time) || times.length > mostFrames) return;
      times.push(time);
      if (times.length % 500 === 0) onTime(time);
    },
  );
  return { times, errors, tookTooLong };
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
