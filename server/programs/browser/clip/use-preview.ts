import { useRef, useState } from 'preact/hooks';
import type { Cut, Pointer } from '../../../timeline/cut.ts';
import type { EditorFilm } from './editor-link.ts';
import { playCut } from './preview.ts';

export interface Preview {
  readonly tick: number;
  readonly pointers: readonly Pointer[];
  /** Goes on after the question, while it is asked. */
  readonly asks: (() => void) | null;
}

interface Wanted {
  readonly asks: boolean;
  /** Nothing of the film is heard. */
  readonly silent: boolean;
  /** Where the voice is that is heard over it, up to the question. */
  readonly voice: string | null;
}

/** The film's sound while a voice is heard, as in the reel. */
const underVoice = 0.25;

/** A cut as the reel will have it, in the editor's own player. */
export function usePreview(
  video: { readonly current: HTMLVideoElement | null },
  films: readonly EditorFilm[],
  onShot: (at: number) => void,
) {
  const [preview, setPreview] = useState<Preview>();
  const stopping = useRef<AbortController>();
  const stop = () => stopping.current?.abort();
  const play = async (cut: Cut, { asks, silent, voice }: Wanted) => {
    stop();
    const ending = new AbortController();
    stopping.current = ending;
    const first = cut.shots[0]!;
    setPreview({ tick: first.from, pointers: [], asks: null });
    const player = video.current!;
    const said = voice === null ? null : new Audio(voice);
    if (said) player.volume = underVoice;
    void said?.play().catch(() => {});
    await playCut(player, cut, films, asks, ending.signal, {
      silent,
      onShot,
      onMoment: (now, pointers) => setPreview((before) => before && { ...before, tick: now, pointers }),
      onQuestion: () => {
        said?.pause();
        return new Promise<void>((resolve) => {
          ending.signal.addEventListener('abort', () => resolve(), { once: true });
          setPreview((before) => before && { ...before, asks: resolve });
        }).then(() => setPreview((before) => before && { ...before, asks: null }));
      },
    });
    said?.pause();
    player.volume = 1;
    if (stopping.current === ending) setPreview(undefined);
  };
  return { preview, play, stop };
}
