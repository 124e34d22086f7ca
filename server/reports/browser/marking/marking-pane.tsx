import { CrewField } from './crew-field.tsx';
import { DutyList } from './duty-list.tsx';
import { MarkList } from './mark-list.tsx';
import type { PaneProps } from './pane-props.ts';
import { WatchedPanel } from './watched-panel.tsx';

/** The crew on the field, what the chosen official owed, and the marks of the play. */
export function MarkingPane(props: PaneProps) {
  const { state, play, owed, marking, watching } = props;
  const marks = state.marks.filter((mark) => mark.playId === play.playId);
  if (owed.length === 0) {
    return (
      <div class="card">
        <h3>Who owed what</h3>
        <p>Nobody is entered as working this game. Open “Crew” and enter who worked.</p>
      </div>
    );
  }
  return (
    <div class="marking">
      <div class="card">
        <div class="marking-head">
          <h3>Who owed what on this play</h3>
          {props.open && (
            <button
              type="button"
              class="second watch-switch"
              aria-expanded={watching.on}
              onClick={watching.on ? watching.stop : watching.start}
            >
              {props.keysOn && (
                <span class="key" aria-hidden="true">
                  w
                </span>
              )}
              {watchedHere(props)}
            </button>
          )}
        </div>
        <CrewField {...props} marks={marks} />
        {watching.on ? (
          <WatchedPanel {...props} />
        ) : marking.official ? (
          <DutyList {...props} official={marking.official} marks={marks} />
        ) : (
          <p class="soft">
            Touch an official, then the duty that was out of the ordinary. A duty without a mark counts as
            done.
            {owed.some(({ undecided }) => undecided.length > 0) &&
              ' A dot: more would have to be logged to know all that was owed.'}
          </p>
        )}
      </div>
      <MarkList {...props} marks={marks} />
    </div>
  );
}

function watchedHere({ state, owed, watched }: PaneProps): string {
  if (state.report.watched === null) return 'Watched: not said';
  const count = owed.filter(({ position }) => watched(position)).length;
  return count === owed.length ? 'Watched: all' : `Watched: ${count} of ${owed.length}`;
}
