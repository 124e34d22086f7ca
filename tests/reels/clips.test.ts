// @module-tag rest
import { execFile } from 'node:child_process';
import { mkdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import { beforeAll, expect, test } from 'vitest';
import { readFrames } from '../../server/films/looking/film-frames.ts';
import { pointerSvg } from '../../server/reels/cards/overlay-svg.ts';
import { ReelFiles } from '../../server/reels/reel-files.ts';
import { DrawnPictures } from '../../server/reels/rendering/drawn-pictures.ts';
import { ffmpegVersion, finishClip } from '../../server/reels/rendering/finish-clip.ts';
import { joinClips } from '../../server/reels/rendering/join-clips.ts';
import { probeLimits } from '../../server/reels/rendering/limits.ts';
import { pictureBox, shotClip } from '../../server/reels/rendering/shot-clip.ts';
import { readShape, type SourceFilm } from '../../server/reels/rendering/source-film.ts';
import { type Shot, secondsOfTicks } from '../../server/timeline/cut.ts';
import { placeShot, type ShotFrames, samplesIn } from '../../server/timeline/shot-frames.ts';
import { folderInRun } from '../support/test-run.ts';
import { makeNumberedFilms } from './numbered-films.ts';

// Clips of films whose frames tell their number, read back by a decoder of its own (read-frames.py).

const run = promisify(execFile);
const never = new AbortController().signal;
let folder: string;
let at: (name: string) => string;
let files: ReelFiles;
let ffmpeg: string;
const conferenceId = 'c';
beforeAll(async () => {
  folder = await folderInRun('reels');
  at = await makeNumberedFilms(folder);
  files = new ReelFiles({ DATA_DIR: folder });
  await files.prepare(conferenceId, 'h');
  ffmpeg = await ffmpegVersion(never);
}, 180_000);

interface Read {
  frames: number[];
  tones: number[];
  samples: number;
}
async function read(file: string, aspect = 16 / 9, turned = false): Promise<Read> {
  const { x, y, width, height } = pictureBox(aspect);
  const box = [x, y, width, height].map(String);
  const { stdout } = await run('/usr/bin/python3', [
    ...[path.join(import.meta.dirname, 'read-frames.py'), file, ...box, ...(turned ? ['turned'] : [])],
  ]);
  return JSON.parse(stdout) as Read;
}

const source = async (name: string) => ({
  ...(await readShape(at(name), never))!,
  frames: await readFrames(at(name), probeLimits, never),
});

/** The film's own frame numbers in order, by reading the film itself. */
const cut = (film: Pick<SourceFilm, 'frames'>, from: number, to: number, more: Partial<Shot> = {}): Shot => ({
  filmId: '5d0bf2cc-0f4c-4d3e-9a3f-0f9b8d7c1a11',
  timebase: film.frames.timebase,
  from: film.frames.ticks[from]!,
  to: film.frames.ticks[to]!,
  ...{ slow: 1, freezes: [], pointers: [], muted: true },
  ...more,
});

async function clipOf(name: string, shot: Shot, { hold = 0 } = {}) {
  const film = await source(name);
  const place = placeShot(shot, film.frames) as ShotFrames;
  const pictures = new DrawnPictures(folder);
  const overlays = await Promise.all(
    shot.pointers.map(async (pointer, of) => {
      const picture = pictures.input(pointerSvg(pointer, pictureBox(film.aspect)));
      await picture.draw();
      return { picture, ...place.pointers[of]! };
    }),
  );
  const clip = shotClip({
    ...{ place, film: { file: at(name), identity: name }, sound: film.sound && !shot.muted },
    ...{ overlays, voice: null, hold },
  });
  const maker = { files, conferenceId, holder: 'h', ffmpeg, signal: never };
  return { place, film, ...(await finishClip(maker, clip, 'Cutting it', () => {})) };
}

/**
 * What each frame of the clip should show: the film's last frame that begins before the middle of that frame of the reel.
 * By the film's own time stamps and SMPTE ST 12-1's rate alone.
 */
function expected({ ticks, timebase }: SourceFilm['frames'], from: number, count: number): number[] {
  const seconds = Array.from(ticks, (tick) => secondsOfTicks(tick, timebase));
  return Array.from({ length: count }, (_, frame) => {
    const middle = seconds[from]! + ((frame + 0.5) * 1001) / 30_000 - 0.001;
    return seconds.findLastIndex((time) => time < middle + 1e-6);
  });
}

test.each([
  ['ntsc.mp4', 16 / 9],
  ['cinema.mp4', 16 / 9],
  ['sixty.mp4', 16 / 9],
  ['rotated.mp4', 16 / 9],
  ['set-up.mp4', 16 / 9],
  ['stream.mp4', 16 / 9],
] as const)(
  'every frame of a clip of %s is the one that was asked for',
  { timeout: 120_000 },
  async (name, aspect) => {
    const film = await source(name);
    const stretches = [
      [0, 31],
      [47, 101],
      [200, 260],
    ] as const;
    // What is only turned keeps its times: one stretch shows that its picture is the right way up.
    for (const [from, to] of /rotated|set-up/.test(name) ? [stretches[1]] : stretches) {
      const { file, place } = await clipOf(name, cut(film, from, to));
      const { frames, samples } = await read(file, aspect, name === 'rotated.mp4');
      expect(frames).toEqual(expected(film.frames, from, place.frames));
      expect(samples).toBe(samplesIn(place.frames));
    }
  },
);

test('a film whose frames follow each other unevenly is shown by its own clock', {
  timeout: 120_000,
}, async () => {
  const film = await source('uneven.mp4');
  const { file, place } = await clipOf('uneven.mp4', cut(film, 20, 120));
  // The numbers of the frames that are left: the fourth of every seven is not there.
  const left = Array.from({ length: 350 }, (_, number) => number).filter((number) => number % 7 !== 3);
  expect(left).toHaveLength(film.frames.ticks.length);
  expect((await read(file)).frames).toEqual(
    expected(film.frames, 20, place.frames).map((index) => left[index]),
  );
});

test('slow repeats and freezes hold exactly the frames that they should', { timeout: 120_000 }, async () => {
  const film = await source('ntsc.mp4');
  const shot = cut(film, 60, 90, {
    slow: 2,
    freezes: [
      { at: film.frames.ticks[70]!, seconds: 1 },
      { at: film.frames.ticks[80]!, seconds: 0.5 },
    ],
  });
  const { file } = await clipOf('ntsc.mp4', shot, { hold: 12 });
  const shown = Array.from({ length: 30 }, (_, frame) => 60 + frame).flatMap((number) => {
    const times = 2 + (number === 70 ? 30 : number === 80 ? 15 : 0) + (number === 89 ? 12 : 0);
    return Array.from({ length: times }, () => number);
  });
  expect((await read(file)).frames).toEqual(shown);
});

test('a pointer is drawn on its frames and on no other', { timeout: 120_000 }, async () => {
  const film = await source('ntsc.mp4');
  const tick = (frame: number) => film.frames.ticks[frame]!;
  const spotlight = {
    ...{ shape: 'spotlight' as const, from: tick(110), to: tick(120) },
    ...{ x: 0.5, y: 0.5, tailX: null, tailY: null, size: 0.05 },
  };
  const shot = cut(film, 100, 130, {
    freezes: [{ at: tick(115), seconds: 1 }],
    pointers: [spotlight],
  });
  const { file } = await clipOf('ntsc.mp4', shot);
  const { stdout } = await run('/usr/bin/python3', [
    '-c',
    // The brightest of each frame's upper edge: the spotlight darkens all around it.
    `import subprocess,sys,json
d=subprocess.run(["ffmpeg","-v","error","-i",sys.argv[1],"-vf","crop=1280:90:0:0,scale=40:3:flags=area,format=gray","-vsync","0","-f","rawvideo","-"],check=True,capture_output=True).stdout
print(json.dumps([max(d[i:i+120]) for i in range(0,len(d),120)]))`,
    file,
  ]);
  const dark = (JSON.parse(stdout) as number[]).flatMap((value, frame) => (value < 180 ? [frame] : []));
  // Frames 110 to 119 are the clip's 10 to 19, with 30 more after the 15th.
  expect(dark).toEqual(Array.from({ length: 40 }, (_, frame) => 10 + frame));
});

test('a cover hides its place on every frame of its shot, frozen and held ones too', {
  timeout: 120_000,
}, async () => {
  const film = await source('ntsc.mp4');
  const tick = (frame: number) => film.frames.ticks[frame]!;
  const cover = {
    ...{ shape: 'cover' as const, from: tick(100), to: tick(130), size: 0.08 },
    ...{ x: 0.75, y: 0.9, tailX: 0.25, tailY: 0.7 },
  };
  const shot = cut(film, 100, 130, { freezes: [{ at: tick(115), seconds: 0.5 }], pointers: [cover] });
  const { file } = await clipOf('ntsc.mp4', shot, { hold: 12 });
  const { stdout } = await run('/usr/bin/python3', [
    '-c',
    // The darkest and the lightest of each frame within the cover (640 by 144 pixels from 320, 504 on).
    `import subprocess,sys,json
d=subprocess.run(["ffmpeg","-v","error","-i",sys.argv[1],"-vf","crop=640:144:320:504,format=gray,scale=64:16:flags=neighbor","-vsync","0","-f","rawvideo","-"],check=True,capture_output=True).stdout
print(json.dumps([[min(d[i:i+1024]),max(d[i:i+1024])] for i in range(0,len(d),1024)]))`,
    file,
  ]);
  const frames = JSON.parse(stdout) as [number, number][];
  expect(frames).toHaveLength(30 + 15 + 12);
  // One tone throughout, of the numbers nothing: their bands are 16 and 235.
  const tones = frames.flat();
  expect(Math.max(...tones) - Math.min(...tones)).toBeLessThan(12);
});

test('a reel of twelve clips keeps every frame, every chapter, and its sound to 2 ms at the end', {
  timeout: 300_000,
}, async () => {
  const film = await source('ntsc.mp4');
  const clips = [];
  const shown: number[] = [];
  const beeps: number[] = [];
  let before = 0;
  for (let part = 0; part < 12; part += 1) {
    const from = 30 * part + 7;
    const to = from + 37 + part;
    const made = await clipOf('ntsc.mp4', cut(film, from, to, { muted: false }));
    clips.push(made);
    shown.push(...Array.from({ length: to - from }, (_, frame) => from + frame));
    const begin = (from * 1001) / 30_000;
    for (let second = Math.ceil(begin); second < (to * 1001) / 30_000 - 0.02; second += 1)
      beeps.push((before * 1001) / 30_000 + second - begin);
    before += made.frames;
  }
  const work = path.join(folder, 'joined');
  await mkdir(work);
  const to = path.join(work, 'reel.mp4');
  const chapters = [
    { title: 'Opening; a = b # c', frame: 0 },
    { title: 'Play 2', frame: clips[0]!.frames },
    { title: 'Closing', frame: before - clips.at(-1)!.frames },
  ];
  await joinClips(
    { clips, chapters, frames: before },
    { list: path.join(work, 'list'), metadata: path.join(work, 'meta'), to },
    never,
  );
  const { frames, tones } = await read(to);
  expect(frames).toEqual(shown);
  for (const beep of beeps)
    expect(Math.min(...tones.map((tone) => Math.abs(tone - beep)))).toBeLessThan(0.002);
  expect(beeps.length).toBeGreaterThan(10);
  expect(beeps.at(-1)).toBeGreaterThan(((before - 60) * 1001) / 30_000);
  const { stdout } = await run('ffprobe', [
    '-v',
    'error',
    '-show_chapters',
    '-show_format',
    '-of',
    'json',
    to,
  ]);
  const probed = JSON.parse(stdout) as {
    chapters: { start_time: string; tags: { title: string } }[];
    format: { tags: Record<string, string> };
  };
  expect(probed.chapters.map(({ tags }) => tags.title)).toEqual(chapters.map(({ title }) => title));
  expect(probed.chapters.map(({ start_time }) => Math.round((Number(start_time) * 30_000) / 1001))).toEqual(
    chapters.map(({ frame }) => frame),
  );
  // Nothing tells where or when it was made.
  expect(Object.keys(probed.format.tags).sort()).toEqual([
    'compatible_brands',
    'major_brand',
    'minor_version',
  ]);
  // Decoded to the end without a word.
  expect((await run('ffmpeg', ['-v', 'warning', '-i', to, '-f', 'null', '-'])).stderr).toBe('');
});

test('the same clip has the same bytes, is made once, and is told when its film is no film', {
  timeout: 120_000,
}, async () => {
  const film = await source('ntsc.mp4');
  const shot = cut(film, 300, 330);
  const { file, wasThere } = await clipOf('ntsc.mp4', shot);
  expect(wasThere).toBe(false);
  expect((await clipOf('ntsc.mp4', shot)).wasThere).toBe(true);
  const first = (await run('md5sum', [file])).stdout;
  await run('rm', [file]);
  expect((await clipOf('ntsc.mp4', shot)).wasThere).toBe(false);
  expect((await run('md5sum', [file])).stdout).toBe(first);
  await writeFile(at('no-film.mp4'), 'no film at all');
  expect(await readShape(at('no-film.mp4'), never)).toBeUndefined();
});
