import type { Timebase } from '../../timeline/cut.ts';
import { input, type Limits, ofStrangers, runTool } from './tool-process.ts';

/** The frames of a film's file as it is served, which may follow each other unevenly. */
export interface FilmFrames {
  readonly timebase: Timebase;
  /** When each frame is shown, in order, by a player's clock (0 where the file begins) in ticks of the timebase. */
  readonly ticks: Float64Array;
}

/** A day at 120 frames a second. */
export const mostFrames = 86_400 * 120;

interface ReadFrames extends FilmFrames {
  readonly errors: string;
  readonly tookTooLong: boolean;
}

/** Reads when each frame is shown, without decoding any; frames that an edit list leaves out are not there. */
export async function readFrames(
  file: string,
  limits: Limits,
  signal: AbortSignal,
  onTime: (seconds: number) => void = () => {},
): Promise<ReadFrames> {
  const ticks: number[] = [];
  let timebase: Timebase = { numerator: 1, denominator: 1 };
  let begins = 0;
  const { errors, tookTooLong } = await runTool(
    'ffprobe',
    [
      ...['-v', 'error', ...ofStrangers, '-select_streams', 'V:0'],
      ...['-show_entries', 'packet=pts,pts_time,flags:stream=time_base:format=start_time'],
      ...['-of', 'csv', input(file)],
    ],
    limits,
    signal,
    (line) => {
      const [what, first = '', time = '', flags = ''] = line.split(',');
      if (what === 'stream') {
        const [numerator = 0, denominator = 0] = first.split('/').map(Number);
        if (numerator > 0 && denominator > 0) timebase = { numerator, denominator };
      } else if (what === 'format') begins = Number.parseFloat(first) || 0;
      const at = what === 'packet' ? Number.parseInt(first, 10) : Number.NaN;
      if (!Number.isFinite(at) || flags.includes('D') || ticks.length > mostFrames) return;
      ticks.push(at);
      if (ticks.length % 500 === 0) onTime(Number.parseFloat(time));
    },
  );
  const begin = Math.round((begins * timebase.denominator) / timebase.numerator);
  return { timebase, ticks: Float64Array.from(ticks, (at) => at - begin).sort(), errors, tookTooLong };
}

export function secondsOfFrames({ ticks, timebase }: FilmFrames): number[] {
  return Array.from(ticks, (at) => (at * timebase.numerator) / timebase.denominator);
}

/** Place of the first frame shown at `tick` or later; how many there are where none is. */
export function frameFrom({ ticks }: Pick<FilmFrames, 'ticks'>, tick: number): number {
  let [low, high] = [0, ticks.length];
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (ticks[middle]! < tick) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** When the last frame is over: after it, as long as the frames before it were shown. */
export function endOfFrames({ ticks }: Pick<FilmFrames, 'ticks'>): number {
  const last = ticks.subarray(-51);
  const steps = last
    .subarray(1)
    .map((at, before) => at - last[before]!)
    .sort();
  return (ticks.at(-1) ?? 0) + Math.max(1, steps[Math.floor(steps.length / 2)] ?? 1);
}

export const tickAt = ({ timebase }: Pick<FilmFrames, 'timebase'>, seconds: number): number =>
  Math.round((seconds * timebase.denominator) / timebase.numerator);
