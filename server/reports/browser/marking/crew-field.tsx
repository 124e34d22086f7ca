import { crewPlaces, type LayOut } from '../../../football/drawing/crew-places.ts';
import { fieldWidth } from '../../../football/drawing/field-measures.ts';
import { crewOnField } from '../../../football/zones/crew-on-field.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';
import type { Owed } from '../marking.ts';
import type { PaneProps } from './pane-props.ts';

/** In rem: what the style sheet gives the field at its narrowest. */
const layOut: LayOut = { width: 20, height: 17, official: { width: 3.1, height: 3.1 } };
const inPercent = (share: number) => `${Math.round(share * 10_000) / 100}%`;

/** The crew where they stand at the snap, each with what they owed; who owes something undecided has a dot. */
export function CrewField(props: PaneProps & { marks: readonly EntryMark[] }) {
  const { state, play, owed, marks, marking, watching, watched } = props;
  const crew = crewOnField(
    owed.map((other) => other.position),
    state.practices,
  );
  const places = crewPlaces(play.play, crew, state.code, layOut);
  return (
    <div class="crew-field">
      <Ground places={places} />
      <fieldset class="officials" data-arrows>
        <legend class="visually-hidden">
          {watching.on ? 'Whom you watch' : 'Officials, where they stand at the snap'}
        </legend>
        {owed.map((other) => {
          const count = marks.filter((mark) => mark.position === other.position).length;
          const seen = watched(other.position);
          const { x, y } = places.officials.get(other.position) ?? { x: 0.5, y: 0.5 };
          return (
            <button
              key={other.position}
              type="button"
              aria-pressed={watching.on ? seen : other.position === marking.position}
              class={seen ? undefined : 'unwatched'}
              title={`${other.position}, ${other.name}`}
              style={{ left: inPercent(x), top: inPercent(y) }}
              onClick={() =>
                watching.on ? watching.toggle(other.position, seen) : marking.chooseOfficial(other.position)
              }
            >
              <span class="letter">{other.letter}</span>
              <span class="owed-number">
                {other.duties.length}
                <span class="visually-hidden">{inWords(other, count, seen)}</span>
              </span>
              {other.undecided.length > 0 && seen && <span class="undecided-dot" />}
              {count > 0 && (
                <span class="marked-number" aria-hidden="true">
                  {count}
                </span>
              )}
            </button>
          );
        })}
      </fieldset>
      {places.supposed && (
        <p class="soft">Drawn as for a try by kick, until it is logged how the try was made.</p>
      )}
    </div>
  );
}

/** Said after the letter and the number owed. */
function inWords({ position, name, undecided }: Owed, marked: number, seen: boolean): string {
  return [
    ' owed',
    undecided.length > 0 && seen ? `, ${undecided.length} undecided` : '',
    marked > 0 ? `, ${marked} marked` : '',
    seen ? '' : ', not watched',
    `, ${position}${name && ` ${name}`}`,
  ].join('');
}

/** Yard lines, line of scrimmage, line to gain and the ball; the words beside it say as much. */
function Ground({ places }: { places: ReturnType<typeof crewPlaces> }) {
  const across = (at: number, name: string) => (
    <line key={`${name} ${at}`} class={name} x1="0" x2={fieldWidth} y1={at * 100} y2={at * 100} />
  );
  return (
    <>
      <svg aria-hidden="true" viewBox={`0 0 ${fieldWidth} 100`} preserveAspectRatio="none">
        {places.yardLines.map(({ at, goal }) => across(at, goal ? 'crew-goal-line' : 'crew-yards'))}
        {across(places.lineOfScrimmage, 'crew-scrimmage')}
        {places.lineToGain !== undefined && across(places.lineToGain, 'crew-to-gain')}
      </svg>
      <span
        class="crew-ball"
        aria-hidden="true"
        style={{ left: inPercent(places.ball.x), top: inPercent(places.ball.y) }}
      />
    </>
  );
}
