import type { Pointer, Shot } from '../../../timeline/cut.ts';
import { filmClock } from './cut-in-words.ts';
import type { FrameIndex } from './frame-index.ts';
import type { FilmPlayer } from './use-film.ts';

interface Props {
  readonly film: FilmPlayer;
  readonly frames: FrameIndex | undefined;
  readonly shot: Shot;
  readonly canUndo: boolean;
  readonly canRedo: boolean;
  onIn(): void;
  onOut(): void;
  onFreeze(): void;
  onPointer(shape: Pointer['shape']): void;
  onPreview(): void;
  onUndo(): void;
  onRedo(): void;
}

/** What lies before the in point and after the out point and can still be reached by the slider, seconds. */
const margin = 10;

/** The film's buttons: going through it frame by frame, and what is set at the frame that is seen. */
export function Transport({ film, frames, shot, canUndo, canRedo, ...on }: Props) {
  const { tick } = film;
  if (!frames) return <p class="soft">Reading the film’s frames …</p>;
  const low = frames.seenAt(Math.max(0, frames.secondsOf(shot.from) - margin));
  const high = frames.seenAt(frames.secondsOf(shot.to) + margin);
  const outside = tick < shot.from ? 'before the in point' : tick >= shot.to ? 'after the out point' : '';
  const place =
    outside || `frame ${frames.between(shot.from, tick) + 1} of ${frames.between(shot.from, shot.to)}`;
  const button = (label: string, act: () => void, { main = false, off = false } = {}) => (
    <button type="button" class={main ? 'small' : 'second small'} disabled={off} onClick={act}>
      {label}
    </button>
  );
  return (
    <>
      <p class="clip-time">
        <strong>{filmClock(frames.secondsOf(tick))}</strong> <span class="soft">{place}</span>
      </p>
      <input
        class="clip-slider"
        type="range"
        aria-label="Place in the film"
        aria-valuetext={`${filmClock(frames.secondsOf(tick))}, ${place}`}
        min="0"
        max={frames.between(low, high)}
        value={frames.between(low, tick)}
        onInput={(event) => film.goTo(frames.after(low, Number(event.currentTarget.value)))}
      />
      {/* biome-ignore lint/a11y/useSemanticElements: a row of buttons, not a part of a form */}
      <div class="actions" role="group" aria-label="Through the film">
        {button(film.playing ? 'Stop' : 'Play', film.toggle, { main: true })}
        {button('Frame back', () => film.step(-1))}
        {button('Frame on', () => film.step(1))}
        {button('To in', () => film.goTo(shot.from))}
        {button('To out', () => film.goTo(frames.after(shot.to, -1)))}
        {button('Play as cut', on.onPreview, { main: true })}
      </div>
      {/* biome-ignore lint/a11y/useSemanticElements: a row of buttons, not a part of a form */}
      <div class="actions" role="group" aria-label="At this frame">
        {button('Set in here', on.onIn, { off: tick >= shot.to })}
        {button('Set out here', on.onOut, { off: tick < shot.from })}
        {button('Freeze here', on.onFreeze, { off: outside !== '' })}
        {button('Circle', () => on.onPointer('circle'), { off: outside !== '' })}
        {button('Arrow', () => on.onPointer('arrow'), { off: outside !== '' })}
        {button('Spotlight', () => on.onPointer('spotlight'), { off: outside !== '' })}
        {button('Cover', () => on.onPointer('cover'), { off: outside !== '' })}
        {button('Take back', on.onUndo, { off: !canUndo })}
        {button('Make again', on.onRedo, { off: !canRedo })}
      </div>
    </>
  );
}
