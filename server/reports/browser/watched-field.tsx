import { v7 as uuidv7 } from 'uuid';
import { everybodyWatched } from '../../duties/watched.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { watchedText } from './change-words.ts';
import type { EntrySession } from './entry-session.ts';

interface Props {
  session: EntrySession;
  state: EntryState;
  onField(): void;
}

/** Whom the observer watched, as filing asks for it: everybody at once, or switched on the field. */
export function WatchedField({ session, state, onField }: Props) {
  const { watched } = state.report;
  return (
    <fieldset class="watched-field" id="watched-field" tabindex={-1}>
      <legend>Whom you watched</legend>
      <p class="soft">
        {watched === null ? 'Not said yet. ' : `${watchedText(state, watched)}. `}
        Who was not watched is not graded in this report.
      </p>
      <div class="actions">
        <button
          type="button"
          class="second"
          aria-pressed={watched !== null && watchedText(state, watched) === 'everybody'}
          onClick={() =>
            session.record('everybody watched', {
              kind: 'watched',
              id: uuidv7(),
              was: watched,
              watched: { positions: [...everybodyWatched.positions], stretches: [] },
            })
          }
        >
          Everybody
        </button>
        <button type="button" class="second" onClick={onField}>
          Say whom, and on which plays
        </button>
      </div>
    </fieldset>
  );
}
