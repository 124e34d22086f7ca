import { readFile, rename, stat, writeFile } from 'node:fs/promises';
import type { FilmFrames } from './film-frames.ts';

// Frames of a film beside its file: read of it once. Numbers of 8 bytes, little-endian: what the form is, the timebase,
// then the ticks. Three hours at 60 frames a second are 5 MB.

const form = 1;
const heads = 3;

export async function keepFrames(file: string, { timebase, ticks }: FilmFrames): Promise<void> {
  const numbers = new Float64Array(heads + ticks.length);
  numbers.set([form, timebase.numerator, timebase.denominator]);
  numbers.set(ticks, heads);
  const unfinished = `${file}.${process.pid}.part`;
  await writeFile(unfinished, new Uint8Array(numbers.buffer), { mode: 0o600 });
  await rename(unfinished, file);
}

/**
 * Undefined where there are none, or in another form, or where the film's file was changed since.
 * @param changedAt of the film's file, as the disk has it
 */
export async function readKeptFrames(file: string, changedAt: number): Promise<FilmFrames | undefined> {
  const keptAt = (await stat(file).catch(() => undefined))?.mtimeMs;
  if (keptAt === undefined || keptAt < changedAt) return undefined;
  const bytes = await readFile(file).catch(() => undefined);
  if (!bytes || bytes.length < heads * 8 || bytes.length % 8 !== 0) return undefined;
  const numbers = new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  const [kept, numerator = 0, denominator = 0] = numbers;
  if (kept !== form) return undefined;
  return { timebase: { numerator, denominator }, ticks: numbers.subarray(heads) };
}
