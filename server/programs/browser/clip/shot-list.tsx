import type { Cut } from '../../../timeline/cut.ts';
import { shotInWords } from './cut-in-words.ts';
import type { EditorFilm } from './editor-link.ts';
import { mostShots } from './edits.ts';

interface Props {
  readonly cut: Cut;
  readonly films: readonly EditorFilm[];
  readonly chosen: number;
  readonly hasQuestion: boolean;
  onChoose(at: number): void;
  onMove(at: number, to: number): void;
  onRemove(at: number): void;
  onSlow(): void;
  onAngle(filmId: string): void;
  onQuestion(after: number | null): void;
}

/** The shots in their order, and where the reel stops for the question. */
export function ShotList({ cut, films, chosen, hasQuestion, ...on }: Props) {
  const full = cut.shots.length >= mostShots;
  return (
    <section class="card" aria-labelledby="clip-shots">
      <h2 id="clip-shots">Shots, in their order</h2>
      <ol class="clip-shots">
        {cut.shots.map((shot, at) => (
          <li key={at} class={at === chosen ? 'chosen' : ''}>
            <button
              type="button"
              class="clip-shot"
              aria-pressed={at === chosen}
              onClick={() => on.onChoose(at)}
            >
              {at + 1}. {shotInWords(shot, films)}
            </button>
            <span class="clip-moves">
              <button
                type="button"
                class="second small"
                disabled={at === 0}
                aria-label={`Shot ${at + 1} earlier`}
                onClick={() => on.onMove(at, at - 1)}
              >
                ↑
              </button>
              <button
                type="button"
                class="second small"
                disabled={at === cut.shots.length - 1}
                aria-label={`Shot ${at + 1} later`}
                onClick={() => on.onMove(at, at + 1)}
              >
                ↓
              </button>
              <button
                type="button"
                class="second small"
                disabled={cut.shots.length === 1}
                aria-label={`Take out shot ${at + 1}`}
                onClick={() => on.onRemove(at)}
              >
                Take out
              </button>
            </span>
          </li>
        ))}
      </ol>
      <div class="actions">
        <button type="button" class="second small" disabled={full} onClick={on.onSlow}>
          Repeat shot {chosen + 1} slowly
        </button>
        {films.map(({ id, angle }) => (
          <button key={id} type="button" class="second small" disabled={full} onClick={() => on.onAngle(id)}>
            Add it from {angle}
          </button>
        ))}
      </div>
      {full && <p class="soft">A play has {mostShots} shots at most.</p>}
      <p class="clip-line">
        <label for="clip-question">The question is asked</label>{' '}
        <select
          id="clip-question"
          value={String(cut.questionAfter ?? '')}
          disabled={!hasQuestion}
          onChange={(event) => on.onQuestion(Number(event.currentTarget.value) || null)}
        >
          <option value="">after all shots</option>
          {cut.shots.slice(0, -1).map((_, at) => (
            <option key={at} value={at + 1}>
              after shot {at + 1}
            </option>
          ))}
        </select>
        {!hasQuestion && <span class="soft"> The card has no question yet.</span>}
      </p>
    </section>
  );
}
