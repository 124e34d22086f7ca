import type { EntryState } from '../entry/entry-state.ts';
import { isOpen } from '../states.ts';
import type { Sending } from './entry-session.ts';
import { signInAddress } from './sign-in-address.ts';

interface Props {
  state: EntryState;
  sending: Sending;
  /** How many changes the server would not take. */
  setAside: number;
  undoLabel: string | undefined;
  filmShown: boolean;
  onUndo(): void;
  onNewPlay(): void;
  onCrew(): void;
  onFile(): void;
  onKeys(): void;
  onFilm(): void;
}

export function StatusBar(props: Props) {
  const { state, undoLabel } = props;
  const open = isOpen(state.report.state);
  return (
    <header class="entry-bar">
      <div class="entry-name">
        <h1>{state.game.title}</h1>
        <p class="soft">
          Week {state.game.week} · <span class="tag">{state.report.state}</span> ·{' '}
          {countOf(state.plays.length, 'play')}, {countOf(state.marks.length, 'mark')}
        </p>
      </div>
      <SendingBar sending={props.sending} setAside={props.setAside} />
      <div class="entry-actions">
        {open && (
          <>
            <button type="button" onClick={props.onNewPlay}>
              New play
            </button>
            <button
              type="button"
              class="second"
              onClick={props.onUndo}
              disabled={!undoLabel}
              title={undoLabel ? `Take back: ${undoLabel}` : 'Nothing to take back'}
            >
              Undo
            </button>
          </>
        )}
        <button type="button" class="second" onClick={props.onFilm} aria-pressed={props.filmShown}>
          Film
        </button>
        <button type="button" class="second" onClick={props.onCrew}>
          Crew{state.crewConfirmed ? '' : ' (to confirm)'}
        </button>
        <button type="button" class="second" onClick={props.onKeys}>
          Keys
        </button>
        {open && (
          <button type="button" class="second" onClick={props.onFile}>
            Check and file
          </button>
        )}
      </div>
      {state.report.state === 'returned' && (
        <p class="notice warn entry-wide">
          <strong>Returned by the coordinator:</strong> {state.report.returnedReason}
        </p>
      )}
    </header>
  );
}

/** Whether everything entered is with the server, in words first and colour second. */
function SendingBar({ sending, setAside }: { sending: Sending; setAside: number }) {
  const { notSent, waitingFor, message, keptHere, beingKept } = sending;
  const kept = keptHere
    ? beingKept > 0
      ? 'Keeping'
      : 'Kept here'
    : 'This device cannot keep changes, stay on this page';
  const why =
    waitingFor === 'no connection'
      ? 'no connection, trying again'
      : waitingFor === 'signed out'
        ? 'signed out'
        : waitingFor
          ? message
          : '';
  return (
    <p
      class={`entry-sending ${notSent > 0 || setAside > 0 || !keptHere ? 'waiting' : waitingFor ? 'away' : 'sent'}`}
      role="status"
    >
      <strong>
        {notSent > 0 ? `${kept}, ${notSent} not yet sent` : setAside > 0 ? 'All else sent' : 'All sent'}
      </strong>
      {setAside > 0 && (
        <>
          {' '}
          · <a href="#conflicts-title">{countOf(setAside, 'change')} for you to mend</a>
        </>
      )}
      {why && <span> · {why}</span>}
      {waitingFor === 'signed out' && (
        <>
          {' '}
          <a href={signInAddress()}>Sign in</a>
        </>
      )}
    </p>
  );
}

const countOf = (count: number, what: string) => `${count} ${what}${count === 1 ? '' : 's'}`;
