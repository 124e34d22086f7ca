import { execFile } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';

export const run = promisify(execFile);
export const ffmpeg = (...args: string[]) => run('ffmpeg', ['-nostdin', '-v', 'error', '-y', ...args]);

/** A tone of a tenth of a second at each of those seconds, silence else, in two channels of 44.1 kHz. */
export const toneAt = (seconds: number, ...at: number[]) => [
  ...['-f', 'lavfi', '-i'],
  `aevalsrc='0.5*sin(2*PI*1000*t)*(${at.map((one) => `between(t,${one},${one + 0.1})`).join('+')})':s=44100:d=${seconds}`,
  ...['-ac', '2'],
];

const told = ['-metadata', 'artist=Wendeline Harrowgate', '-metadata', 'comment=for the umpire of week 3'];

/** Sounds of every kind that people send, each with a name in it where its form has room for one. @returns by name */
export async function makeSounds(folder: string): Promise<(name: string) => Promise<Buffer>> {
  const at = (name: string) => path.join(folder, name);
  const burst = toneAt(3, 1);
  await ffmpeg(...burst, ...told, at('burst.wav'));
  await ffmpeg(...burst, ...told, '-c:a', 'libmp3lame', '-b:a', '96k', at('burst.mp3'));
  await ffmpeg(...burst, ...told, '-c:a', 'aac', at('burst.m4a'));
  await ffmpeg(...burst, ...told, '-c:a', 'libvorbis', at('burst.ogg'));
  await ffmpeg(...burst, ...told, '-c:a', 'libopus', at('burst.webm'));
  await ffmpeg(...burst, ...told, at('burst.flac'));
  // A cover picture, as music has one.
  await ffmpeg('-f', 'lavfi', '-i', 'color=red:s=64x64', '-frames:v', '1', at('cover.png'));
  await ffmpeg(
    ...['-i', at('burst.mp3'), '-i', at('cover.png'), '-map', '0', '-map', '1', '-c', 'copy'],
    at('covered.mp3'),
  );
  await ffmpeg('-f', 'lavfi', '-i', 'testsrc=d=1:s=64x64', '-c:v', 'libx264', at('pictures.mp4'));
  await ffmpeg('-f', 'lavfi', '-i', 'anullsrc=r=8000', '-t', '620', '-c:a', 'pcm_u8', at('long.wav'));
  await ffmpeg('-f', 'lavfi', '-i', 'anoisesrc=d=60:r=8000', at('minute.flac'));
  return (name) => readFile(at(name));
}

/** Where something is first heard in a file, in seconds, and how many there are, by ffmpeg's own decoder alone. */
export async function heardAt(
  file: string,
  more: string[] = [],
): Promise<{ first: number; seconds: number }> {
  const { stdout } = await run(
    'ffmpeg',
    ['-v', 'error', ...more, '-i', file, '-map', '0:a:0', '-ac', '1', '-ar', '48000', '-f', 's16le', '-'],
    { encoding: 'buffer', maxBuffer: 2 ** 28 },
  );
  const samples = new Int16Array(stdout.buffer, stdout.byteOffset, stdout.length >> 1);
  const loud = samples.findIndex((one) => Math.abs(one) > 1000);
  return { first: loud / 48_000, seconds: samples.length / 48_000 };
}
