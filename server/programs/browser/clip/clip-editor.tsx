import { useEffect, useRef, useState } from 'preact/hooks';
import type { Cut, Pointer, Shot } from '../../../timeline/cut.ts';
import { secondsOfCut } from '../../../timeline/cut-length.ts';
import { stateInWords } from './autosave.ts';
import { Conflict } from './conflict.tsx';
import type { CutAnswer } from './editor-link.ts';
import * as edits from './edits.ts';
import { type KeyDoing, KeyHelp, pressed } from './keys.tsx';
import { PointerLayer } from './pointer-layer.tsx';
import { playCut } from './preview.ts';
import { ShotList } from './shot-list.tsx';
import { ShotPanel } from './shot-panel.tsx';
import { Transport } from './transport.tsx';
import { useCut } from './use-cut.ts';
import { framesAround, useFilm } from './use-film.ts';

interface Props {
  readonly address: string;
  readonly start: CutAnswer;
  /** The cut that it begins with, on frames. */
  readonly first: Cut;
  /** The question as the card has it now; empty: none. */
  question(): string;
  /** Calls back when the card was written on; gives what ends that. */
  onCard(changed: () => void): () => void;
  onLength(seconds: number): void;
}

type Preview = { tick: number; pointers: readonly Pointer[]; asks: (() => void) | null };

/** How a play is cut: the film with what is drawn on it, its shots, and what each of them has. */
export function ClipEditor({ address, start, first, question, onCard, onLength }: Props) {
  const kept = useCut(address, start, first);
  const { cut } = kept;
  const { films } = start;
  const [at, setAt] = useState(0);
  const [pointer, setPointer] = useState<number | null>(null);
  const [fault, setFault] = useState('');
  const [preview, setPreview] = useState<Preview>();
  const stopPreview = useRef<AbortController | undefined>(undefined);
  const chosen = Math.min(at, cut.shots.length - 1);
  const shot = cut.shots[chosen]!;
  const film = films.find(({ id }) => id === shot.filmId);
  const player = useFilm(film, setFault);
  const { frames, tick } = player;
  const seconds = secondsOfCut(cut);
  useEffect(() => onLength(seconds), [seconds]);
  const [asks, setAsks] = useState(question() !== '');
  useEffect(() => onCard(() => setAsks(question() !== '')), []);

  // The film of the shot that is chosen, at its begin.
  useEffect(() => {
    if (!film || preview) return;
    const video = player.video.current!;
    if (video.src !== new URL(film.address, location.href).href) video.src = film.address;
    let left = false;
    void player.learn((shot.from * shot.timebase.numerator) / shot.timebase.denominator).then((found) => {
      if (found && !left) player.goTo(shot.from);
    });
    return () => {
      left = true;
    };
  }, [chosen, film?.id, preview === undefined]);

  const change = (how: (shot: Shot) => Shot, what = '') =>
    kept.change(edits.withShot(kept.now(), chosen, how), what && `${chosen} ${what}`);
  const choose = (to: number) => {
    setAt(Math.min(kept.now().shots.length - 1, Math.max(0, to)));
    setPointer(null);
  };
  const inside = tick >= shot.from && tick < shot.to;
  const point = (shape: Pointer['shape']) => {
    if (!inside) return;
    change((one) => edits.pointed(one, shape, tick));
    setPointer(Math.min(shot.pointers.length, edits.mostPointers - 1));
  };
  const slowly = () => {
    kept.change(edits.repeatedSlowly(kept.now(), chosen));
    choose(chosen + 1);
  };
  const addAngle = async (filmId: string) => {
    const other = films.find(({ id }) => id === filmId)!;
    const { from, to } = edits.sameMoment(shot, film?.snap ?? null, other.snap);
    try {
      const there = await framesAround(other, from);
      const begin = there.nearestTo(Math.min(from, there.secondsOf(there.lastTick)));
      const end = there.nearestTo(to);
      kept.change(
        edits.inserted(kept.now(), chosen, {
          ...{ filmId, timebase: there.timebase, from: begin, to: Math.max(end, there.endOf(begin)) },
          ...{ slow: 1, freezes: [], pointers: [], muted: true },
        }),
      );
      choose(chosen + 1);
      setFault(
        other.snap
          ? ''
          : `Where the play is in ${other.angle} is not known: go to it, and set in and out. Marking its snap in that film helps.`,
      );
    } catch (error) {
      setFault((error as Error).message);
    }
  };
  const play = async () => {
    stopPreview.current?.abort();
    const stop = new AbortController();
    stopPreview.current = stop;
    setPreview({ tick: shot.from, pointers: [], asks: null });
    await playCut(player.video.current!, kept.now(), films, question() !== '', stop.signal, {
      onShot: setAt,
      onMoment: (now, pointers) => setPreview((before) => before && { ...before, tick: now, pointers }),
      onQuestion: () =>
        new Promise<void>((resolve) => {
          stop.signal.addEventListener('abort', () => resolve(), { once: true });
          setPreview((before) => before && { ...before, asks: resolve });
        }).then(() => setPreview((before) => before && { ...before, asks: null })),
    });
    setPreview(undefined);
  };

  const setIn = () => tick < shot.to && change((one) => edits.trimmed(one, { from: tick }));
  const setOut = () =>
    frames && tick >= shot.from && change((one) => edits.trimmed(one, { to: frames.endOf(tick) }));
  const freeze = () => inside && change((one) => edits.frozen(one, tick));
  const keys: KeyDoing = {
    ...{ ' ': player.toggle, ArrowLeft: () => player.step(-1), ArrowRight: () => player.step(1) },
    ...{ ShiftArrowLeft: () => player.bySeconds(-1), ShiftArrowRight: () => player.bySeconds(1) },
    ...{ i: setIn, o: setOut, f: freeze, s: slowly, p: play },
    ...{
      '1': () => point('circle'),
      '2': () => point('arrow'),
      '3': () => point('spotlight'),
      '4': () => point('cover'),
    },
    ...{ '[': () => choose(chosen - 1), ']': () => choose(chosen + 1) },
    m: () => film?.sound && change((one) => ({ ...one, muted: !one.muted })),
    Home: () => player.goTo(shot.from),
    End: () => frames && player.goTo(frames.after(shot.to, -1)),
    ...{ back: kept.undo, again: kept.redo },
    Escape: () => stopPreview.current?.abort(),
  };
  const onKey = (event: KeyboardEvent) => {
    const name = pressed(event);
    if (name === null || !Object.hasOwn(keys, name) || (preview && name !== 'Escape')) return;
    event.preventDefault();
    keys[name]!();
  };
  const size = player.video.current;
  const ratio = size?.videoWidth ? size.videoHeight / size.videoWidth : 9 / 16;

  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: keys of the buttons inside it
    <div onKeyDown={onKey}>
      <p class={`clip-state ${kept.saving.is === 'saved' ? 'good' : ''}`} role="status" data-cut-state>
        {stateInWords(kept.saving)} · {seconds.toFixed(1)} seconds of film
      </p>
      {kept.theirs && kept.saving.is === 'changed by somebody else' && (
        <Conflict
          {...{ why: kept.saving.why, mine: cut, theirs: kept.theirs, films }}
          onMine={() => void kept.keepMine()}
          onTheirs={() => void kept.takeTheirs()}
        />
      )}
      <section class="card film" aria-label="Film">
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: so that keys work while the picture is looked at */}
        {/* biome-ignore lint/a11y/useSemanticElements: no part of a form */}
        <div class="clip-stage" tabIndex={0} role="group" aria-label="The picture" data-tick={tick}>
          <video
            ref={player.video}
            preload="auto"
            playsInline
            muted
            aria-label={`Film: ${film?.angle ?? 'removed'}`}
            onError={() =>
              setFault(
                'The film cannot be played here: its file may be gone, or of a kind that this browser does not play.',
              )
            }
          />
          <PointerLayer
            pointers={preview ? preview.pointers : shot.pointers}
            tick={preview ? preview.tick : tick}
            {...{ ratio, chosen: preview ? null : pointer }}
            onChoose={setPointer}
            onChange={(place, how) => change((one) => edits.withPointer(one, place, how), `pointer ${place}`)}
            onRemove={(place) =>
              change((one) => ({ ...one, pointers: one.pointers.filter((_, own) => own !== place) }))
            }
          />
          {preview?.asks && (
            <div class="clip-asks" role="alertdialog" aria-label="The question">
              <p>{question()}</p>
              <button type="button" onClick={preview.asks}>
                Go on
              </button>
            </div>
          )}
        </div>
        {fault && (
          <p class="notice bad" role="alert">
            {fault}
          </p>
        )}
        {preview ? (
          <div class="actions">
            <button type="button" onClick={() => stopPreview.current?.abort()}>
              Stop, back to the shots
            </button>
            <span class="soft">As it will be in the reel, which has no gaps between shots.</span>
          </div>
        ) : (
          <Transport
            {...{ film: player, frames, shot, canUndo: kept.canUndo, canRedo: kept.canRedo }}
            {...{ onIn: setIn, onOut: setOut, onFreeze: freeze, onPointer: point }}
            {...{ onPreview: () => void play(), onUndo: kept.undo, onRedo: kept.redo }}
          />
        )}
      </section>
      <ShotList
        {...{ cut, films, chosen, hasQuestion: asks, onChoose: choose, onSlow: slowly }}
        onMove={(from, to) => {
          kept.change(edits.moved(kept.now(), from, to));
          choose(to);
        }}
        onRemove={(place) => {
          kept.change(edits.removed(kept.now(), place));
          choose(Math.min(place, cut.shots.length - 2));
        }}
        onAngle={(filmId) => void addAngle(filmId)}
        onQuestion={(questionAfter) => kept.change({ ...kept.now(), questionAfter })}
        onSpoken={(spoken) => kept.change({ ...kept.now(), voice: spoken ? { kind: 'spoken' } : null })}
      />
      <ShotPanel
        {...{ shot, at: chosen, hasSound: film?.sound ?? false, tick, chosen: pointer }}
        {...{
          next: frames?.endOf(tick) ?? tick,
          onChange: change,
          onChoose: setPointer,
          onGoTo: player.goTo,
        }}
      />
      <KeyHelp />
      <p class="actions">
        <button
          type="button"
          class="second small"
          onClick={() => void kept.backToDefault().catch((error: Error) => setFault(error.message))}
        >
          Back to the default cut
        </button>
        <span class="soft">Around the snap, by the seconds on the card.</span>
      </p>
    </div>
  );
}
