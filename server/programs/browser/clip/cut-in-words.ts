import { timecode } from '../../../football/clock-words.ts';
import { type Cut, type CutVoice, type Shot, secondsOfTicks } from '../../../timeline/cut.ts';
import { beyondClip, secondsOfShot } from '../../../timeline/cut-length.ts';
import type { EditorFilm, EditorRecording } from './editor-link.ts';

/** A film's time with hundredths, such as 1:02:03.45 or 2:03.45. */
export const filmClock = (seconds: number): string => timecode(seconds, 2).replace(/^0:0?/, '');

const angleOf = (shot: Shot, films: readonly EditorFilm[]): string =>
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

export const cutInWords = (
  { shots, voice }: Cut,
  films: readonly EditorFilm[],
  recordings: readonly EditorRecording[],
): string[] => [
  ...shots.map((shot, at) => `Shot ${at + 1}: ${shotInWords(shot, films)}`),
  ...(voice ? [voiceInWords(voice, recordings)] : []),
];

function voiceInWords(voice: CutVoice, recordings: readonly EditorRecording[]): string {
  if (voice.kind === 'spoken') return 'A machine voice';
  const recording = recordings.find(({ id }) => id === voice.recordingId);
  return recording
    ? `Recorded by ${recording.madeBy}, ${recording.seconds.toFixed(1)} s`
    : 'A recording that is gone';
}

/** How a voice stands to its clip, in a sentence. */
export function fitInWords(seconds: number, clip: number, toQuestion: boolean): string {
  const { held, lost } = beyondClip(seconds, clip);
  const begin = `${seconds.toFixed(1)} seconds, over ${clip.toFixed(1)} seconds of clip${toQuestion ? ' up to the question' : ''}.`;
  if (held < 0.05) return begin;
  return `${begin} ${held.toFixed(1)} seconds too long: the last picture is held.${lost > 0 ? ` Its last ${lost.toFixed(1)} seconds are not heard.` : ''}`;
}
