import { type Cut, type Shot, secondsOfTicks } from '../../../timeline/cut.ts';
import { secondsOfShot } from '../../../timeline/cut-length.ts';
import type { EditorFilm } from './editor-link.ts';

/** A film's time with hundredths, such as 1:02:03.45 or 2:03.45. */
export function filmClock(seconds: number): string {
  const hundredths = Math.round(seconds * 100);
  const [whole, rest] = [Math.floor(hundredths / 100), hundredths % 100];
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60];
  const two = (value: number) => String(value).padStart(2, '0');
  const begin = hours > 0 ? `${hours}:${two(minutes)}` : String(minutes);
  return `${begin}:${two(whole % 60)}.${two(rest)}`;
}

export const angleOf = (shot: Shot, films: readonly EditorFilm[]): string =>
  films.find(({ id }) => id === shot.filmId)?.angle ?? 'A film that was removed';

const counted = (count: number, one: string) =>
  count === 0 ? [] : [count === 1 ? `a ${one}` : `${count} ${one}s`];

export function shotInWords(shot: Shot, films: readonly EditorFilm[]): string {
  const at = (tick: number) => filmClock(secondsOfTicks(tick, shot.timebase));
  return [
    `${angleOf(shot, films)}, ${at(shot.from)} to ${at(shot.to)}`,
    ...(shot.slow > 1 ? [`${shot.slow} times as slow`] : []),
    ...counted(shot.freezes.length, 'freeze'),
    ...counted(shot.pointers.length, 'pointer'),
    ...(shot.muted ? [] : ['with sound']),
    `${secondsOfShot(shot).toFixed(1)} s`,
  ].join(', ');
}

export const cutInWords = ({ shots }: Cut, films: readonly EditorFilm[]): string[] =>
  shots.map((shot, at) => `Shot ${at + 1}: ${shotInWords(shot, films)}`);
