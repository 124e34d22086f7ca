import { timecode } from '../football/clock-words.ts';

/** A place in a film as people write it: 754.2, 12:34 or 0:12:34.2. Seconds; undefined where it is none. */
export function readFilmTime(text: string): number | undefined {
  const match = /^(?:(?:(\d{1,2}):)?(\d{1,4}):)?(\d{1,5}(?:[.,]\d{1,6})?)$/.exec(text.trim());
  if (!match) return undefined;
  const [, hours, minutes, rest] = match;
  const seconds = Number(rest!.replace(',', '.'));
  if (minutes !== undefined && seconds >= 60) return undefined;
  if (hours !== undefined && Number(minutes) >= 60) return undefined;
  const all = Number(hours ?? 0) * 3600 + Number(minutes ?? 0) * 60 + seconds;
  return all <= 86_400 ? all : undefined;
}

/** The same, to the millisecond: `0:12:34.200`. */
export const filmTimeInWords = (seconds: number): string => timecode(seconds, 3);
