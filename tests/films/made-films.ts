import { execFile } from 'node:child_process';
import { randomFillSync } from 'node:crypto';
import { readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';

const run = promisify(execFile);
const ffmpeg = (...args: string[]) => run('ffmpeg', ['-nostdin', '-v', 'error', '-y', ...args]);

/** Frames a second of the films made here, and how many they have. */
export const rate = 30_000 / 1001;
export const frames = 180;

/**
 * Each frame shows its number in eight bands from left to right, the lowest bit first: light is one. Whoever decodes a
 * frame, in whatever way, can tell which it is.
 */
const bandedFrames = [
  ...['-f', 'lavfi', '-i', `color=s=320x180:r=30000/1001:d=6`],
  ...['-f', 'lavfi', '-i', 'sine=d=6'],
];
const bands = ['-vf', "geq=lum='if(mod(floor(N/pow(2,floor(X/40))),2),235,16)':cb=128:cr=128"];
const h264 = [
  '-c:v',
  'libx264',
  '-preset',
  'ultrafast',
  '-g',
  '30',
  '-pix_fmt',
  'yuv420p',
  '-frames:v',
  `${frames}`,
];

/** Films of every kind that people bring, in a folder. @returns their files by name */
export async function makeFilms(folder: string) {
  const at = (name: string) => path.join(folder, name);
  const ordinary = at('ordinary.mp4');
  await ffmpeg(...bandedFrames, ...bands, ...h264, '-c:a', 'aac', '-movflags', '+faststart', ordinary);
  await ffmpeg('-i', ordinary, '-c', 'copy', '-an', '-movflags', '+faststart', at('silent.mp4'));
  await ffmpeg(
    '-i',
    ordinary,
    '-c',
    'copy',
    '-metadata:s:v:0',
    'rotate=90',
    '-movflags',
    '+faststart',
    at('rotated.mp4'),
  );
  await ffmpeg('-i', ordinary, '-c:v', 'copy', '-c:a', 'pcm_s16le', at('camera.mov'));
  await ffmpeg('-i', ordinary, '-c', 'copy', at('stream.ts'));
  await ffmpeg(
    ...bandedFrames.slice(0, 4),
    '-vf',
    "select='if(lt(t,2),1,not(mod(n,3)))'",
    '-vsync',
    'vfr',
    ...h264,
    at('uneven.mp4'),
  );
  await ffmpeg(
    '-f',
    'lavfi',
    '-i',
    'testsrc2=s=320x180:r=30:d=1',
    '-c:v',
    'libvpx',
    '-b:v',
    '200k',
    at('open.webm'),
  );
  await ffmpeg(
    '-f',
    'lavfi',
    '-i',
    'color=s=12000x8000:r=1:d=2',
    '-c:v',
    'mjpeg',
    '-pix_fmt',
    'yuvj420p',
    at('huge.mov'),
  );
  await ffmpeg('-f', 'lavfi', '-i', 'sine=d=2', '-c:a', 'aac', at('sound-only.mp4'));
  const whole = await readFile(ordinary);
  await writeFile(at('cut-off.mp4'), whole.subarray(0, whole.length / 2));
  const camera = await readFile(at('camera.mov'));
  await writeFile(at('no-index.mov'), camera.subarray(0, camera.length / 2));
  await writeFile(at('text.mp4'), 'Week 3 film, see the other folder.\n');
  return at;
}

/**
 * The ordinary film made longer by a box that players skip (`free`, ISO/IEC 14496-12, section 8.1.2), so that it takes
 * its time to be uploaded and any lost or doubled byte shows.
 */
export async function largeFilm(ordinary: string, bytes: number): Promise<Buffer> {
  const film = await readFile(ordinary);
  const box = randomFillSync(Buffer.alloc(bytes - film.length));
  box.writeUInt32BE(box.length, 0);
  box.write('free', 4, 'latin1');
  return Buffer.concat([film, box]);
}

/** A digest of all decoded pictures, in their order, by ffmpeg. */
export const picturesOf = async (file: string): Promise<string> =>
  (await run('ffmpeg', ['-v', 'error', '-i', file, '-map', '0:v:0', '-vsync', '0', '-f', 'md5', '-'])).stdout;
