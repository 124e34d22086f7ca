import { execFile } from 'node:child_process';
import path from 'node:path';
import { promisify } from 'node:util';

const run = promisify(execFile);
const ffmpeg = (...args: string[]) => run('ffmpeg', ['-nostdin', '-v', 'error', '-y', ...args]);

/**
 * Each frame shows its number in ten bands of equal width, the lowest bit first: light is one. `read-frames.py` reads them
 * back, knowing nothing of this project.
 */
export const bands = 10;
const numbered = (size: string) =>
  `geq=lum='if(mod(floor(N/pow(2,floor(X/4))),2),235,16)':cb=128:cr=128,scale=${size.replace('x', ':')}:flags=neighbor,setsar=1`;
const h264 = ['-c:v', 'libx264', '-preset', 'ultrafast', '-g', '45', '-bf', '2', '-pix_fmt', 'yuv420p'];
/** A tone of a tenth of a second at the begin of each second. */
const beeps = (seconds: number) => `aevalsrc='0.5*sin(2*PI*1000*t)*lt(mod(t,1),0.1)':s=48000:d=${seconds}`;

/** A film of the rate and size; `more` goes before its name. */
async function film(
  to: string,
  {
    rate,
    size,
    frames,
    filter = '',
    sound = true,
    more = [],
  }: {
    rate: string;
    size: string;
    frames: number;
    filter?: string;
    sound?: boolean;
    more?: string[];
  },
): Promise<void> {
  await ffmpeg(
    ...['-f', 'lavfi', '-i', `color=s=${4 * bands}x4:r=${rate}:d=30`],
    ...(sound ? ['-f', 'lavfi', '-i', beeps(30)] : []),
    ...['-vf', `${numbered(size)}${filter}`, '-frames:v', String(frames), ...h264],
    ...(sound ? ['-c:a', 'aac', '-shortest'] : []),
    ...['-movflags', '+faststart', ...more, to],
  );
}

/** Fifteen seconds at 30000/1001 frames a second, with sound. */
export const makeNumberedFilm = (to: string): Promise<void> =>
  film(to, { rate: '30000/1001', size: '640x360', frames: 450 });

/** Films of every kind that people bring, numbered frame by frame. @returns their files by name */
export async function makeNumberedFilms(folder: string): Promise<(name: string) => string> {
  const at = (name: string) => path.join(folder, name);
  await makeNumberedFilm(at('ntsc.mp4'));
  // Pixels that are wider than high, as DVDs have them; the sound in one channel.
  await film(at('cinema.mp4'), {
    ...{ rate: '24000/1001', size: '720x480', frames: 360, filter: ',setsar=32/27' },
    more: ['-ac', '1'],
  });
  await film(at('sixty.mp4'), { rate: '60000/1001', size: '640x360', frames: 900, sound: false });
  // Some frames are left out, so that the others follow each other unevenly.
  await film(at('uneven.mp4'), {
    ...{ rate: '30', size: '640x360', frames: 300, filter: ",select='not(eq(mod(n,7),3))'" },
    more: ['-vsync', 'vfr'],
  });
  await ffmpeg('-i', at('ntsc.mp4'), '-c', 'copy', '-metadata:s:v:0', 'rotate=180', at('rotated.mp4'));
  // As a telephone that is held upright keeps it: the picture lies on its side, and a note in the file sets it up.
  await film(at('on-its-side.mp4'), {
    rate: '30000/1001',
    size: '640x360',
    frames: 120,
    filter: ',transpose=1',
  });
  await ffmpeg(
    ...['-i', at('on-its-side.mp4'), '-c', 'copy', '-metadata:s:v:0', 'rotate=90', at('set-up.mp4')],
  );
  // Through a transport stream: its clock begins later than 0, and B-frames before it.
  await ffmpeg('-i', at('ntsc.mp4'), '-c', 'copy', at('stream.ts'));
  await ffmpeg('-i', at('stream.ts'), '-c', 'copy', '-movflags', '+faststart', at('stream.mp4'));
  return at;
}
