import { type Cut, type Pointer, secondsOfTicks } from '../../../timeline/cut.ts';
import type { EditorFilm } from './editor-link.ts';

interface PreviewEvents {
  /** Nothing of the film is heard. */
  readonly silent: boolean;
  onShot(at: number): void;
  /** Where it stands, in ticks of the shot's timebase, with what is drawn there. */
  onMoment(tick: number, pointers: readonly Pointer[]): void;
  /** The question is asked; it goes on when this is done. */
  onQuestion(): Promise<void>;
}

const frame = () => new Promise<void>((resolve) => requestAnimationFrame(() => resolve()));
const pause = (seconds: number, signal: AbortSignal) =>
  new Promise<void>((resolve) => {
    const timer = setTimeout(resolve, seconds * 1000);
    signal.addEventListener(
      'abort',
      () => {
        clearTimeout(timer);
        resolve();
      },
      { once: true },
    );
  });

/** Plays a cut in a player as the reel will have it, but for the moments in which a player seeks. */
export async function playCut(
  video: HTMLVideoElement,
  { shots, questionAfter }: Cut,
  films: readonly EditorFilm[],
  asks: boolean,
  signal: AbortSignal,
  on: PreviewEvents,
): Promise<void> {
  for (const [at, shot] of shots.entries()) {
    const film = films.find(({ id }) => id === shot.filmId);
    if (!film || signal.aborted) continue;
    on.onShot(at);
    const seconds = (tick: number) => secondsOfTicks(tick, shot.timebase);
    await standAt(video, film, seconds(shot.from) + 0.001, signal);
    video.muted = shot.muted || on.silent;
    video.playbackRate = 1 / shot.slow;
    const freezes = [...shot.freezes].sort((a, b) => a.at - b.at);
    await video.play().catch(() => {});
    while (!signal.aborted && !video.ended && video.currentTime < seconds(shot.to) - 0.004) {
      const tick = Math.round((video.currentTime * shot.timebase.denominator) / shot.timebase.numerator);
      on.onMoment(
        tick,
        shot.pointers.filter(({ from, to }) => tick >= from && tick < to),
      );
      const due = freezes[0];
      if (due && tick >= due.at) {
        freezes.shift();
        video.pause();
        await pause(due.seconds, signal);
        if (!signal.aborted) await video.play().catch(() => {});
      }
      await frame();
    }
    video.pause();
    const stops = asks && at + 1 === (questionAfter ?? shots.length);
    if (stops && !signal.aborted) await on.onQuestion();
  }
  video.pause();
  video.playbackRate = 1;
  video.muted = true;
}

async function standAt(video: HTMLVideoElement, film: EditorFilm, seconds: number, signal: AbortSignal) {
  const happens = (name: string) =>
    new Promise<void>((resolve) => {
      video.addEventListener(name, () => resolve(), { once: true });
      video.addEventListener('error', () => resolve(), { once: true });
      signal.addEventListener('abort', () => resolve(), { once: true });
    });
  if (new URL(film.address, location.href).href !== video.src) {
    video.src = film.address;
    video.load();
  }
  if (video.readyState < HTMLMediaElement.HAVE_METADATA) await happens('loadedmetadata');
  if (Math.abs(video.currentTime - seconds) < 0.0005) return;
  const arrived = happens('seeked');
  video.currentTime = seconds;
  await arrived;
}
