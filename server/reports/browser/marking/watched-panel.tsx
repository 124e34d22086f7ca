import type { EntryPlay } from '../../entry/entry-snapshot.ts';
import { watchedText } from '../change-words.ts';
import { percentWatched } from '../log-standing.ts';
import type { PaneProps } from './pane-props.ts';
import { type Scope, scopes } from './use-watching.ts';

/** For which plays the officials on the field are switched, and what was said so far. */
export function WatchedPanel({ state, play, watching, keysOn, standing }: PaneProps) {
  const { watched } = state.report;
  const words: Readonly<Record<Scope, string>> = {
    'from here': `From play ${play.number} on`,
    'whole report': 'Whole game',
    between: 'Between two plays',
  };
  const end = (which: 'from' | 'to', label: string) => (
    <label class="fact">
      <span>{label}</span>
      <select
        value={watching.between[which] ?? ''}
        onChange={(event) => watching.setBetween({ ...watching.between, [which]: event.currentTarget.value })}
      >
        {state.plays.map((one: EntryPlay) => (
          <option key={one.playId} value={one.playId}>
            play {one.number}
          </option>
        ))}
      </select>
    </label>
  );
  return (
    <div class="watching">
      <p>
        <strong>Touch whom you do not watch.</strong> Who is hatched is not watched on this play, and is
        graded neither for nor against.
      </p>
      <fieldset class="watch-scopes">
        <legend>For which plays</legend>
        {scopes.map((scope, at) => (
          <button
            key={scope}
            type="button"
            class="second"
            aria-pressed={watching.scope === scope}
            onClick={() => watching.setScope(scope)}
          >
            {keysOn && (
              <span class="key" aria-hidden="true">
                {at + 1}
              </span>
            )}
            {words[scope]}
          </button>
        ))}
      </fieldset>
      {watching.scope === 'between' && (
        <div class="fact-row">
          {end('from', 'From')}
          {end('to', 'To, both included')}
        </div>
      )}
      <div class="actions">
        <button type="button" class="second" onClick={watching.everybody}>
          {keysOn && (
            <span class="key" aria-hidden="true">
              e
            </span>
          )}
          Everybody
        </button>
        <button type="button" class="second" onClick={watching.nobody}>
          {keysOn && (
            <span class="key" aria-hidden="true">
              o
            </span>
          )}
          Nobody
        </button>
        <button type="button" onClick={watching.stop}>
          Done
        </button>
      </div>
      <p class="soft">
        {watched === null ? 'Not said yet. ' : `Watched: ${watchedText(state, watched)}. `}
        {watched !== null &&
          standing.watchedShare !== undefined &&
          `${percentWatched(standing.watchedShare)} of all that was owed is watched.`}
      </p>
    </div>
  );
}
