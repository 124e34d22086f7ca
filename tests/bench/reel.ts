import { execFile } from 'node:child_process';
import { chmod, mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import type { FastifyInstance } from 'fastify';
import { openDatabase } from '../../server/database/database.ts';
import { startEmbeddedPostgres } from '../../server/database/embedded.ts';
import { readFrames } from '../../server/films/looking/film-frames.ts';
import type { ReelPlan } from '../../server/reels/plan/reel-plan.ts';
import { ReelFiles } from '../../server/reels/reel-files.ts';
import { probeLimits } from '../../server/reels/rendering/limits.ts';
import { renderReel } from '../../server/reels/rendering/render-reel.ts';
import { taughtSeason } from '../programs/taught-season.ts';
import { filmOfGame } from '../reels/filmed-program.ts';
import { testApp } from '../support/test-app.ts';
import { measuredWithChildren } from './children-time.ts';
import type { Measurement } from './measurement.ts';

const run = promisify(execFile);
const never = new AbortController().signal;
const clips = 24;
const clipSeconds = 5;
const most = 1.15;

/**
 * A reel of 24 clips, each behind a card, beside the very commands of ffmpeg that it takes, run one after the other with
 * nothing else, with and without the looks that ffprobe takes at what was made; and the same reel again after one clip was changed.
 */
export async function reel(): Promise<Measurement[]> {
  const data = await mkdtemp(path.join(tmpdir(), 'crewmark-bench-'));
  const server = await startEmbeddedPostgres(path.join(data, 'postgres'));
  const database = await openDatabase(server.url);
  const app = await testApp(database, { DATA_DIR: data });
  try {
    const season = await taughtSeason(database.pool);
    const filmId = await filmOfGame(database.pool, season, data);
    const film = path.join(data, 'films', season.conferenceId, filmId);
    const plan = await planOf(filmId, film);
    const files = new ReelFiles({ DATA_DIR: data });
    const make = (of: ReelPlan) => rendered(app, files, season.conferenceId, of, path.join(data, 'reel.mp4'));
    const empty = () => rm(path.join(data, 'reels'), { recursive: true, force: true });

    const commands = await commandsOf(data, () => make(plan));
    await empty();
    const whole = await measuredWithChildren(() => make(plan));
    const changed = await measuredWithChildren(() => make(longer(plan)));
    const reencode = async () => {
      for (const { folder, words } of commands) await run('ffmpeg', words, { cwd: folder });
    };
    const made = path.join(data, 'reels', season.conferenceId, 'clips');
    const looks = (await readdir(made)).filter((name) => name.endsWith('.mov'));
    const look = (asked: string, file: string) =>
      run('ffprobe', ['-v', 'error', ...asked.split(' '), file], { maxBuffer: 2 ** 28 });
    const making = await measuredWithChildren(reencode);
    const looking = await measuredWithChildren(async () => {
      for (const name of looks) await look('-count_packets -show_streams -of json', path.join(made, name));
      await look('-select_streams v:0 -show_entries packet=pts -of csv=p=0', path.join(data, 'reel.mp4'));
    });
    const both = { wall: making.wall + looking.wall, processor: making.processor + looking.processor };
    const all = 'reel: 24 clips and 24 cards, nearly three minutes';
    return [
      figure(all, whole, 'the same steps of ffmpeg and ffprobe alone', both, most),
      figure(`${all}, looks counted`, whole, 'its commands of ffmpeg alone', making, most),
      figure('reel: the same with one clip changed', changed, 'all of it', whole, 0.1),
    ];
  } finally {
    await app.close();
    await database.close();
    await server.stop();
    await rm(data, { recursive: true, force: true });
  }
}

interface Took {
  readonly wall: number;
  readonly processor: number;
}
const figure = (what: string, took: Took, beside: string, by: Took, goal: number): Measurement => ({
  name: `${what}, ${took.wall.toFixed(1)} s of a clock, goal ${goal}`,
  value: took.processor,
  unit: 's of processor time',
  against: `${beside}, ${by.processor.toFixed(1)} s (${by.wall.toFixed(1)} s of a clock)`,
  ratio: took.processor / by.processor,
});

async function planOf(filmId: string, film: string): Promise<ReelPlan> {
  const { ticks, timebase } = await readFrames(film, probeLimits, never);
  const frames = clipSeconds * 30;
  const step = Math.floor((ticks.length - frames - 1) / clips);
  const segments = Array.from({ length: clips }, (_, at): ReelPlan['segments'] => [
    {
      ...{ kind: 'card', frames: 60, chapter: `Play ${at + 1}`, play: at + 1, stops: false },
      card: {
        ...{ kind: 'topic', above: 'Topic', heading: `Eyes on players, ${at + 1}`, foot: 'What is expected' },
        lines: [{ text: 'Everybody keeps their eyes on players.', tone: 'plain' }],
      },
    },
    {
      ...{ kind: 'shot', chapter: null, play: at + 1, stops: false },
      shot: {
        ...{ filmId, timebase, from: ticks[at * step]!, to: ticks[at * step + frames]! },
        ...{ slow: 1, freezes: [], pointers: [], muted: false },
      },
    },
  ]).flat();
  const plays = Array.from({ length: clips }, (_, at) => ({
    ...{ number: at + 1, title: `Play ${at + 1}`, narration: '', voice: null, lacking: null },
  }));
  return { title: 'Eyes on players', edition: 1, segments, plays };
}

/** One clip in the middle is half as slow again. */
const longer = (plan: ReelPlan): ReelPlan => ({
  ...plan,
  segments: plan.segments.map((segment, at) =>
    segment.kind === 'shot' && at === clips + 1
      ? { ...segment, shot: { ...segment.shot, muted: true } }
      : segment,
  ),
});

const rendered = (app: FastifyInstance, files: ReelFiles, conferenceId: string, plan: ReelPlan, to: string) =>
  renderReel({
    ...{ app, files, conferenceId, plan, to, burnedIn: false, holder: 'bench', signal: never },
    onProgress: () => {},
  });

/** What ffmpeg was asked to do meanwhile, by a program of its name that writes it down first. */
async function commandsOf(data: string, work: () => Promise<unknown>) {
  const folder = path.join(data, 'noting');
  const noted = path.join(folder, 'commands');
  await mkdir(folder, { recursive: true });
  const real = (await run('which', ['ffmpeg'])).stdout.trim();
  await writeFile(
    path.join(folder, 'ffmpeg'),
    `#!/bin/sh\n{ pwd; printf '%s\\0' "$@"; printf '\\n\\0\\n'; } >> ${noted}\nexec ${real} "$@"\n`,
  );
  await chmod(path.join(folder, 'ffmpeg'), 0o755);
  const before = process.env.PATH;
  process.env.PATH = `${folder}:${before}`;
  try {
    await work();
  } finally {
    process.env.PATH = before;
  }
  const made = (await readFile(noted, 'utf8')).split('\n\0\n').filter((one) => one.trim() !== '');
  return made.map((one) => {
    const end = one.indexOf('\n');
    return {
      folder: one.slice(0, end),
      words: one
        .slice(end + 1)
        .split('\0')
        .slice(0, -1),
    };
  });
}
