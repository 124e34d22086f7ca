import { useEffect, useState } from 'preact/hooks';
import type { Cut, Pointer, Shot } from '../../../timeline/cut.ts';
import { secondsOfCut } from '../../../timeline/cut-length.ts';
import { stateInWords } from './autosave.ts';
import { Conflict } from './conflict.tsx';
import type { CutAnswer } from './editor-link.ts';
import * as edits from './edits.ts';
import { type KeyDoing, KeyHelp, pressed } from './keys.tsx';
import { ShotList } from './shot-list.tsx';
import { ShotPanel } from './shot-panel.tsx';
import { Stage } from './stage.tsx';
import { Transport } from './transport.tsx';
import { useCut } from './use-cut.ts';
import { framesAround, useFilm } from './use-film.ts';
import { usePreview } from './use-preview.ts';
import { useVoice } from './use-voice.ts';
import { VoicePanel } from './voice-panel.tsx';

interface Props {
  readonly address: string;
  readonly personId: string;
  readonly start: CutAnswer;
  /** The cut that it begins with, on frames. */
  readonly first: Cut;
  /** The question as the card has it now; empty: none. */
  question(): string;
  /** And what is said, likewise. */
  narration(): string;
  /** Calls back when the card was written on; gives what ends that. */
  onCard(changed: () => void): () => void;
  onLength(seconds: number): void;
}

/** How a play is cut: the film with what is drawn on it, its shots, and what each of them has. */
export function ClipEditor({
  address,
  personId,
  start,
  first,
  question,
  narration,
  onCard,
  onLength,
}: Props) {
  const kept = useCut(address, start, first);
  const { cut } = kept;
  const { films } = start;
  const [at, setAt] = useState(0);
  const [pointer, setPointer] = useState<number | null>(null);
  const [fault, setFault] = useState('');
  const chosen = Math.min(at, cut.shots.length - 1);
  const shot = cut.shots[chosen]!;
  const film = films.find(({ id }) => id === shot.filmId);
  const player = useFilm(film, setFault);
  const { preview, play: playOf, stop: stopPreview } = usePreview(player.video, films, setAt);
  const { frames, tick } = player;
  const seconds = secondsOfCut(cut);
  useEffect(() => onLength(seconds), [seconds]);
  const cardNow = () => ({ asks: question() !== '', hasText: narration() !== '' });
  const [{ asks, hasText }, setCard] = useState(cardNow());
  useEffect(() => onCard(() => setCard(cardNow())), []);
  const playAlong = () => {
    const now = kept.now();
    player.video.current!.scrollIntoView({ block: 'start' });
    const shots = asks && now.questionAfter !== null ? now.shots.slice(0, now.questionAfter) : now.shots;
    void playOf({ ...now, shots }, { asks: false, silent: true, voice: null });
  };
  const voice = useVoice({ cutAddress: address, personId, start }, kept, playAlong, stopPreview);
  const isRecording = voice.recorder.state.is !== 'idle';
  const recordOrStop = () => {
    if (isRecording) void voice.recorder.stop();
    else if (!voice.pending) void voice.recorder.start();
  };

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
    const now = kept.now();
    const said = now.voice?.kind === 'recorded' ? now.voice.recordingId : undefined;
    const heard = voice.recordings.find(({ id }) => id === said)?.address ?? null;
    await playOf(now, { asks: question() !== '', silent: false, voice: heard });
  };

  const setIn = () => tick < shot.to && change((one) => edits.trimmed(one, { from: tick }));
  const setOut = () =>
    frames && tick >= shot.from && change((one) => edits.trimmed(one, { to: frames.endOf(tick) }));
  const freeze = () => inside && change((one) => edits.frozen(one, tick));
  const keys: KeyDoing = {
    ...{ ' ': player.toggle, ArrowLeft: () => player.step(-1), ArrowRight: () => player.step(1) },
    ...{ ShiftArrowLeft: () => player.bySeconds(-1), ShiftArrowRight: () => player.bySeconds(1) },
    ...{ i: setIn, o: setOut, f: freeze, s: slowly, p: play },
    ...{ '1': () => point('circle'), '2': () => point('arrow') },
    ...{ '3': () => point('spotlight'), '4': () => point('cover') },
    ...{ '[': () => choose(chosen - 1), ']': () => choose(chosen + 1) },
    m: () => film?.sound && change((one) => ({ ...one, muted: !one.muted })),
    Home: () => player.goTo(shot.from),
    End: () => frames && player.goTo(frames.after(shot.to, -1)),
    ...{ back: kept.undo, again: kept.redo },
    r: recordOrStop,
    Escape: () => (isRecording ? recordOrStop() : stopPreview()),
  };
  const onKey = (event: KeyboardEvent) => {
    const name = pressed(event);
    if (
      name === null ||
      !Object.hasOwn(keys, name) ||
      ((preview || isRecording) && !['Escape', 'r'].includes(name))
    )
      return;
    event.preventDefault();
    keys[name]!();
  };

  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: keys of the buttons inside it
    <div onKeyDown={onKey}>
      <p class={`clip-state ${kept.saving.is === 'saved' ? 'good' : ''}`} role="status" data-cut-state>
        {stateInWords(kept.saving)} · {seconds.toFixed(1)} seconds of film
      </p>
      {kept.theirs && kept.saving.is === 'changed by somebody else' && (
        <Conflict
          {...{ why: kept.saving.why, mine: cut, theirs: kept.theirs, films, recordings: voice.recordings }}
          onMine={() => void kept.keepMine()}
          onTheirs={() => {
            voice.learn(kept.theirs!.recordings);
            void kept.takeTheirs();
          }}
        />
      )}
      <section class="card film" aria-label="Film">
        <Stage
          {...{ film, player, shot, preview, pointer, question: question() }}
          {...{ onChoose: setPointer, onChange: change, onFault: setFault }}
        />
        {fault && (
          <p class="notice bad" role="alert">
            {fault}
          </p>
        )}
        {preview ? (
          <div class="actions clip-under">
            {!isRecording && (
              <button type="button" onClick={stopPreview}>
                Stop, back to the shots
              </button>
            )}
            <span class="soft">
              {isRecording
                ? 'The film plays along, silent.'
                : 'As it will be in the reel, which has no gaps between shots.'}
            </span>
          </div>
        ) : (
          <Transport
            {...{ film: player, frames, shot, canUndo: kept.canUndo, canRedo: kept.canRedo }}
            {...{ onIn: setIn, onOut: setOut, onFreeze: freeze, onPointer: point }}
            {...{ onPreview: () => void play(), onUndo: kept.undo, onRedo: kept.redo }}
          />
        )}
      </section>
      <VoicePanel
        {...{ cut, asks, hasText, voice }}
        onVoice={(said) => kept.change({ ...kept.now(), voice: said })}
      />
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
