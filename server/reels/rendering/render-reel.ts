import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import { placesOf, type ReelFacts } from '../plan/reel-places.ts';
import type { ReelPlan } from '../plan/reel-plan.ts';
import type { ReelFiles } from '../reel-files.ts';
import { clipsOfReel } from './clips-of-reel.ts';
import { DrawnPictures } from './drawn-pictures.ts';
import { type ClipMaker, ffmpegVersion, finishClip } from './finish-clip.ts';
import { joinClips } from './join-clips.ts';
import { placeReel } from './place-reel.ts';
import { type SourceFilm, sourceFilm } from './source-film.ts';
import { ReelFailed } from './trouble.ts';
import { type Voice, voiceOf } from './voice.ts';

interface Rendering {
  readonly app: FastifyInstance;
  readonly files: ReelFiles;
  readonly conferenceId: string;
  readonly holder: string;
  readonly plan: ReelPlan;
  readonly burnedIn: boolean;
  /** Where the reel is written to. */
  readonly to: string;
  readonly signal: AbortSignal;
  /** @param made whether a clip was just finished that was not there before */
  onProgress(part: number, made?: boolean): void;
}

/**
 * Makes a reel, clip by clip; clips that were finished before are taken as they are.
 * @throws ReelFailed, ReelWaits with a sentence; what the signal says when it was aborted
 */
export async function renderReel(rendering: Rendering): Promise<ReelFacts> {
  const { app, files, conferenceId, holder, plan, burnedIn, to, signal, onProgress } = rendering;
  const work = files.work(conferenceId, holder);
  await files.prepare(conferenceId, holder);
  const films = await filmsOf(app, conferenceId, plan, signal);
  const { voices, notes } = await voicesOf(rendering, work);
  const placed = placeReel(
    plan,
    (filmId) => films.get(filmId)!.frames,
    new Map([...voices].map(([number, { samples }]) => [number, samples])),
  );
  const pictures = new DrawnPictures(work);
  const clips = clipsOfReel(plan, placed, { films, voices, pictures, burnedIn });
  const maker: ClipMaker = { files, conferenceId, holder, signal, ffmpeg: await ffmpegVersion(signal) };
  const lengths = placed.map(({ frames }) => frames);
  const places = placesOf(plan, lengths);
  const finished: { file: string; frames: number }[] = [];
  let done = 0;
  for (const { clip, what, draw } of clips) {
    signal.throwIfAborted();
    await draw();
    // Joining takes a small part of the time.
    const part = (frames: number) => (0.95 * frames) / places.frames;
    const { wasThere, ...made } = await finishClip(maker, clip, what, (frames) =>
      onProgress(part(done + frames)),
    );
    finished.push(made);
    done += clip.frames;
    onProgress(part(done), !wasThere);
  }
  await joinClips(
    { clips: finished, chapters: places.chapters, frames: places.frames },
    { list: path.join(work, 'clips.txt'), metadata: path.join(work, 'chapters.txt'), to },
    signal,
  );
  return {
    ...places,
    hasSound: voices.size > 0 || plan.segments.some((one) => hears(one, films)),
    notes,
  };
}

const hears = (segment: ReelPlan['segments'][number], films: ReadonlyMap<string, SourceFilm>) =>
  segment.kind === 'shot' &&
  !segment.shot.muted &&
  segment.shot.slow === 1 &&
  films.get(segment.shot.filmId)!.sound;

async function filmsOf(
  app: FastifyInstance,
  conferenceId: string,
  { segments }: ReelPlan,
  signal: AbortSignal,
): Promise<Map<string, SourceFilm>> {
  const plays = new Map<string, Set<number>>();
  for (const segment of segments) {
    if (segment.kind !== 'shot') continue;
    const of = plays.get(segment.shot.filmId) ?? new Set();
    plays.set(segment.shot.filmId, of.add(segment.play));
  }
  const films = new Map<string, SourceFilm>();
  for (const [filmId, numbers] of plays) {
    const listed = new Intl.ListFormat('en-US').format([...numbers].map(String));
    const words = `${numbers.size === 1 ? 'play' : 'plays'} ${listed}`;
    films.set(filmId, await sourceFilm(app, conferenceId, filmId, words, signal));
  }
  return films;
}

async function voicesOf({ app, conferenceId, plan, signal }: Rendering, folder: string) {
  const voices = new Map<number, Voice>();
  const notes: string[] = [];
  for (const play of plan.plays) {
    const voice = await voiceOf(play, { app, conferenceId, folder, signal }).catch((error: unknown) => {
      // A voice that cannot be read is no reason to have no reel.
      if (error instanceof ReelFailed) return { missing: `${error.message} (play ${play.number})` };
      throw error;
    });
    if (voice === null) continue;
    if ('missing' in voice) notes.push(voice.missing);
    else {
      voices.set(play.number, voice);
      if (play.narration === '')
        notes.push(`Play ${play.number} is spoken and has no text: it has no captions. Write its narration.`);
    }
  }
  return { voices, notes };
}
