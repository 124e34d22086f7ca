import type { Pointer, Shot } from '../../../timeline/cut.ts';
import { secondsOfTicks } from '../../../timeline/cut.ts';
import { filmClock } from './cut-in-words.ts';
import { withPointer } from './edits.ts';
import { shapeWords } from './pointer-layer.tsx';

interface Props {
  readonly shot: Shot;
  readonly at: number;
  readonly hasSound: boolean;
  /** The frame that is seen, and the one after it. */
  readonly tick: number;
  readonly next: number;
  readonly chosen: number | null;
  onChange(change: (shot: Shot) => Shot, what?: string): void;
  onChoose(pointer: number | null): void;
  onGoTo(tick: number): void;
}

/** What the chosen shot has: its speed and sound, freezes, pointers. */
export function ShotPanel({ shot, at, hasSound, tick, next, chosen, ...on }: Props) {
  const clock = (ticks: number) => filmClock(secondsOfTicks(ticks, shot.timebase));
  const inside = tick >= shot.from && tick < shot.to;
  return (
    <section class="card" aria-labelledby="clip-shot">
      <h2 id="clip-shot">Shot {at + 1}</h2>
      <p class="clip-line">
        <label for="clip-slow">Speed</label>{' '}
        <select
          id="clip-slow"
          value={String(shot.slow)}
          onChange={(event) => {
            const slow = Number(event.currentTarget.value);
            on.onChange((one) => ({ ...one, slow }));
          }}
        >
          <option value="1">as filmed</option>
          {[2, 3, 4, 6, 8].map((times) => (
            <option key={times} value={times}>
              {times} times as slow
            </option>
          ))}
          {[5, 7].includes(shot.slow) && <option value={shot.slow}>{shot.slow} times as slow</option>}
        </select>{' '}
        <label>
          <input
            type="checkbox"
            checked={!shot.muted}
            disabled={!hasSound}
            onChange={(event) => {
              const muted = !event.currentTarget.checked;
              on.onChange((one) => ({ ...one, muted }));
            }}
          />
          With the film’s sound
        </label>{' '}
        <span class="soft">
          {hasSound ? 'Listen first: names or an injury may be heard.' : 'This film has no sound.'}
        </span>
      </p>
      {shot.freezes.length > 0 && (
        <ul class="clip-marks">
          {shot.freezes.map((freeze, place) => (
            <li key={freeze.at}>
              <button type="button" class="clip-shot" onClick={() => on.onGoTo(freeze.at)}>
                Freeze at {clock(freeze.at)}
              </button>
              <label>
                <span class="visually-hidden">Freeze {place + 1}: </span>seconds{' '}
                <input
                  type="number"
                  min="0.5"
                  max="30"
                  step="0.5"
                  value={freeze.seconds}
                  onChange={(event) => {
                    const seconds = Math.min(30, Math.max(0.1, Number(event.currentTarget.value) || 2));
                    on.onChange((one) => ({
                      ...one,
                      freezes: one.freezes.map((own) => (own.at === freeze.at ? { ...own, seconds } : own)),
                    }));
                  }}
                />
              </label>
              <button
                type="button"
                class="second small"
                aria-label={`Take out freeze ${place + 1}`}
                onClick={() =>
                  on.onChange((one) => ({ ...one, freezes: one.freezes.filter((own) => own !== freeze) }))
                }
              >
                Take out
              </button>
            </li>
          ))}
        </ul>
      )}
      {shot.pointers.length > 0 && (
        <ul class="clip-marks">
          {shot.pointers.map((pointer, place) => {
            const change = (how: Partial<Pointer>, what = '') =>
              on.onChange((one) => withPointer(one, place, how), what);
            const name = `${shapeWords[pointer.shape]} ${place + 1}`;
            return (
              <li key={place} class={chosen === place ? 'chosen' : ''}>
                <button
                  type="button"
                  class="clip-shot"
                  onClick={() => {
                    on.onChoose(place);
                    if (tick < pointer.from || tick >= pointer.to) on.onGoTo(pointer.from);
                  }}
                >
                  {name}, {clock(pointer.from)} to {clock(pointer.to)}
                </button>
                <label>
                  <span class="visually-hidden">{name}: </span>size{' '}
                  <input
                    type="number"
                    min="2"
                    max="50"
                    step="1"
                    disabled={pointer.shape === 'arrow' || pointer.shape === 'cover'}
                    value={Math.round(pointer.size * 100)}
                    onInput={(event) =>
                      change(
                        {
                          size: Math.min(
                            0.5,
                            Math.max(0.02, Number(event.currentTarget.value) / 100 || 0.08),
                          ),
                        },
                        `size ${place}`,
                      )
                    }
                  />
                </label>
                <button
                  type="button"
                  class="second small"
                  disabled={!inside || tick >= pointer.to}
                  aria-label={`From here: ${name}`}
                  onClick={() => change({ from: tick })}
                >
                  From here
                </button>
                <button
                  type="button"
                  class="second small"
                  disabled={!inside || tick < pointer.from}
                  aria-label={`Until here: ${name}`}
                  onClick={() => change({ to: Math.min(shot.to, next) })}
                >
                  Until here
                </button>
                <button
                  type="button"
                  class="second small"
                  aria-label={`Take out ${name}`}
                  onClick={() =>
                    on.onChange((one) => ({
                      ...one,
                      pointers: one.pointers.filter((_, own) => own !== place),
                    }))
                  }
                >
                  Take out
                </button>
              </li>
            );
          })}
        </ul>
      )}
      {shot.freezes.length + shot.pointers.length === 0 && (
        <p class="soft">No freeze and no pointer yet: go to the moment, then press one above.</p>
      )}
    </section>
  );
}
