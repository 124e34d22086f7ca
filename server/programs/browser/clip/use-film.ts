import { useEffect, useRef, useState } from 'preact/hooks';
import { type EditorFilm, framesOf } from './editor-link.ts';
import { FrameIndex } from './frame-index.ts';

/** Frames are known this far around where the film stands, seconds; and are asked for anew so near to an edge. */
const around = 55;
const nearEdge = 8;

const known = new Map<string, FrameIndex>();

/** The frames of a film around a time. */
export async function framesAround(film: EditorFilm, seconds: number): Promise<FrameIndex> {
  const there = known.get(film.id);
  const atBegin = (index: FrameIndex) => index.firstTick === 0;
  const isInside = (index: FrameIndex) =>
    index.holds(seconds) &&
    (index.holds(seconds - nearEdge) || atBegin(index)) &&
    (index.holds(seconds + nearEdge) || index.endOf(index.lastTick) >= index.end);
  if (there && isInside(there)) return there;
  const index = new FrameIndex(await framesOf(film, Math.max(0, seconds - around), seconds + around));
  known.set(film.id, index);
  return index;
}

/** One film in a player: where it stands, by frames. */
export function useFilm(film: EditorFilm | undefined, onFault: (sentence: string) => void) {
  const video = useRef<HTMLVideoElement>(null);
  const [frames, setFrames] = useState<FrameIndex>();
  const [tick, setTick] = useState(0);
  const [playing, setPlaying] = useState(false);
  /** The frame that was asked for while the player is on its way to it. */
  const wanted = useRef<number | undefined>(undefined);
  const index = useRef<FrameIndex | undefined>(undefined);
  const filmRef = useRef(film);
  filmRef.current = film;

  const learn = async (seconds: number) => {
    const asked = filmRef.current;
    if (!asked) return undefined;
    try {
      const found = await framesAround(asked, seconds);
      if (filmRef.current !== asked) return undefined;
      index.current = found;
      setFrames(found);
      return found;
    } catch (error) {
      onFault((error as Error).message);
      return undefined;
    }
  };

  useEffect(() => {
    const player = video.current;
    if (!player) return;
    let handle = 0;
    const shown = (seconds: number) => {
      if (!index.current) return;
      if (wanted.current !== undefined && player.seeking) return;
      wanted.current = undefined;
      setTick(index.current.seenAt(seconds));
    };
    const onFrame = (_now: number, { mediaTime }: { mediaTime: number }) => {
      shown(mediaTime);
      handle = player.requestVideoFrameCallback(onFrame);
    };
    // Where frames are not told of, a seek's end is.
    const onSeeked = () => shown(player.currentTime);
    const onTime = () => {
      if (!index.current?.holds(player.currentTime + nearEdge)) void learn(player.currentTime);
      if (!('requestVideoFrameCallback' in player)) shown((player as HTMLVideoElement).currentTime);
    };
    const onPlay = () => setPlaying(!player.paused);
    if ('requestVideoFrameCallback' in player) handle = player.requestVideoFrameCallback(onFrame);
    player.addEventListener('seeked', onSeeked);
    player.addEventListener('timeupdate', onTime);
    for (const name of ['play', 'pause', 'ended']) player.addEventListener(name, onPlay);
    return () => {
      if (handle) player.cancelVideoFrameCallback(handle);
      player.removeEventListener('seeked', onSeeked);
      player.removeEventListener('timeupdate', onTime);
      for (const name of ['play', 'pause', 'ended']) player.removeEventListener(name, onPlay);
    };
  }, [film?.id]);

  /** Stands still at that frame. */
  const goTo = (to: number) => {
    const player = video.current;
    if (!player || !index.current) return;
    player.pause();
    wanted.current = to;
    setTick(to);
    player.currentTime = index.current.middleOf(to);
  };
  return {
    ...{ video, frames, tick, playing, learn, goTo },
    /** By so many frames, from the one that is seen or on its way. */
    step: (by: number) => index.current && goTo(index.current.after(wanted.current ?? tick, by)),
    bySeconds: async (by: number) => {
      const from = index.current;
      if (!from) return;
      const to = Math.max(0, from.secondsOf(wanted.current ?? tick) + by);
      const found = await learn(to);
      if (found) goTo(found.seenAt(to));
    },
    toSeconds: async (seconds: number) => {
      const found = await learn(seconds);
      if (found) goTo(found.seenAt(seconds));
    },
    toggle: () => {
      const player = video.current;
      if (!player) return;
      if (player.paused) void player.play().catch(() => onFault('The film cannot be played here.'));
      else player.pause();
    },
  };
}
export type FilmPlayer = ReturnType<typeof useFilm>;
