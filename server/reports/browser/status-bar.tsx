import { useEffect, useRef } from 'preact/hooks';
import type { EntryState } from '../entry/entry-state.ts';
import { isOpen } from '../states.ts';
import type { EntrySession } from './entry-session.ts';
import { type LogStanding, percentWatched } from './log-standing.ts';
import { signInAddress } from './sign-in-address.ts';
import { useSession } from './use-session.ts';
import { type Way, ways } from './way.ts';

interface Props {
  state: EntryState;
  session: EntrySession;
  filmShown: boolean;
  standing: LogStanding;
  way: Way;
  onWay(way: Way): void;
  onUndo(): void;
  onNewPlay(): void;
  onCrew(): void;
  onFile(): void;
  onKeys(): void;
  onFilm(): void;
}

export function StatusBar(props: Props) {
  const { state, session } = props;
  useSession(session);
  const { undoLabel } = session;
  const open = isOpen(state.report.state);
  const bar = useRef<HTMLElement>(null);
  // What stays in place under it has to know how high it is just now.
  useEffect(() => {
    const header = bar.current;
    if (!header) return;
    const page = document.documentElement;
    const measure = new ResizeObserver(() =>
      page.style.setProperty('--entry-bar', `${header.offsetHeight}px`),
    );
    measure.observe(header);
    return () => measure.disconnect();
  }, []);
  return (
    <header class="entry-bar" ref={bar}>
      <div class="entry-name">
        <h1>{state.game.title}</h1>
        <p class="soft">
          Week {state.game.week} · <span class="tag">{state.report.state}</span> ·{' '}
          {countOf(state.plays.length, 'play')}, {countOf(state.marks.length, 'mark')}
          {state.plays.length > 0 && ` · ${completeInWords(props.standing, state)}`}
        </p>
      </div>
      <SendingBar session={session} />
      <div class="entry-actions">
        {open && (
          <fieldset class="entry-way">
            <legend class="visually-hidden">How you work on this report</legend>
            {ways.map((way) => (
              <button
                key={way}
                type="button"
                class="second"
                aria-pressed={props.way === way}
                title={wayInWords[way]}
                onClick={() => props.onWay(way)}
              >
                {way === 'live' ? 'Live' : 'Later'}
              </button>
            ))}
          </fieldset>
        )}
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
function SendingBar({ session }: { session: EntrySession }) {
  const { notSent, waitingFor, message, keptHere, beingKept } = session.sending;
  /** How many changes the server would not take. */
  const setAside = session.setAside.length;
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

const wayInWords: Readonly<Record<Way, string>> = {
  live: 'In the stadium: plays and marks, and no questions',
  later: 'From film: asks for what is still undecided',
};

function completeInWords(
  { allUndecided, complete, watchedShare }: LogStanding,
  { plays, report }: EntryState,
): string {
  const share = Math.floor((100 * complete) / plays.length);
  const decided =
    allUndecided === 0
      ? 'every play complete'
      : `${share} % of plays complete, ${countOf(allUndecided, 'duty', 'duties')} undecided`;
  if (report.watched === null) return `${decided} · not said yet whom you watch`;
  return watchedShare === undefined ? decided : `${decided} · ${percentWatched(watchedShare)} watched`;
}

const countOf = (count: number, what: string, several = `${what}s`) =>
  `${count} ${count === 1 ? what : several}`;
