import type { Caption } from './captions.ts';
import { secondsOf } from './frames.ts';

/** Captions as WebVTT (W3C, "WebVTT: The Web Video Text Tracks Format"), for players in a page. */
export function webVtt(captions: readonly Caption[]): string {
  const cues = captions.map(
    ({ from, to, lines }, at) =>
      `${at + 1}\n${clock(from, '.')} --> ${clock(to, '.')}\n${lines.map(escaped).join('\n')}\n`,
  );
  return ['WEBVTT\n', ...cues].join('\n');
}

/** Captions as SubRip text, for players and editors that take no WebVTT. */
export function subRip(captions: readonly Caption[]): string {
  return captions
    .map(
      ({ from, to, lines }, at) =>
        `${at + 1}\n${clock(from, ',')} --> ${clock(to, ',')}\n${lines.join('\n')}\n`,
    )
    .join('\n');
}

const escaped = (line: string) =>
  line.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');

/** HH:MM:SS and milliseconds. */
function clock(frame: number, mark: '.' | ','): string {
  const milliseconds = Math.round(1000 * secondsOf(frame));
  const seconds = Math.floor(milliseconds / 1000);
  const two = (value: number) => String(value).padStart(2, '0');
  const whole = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60].map(two).join(':');
  return `${whole}${mark}${String(milliseconds % 1000).padStart(3, '0')}`;
}
