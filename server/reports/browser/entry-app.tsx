import type { JSX } from 'preact';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import { lackingFor } from '../../duties/crew-without-duty.ts';
import { countOpportunities } from '../../duties/opportunity-counts.ts';
import { nextPlay } from '../../football/next-play.ts';
import type { Position } from '../../football/positions.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import type { PutMark } from '../entry/changes.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { type Missing, missingIn } from '../filing/completeness.ts';
import { isOpen } from '../states.ts';
import { ConflictList } from './conflict-list.tsx';
import { CrewDialog } from './crew-dialog.tsx';
import type { EntrySession } from './entry-session.ts';
import { FilingDialog } from './filing-dialog.tsx';
import { FilmPane } from './film-pane.tsx';
import { KeyHelp } from './key-help.tsx';
import { dutyKeys, findingsFor, owedOn, positionForKey, rubricOf } from './marking.ts';
import { MarkingPane } from './marking-pane.tsx';
import { PlayFacts } from './play-facts.tsx';
import { PlayList } from './play-list.tsx';
import { signInAddress } from './sign-in-address.ts';
import { StatusBar } from './status-bar.tsx';

type Dialog = 'crew' | 'filing' | 'keys' | 'remove play';

export function EntryApp({ session }: { session: EntrySession }): JSX.Element {
  const state = useSession(session);
  if (!state) return <NothingYet session={session} />;
  return <Entry session={session} state={state} />;
}

function useSession(session: EntrySession): EntryState | undefined {
  const [, count] = useState(0);
  useEffect(() => session.subscribe(() => count((before) => before + 1)), [session]);
  return session.state;
}

function NothingYet({ session }: { session: EntrySession }) {
  const { waitingFor, message } = session.sending;
  return (
    <div class="notice warn" role="status">
      <p>
        {waitingFor === 'signed out' ? (
          <>
            You are signed out. <a href={signInAddress()}>Sign in</a> to open this report.
          </>
        ) : waitingFor === 'no connection' ? (
          'This report has not been opened on this device before, and the server cannot be reached. It opens as soon as there is a connection.'
        ) : (
          message || 'Opening the report …'
        )}
      </p>
    </div>
  );
}

function Entry({ session, state }: { session: EntrySession; state: EntryState }) {
  const open = isOpen(state.report.state);
  const [playId, setPlayId] = useState(() => rememberedPlay(state));
  const [position, setPosition] = useState<Position>();
  const [dutyKey, setDutyKey] = useState<string>();
  const [dialog, setDialog] = useState<Dialog>();
  const [said, say] = useState('');
  const [filmShown, showFilm] = useState(false);
  const [keysOn, setKeysOn] = useState(() => localStorage.getItem('crewmark-keys') !== 'off');
  const root = useRef<HTMLDivElement>(null);

  const at = state.plays.findIndex((play) => play.playId === playId);
  const current = state.plays[at] ?? state.plays.at(-1);
  const owed = useMemo(
    () => (current ? owedOn(state, current.playId, current.play) : []),
    [current, state.marks, state.crew, state.duties, state.officials],
  );
  const official = owed.find((other) => other.position === position);

  /** Focuses the first of these places that there is, once what was just changed is on the page. */
  const focusOn = (...selectors: string[]) =>
    requestAnimationFrame(() => {
      const places = selectors.map((selector) => root.current?.querySelector<HTMLElement>(selector));
      places.find((place) => place)?.focus();
    });

  const goTo = (play: EntryPlay | undefined, focus = '#play-pane') => {
    if (!play) return;
    setPlayId(play.playId);
    localStorage.setItem(`crewmark-play-${state.report.id}`, play.playId);
    setPosition(undefined);
    setDutyKey(undefined);
    if (focus) focusOn(focus);
  };

  const choosePosition = (chosen: Position) => {
    if (!owed.some((other) => other.position === chosen)) return;
    setPosition(chosen);
    setDutyKey(undefined);
    focusOn('.duties button');
  };

  const chooseDuty = (key: string) => {
    setDutyKey(key);
    focusOn('.findings button');
  };

  const mark = (finding: PutMark['finding'], comment?: string) => {
    if (!current || !position || !dutyKey || !open) return;
    const there = state.marks.find(
      (other) => other.playId === current.playId && other.position === position && other.dutyKey === dutyKey,
    );
    session.record(`${finding}, ${position}, play ${current.number}`, {
      kind: 'put mark',
      id: uuidv7(),
      basedOn: there?.changeId ?? null,
      markId: there?.markId ?? uuidv7(),
      playId: current.playId,
      position,
      dutyKey,
      finding,
      comment: comment ?? there?.comment ?? '',
    });
    if (comment === undefined) {
      say(`${finding}: ${position}`);
      focusOn('.mark-comment textarea');
    }
  };

  const newPlay = (after: EntryPlay | undefined = state.plays.at(-1)) => {
    if (!open) return;
    const newId = uuidv7();
    session.record('new play', {
      kind: 'put play',
      id: uuidv7(),
      basedOn: null,
      playId: newId,
      after: after?.playId ?? null,
      play: nextPlay(after?.play),
      filmSeconds: null,
      note: '',
    });
    setPlayId(newId);
    setPosition(undefined);
    setDutyKey(undefined);
    focusOn('#fact-kind');
  };

  const removePlay = (play: EntryPlay, marksToo: boolean) => {
    const next = state.plays[at + 1] ?? state.plays[at - 1];
    session.record(`play ${play.number} removed`, {
      kind: 'remove play',
      id: uuidv7(),
      basedOn: play.changeId,
      playId: play.playId,
      marksToo,
    });
    say(`Play ${play.number} removed`);
    setDialog(undefined);
    goTo(next);
  };

  /** To where something missing can be put right. */
  const goToMissing = (item: Missing) => {
    switch (item.what) {
      case 'crew':
        return;
      case 'conflict':
        focusOn('.entry-conflicts button');
        return;
      case 'play log':
        focusOn('.entry-actions button');
        return;
      case 'opportunities':
        goTo(leastLogged(state.plays), '.facts-card > summary');
        return;
      case 'mark':
      case 'comment': {
        const there = state.marks.find((other) => other.markId === item.observationId);
        goTo(
          state.plays.find((other) => other.playId === item.playId),
          '',
        );
        setPosition(item.position);
        setDutyKey(there?.dutyKey);
        focusOn('.mark-comment textarea', '.mark-list button', '#play-pane');
      }
    }
  };

  const undo = () => {
    const label = session.undo();
    say(label ? `Taken back: ${label}` : 'There is nothing to take back.');
  };

  const back = () => {
    if (dutyKey) {
      setDutyKey(undefined);
      focusOn('.duties button');
    } else if (position) {
      setPosition(undefined);
      focusOn('#play-pane');
    }
  };

  const onKey = (event: KeyboardEvent) => {
    const target = event.target as HTMLElement;
    if (target.closest('dialog') || document.querySelector('dialog[open]')) return;
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'z' && !isText(target)) {
      event.preventDefault();
      undo();
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === 'PageDown' || event.key === 'PageUp') {
      event.preventDefault();
      goTo(state.plays[at + (event.key === 'PageDown' ? 1 : -1)]);
      return;
    }
    if (event.key === 'Escape') {
      if (isText(target)) focusOn('#play-pane');
      else back();
      return;
    }
    if (event.key === 'ArrowDown' || event.key === 'ArrowUp') {
      if (moveWithin(target, event.key === 'ArrowDown' ? 1 : -1)) event.preventDefault();
      return;
    }
    if (!keysOn || isText(target)) return;
    if (actOnKey(event.key)) event.preventDefault();
  };

  /** The single-key shortcuts; true when the key meant something. */
  const actOnKey = (key: string): boolean => {
    if (key === '?') {
      setDialog('keys');
      return true;
    }
    if (key === 'n') {
      newPlay();
      return true;
    }
    if (key === '/') {
      focusOn('.facts-card > summary, .facts-card #fact-kind');
      return true;
    }
    if (official && dutyKey) {
      const duty = state.duties.find((other) => other.key === dutyKey);
      const finding = duty && findingsFor(duty)[Number(key) - 1];
      if (finding) {
        mark(finding);
        return true;
      }
    } else if (official) {
      const duty = [...official.duties, ...official.added][dutyKeys.indexOf(key)];
      if (duty) {
        chooseDuty(duty.key);
        return true;
      }
    }
    const chosen = positionForKey(key);
    if (chosen) choosePosition(chosen);
    return chosen !== undefined;
  };

  useEffect(() => {
    root.current?.querySelector('.entry-plays [aria-current]')?.scrollIntoView({ block: 'nearest' });
  }, [current?.playId]);

  const latest = useRef({ goTo, newPlay });
  latest.current = { goTo, newPlay };
  // The same element while nothing in it changes: a list of 165 plays is not looked through at every key.
  const playList = useMemo(
    () => (
      <PlayList
        plays={state.plays}
        marks={state.marks}
        current={current?.playId}
        onChoose={(play) => latest.current.goTo(play, '')}
        onNewPlay={() => latest.current.newPlay()}
        open={open}
      />
    ),
    [state.plays, state.marks, current?.playId, open],
  );

  const latestOnKey = useRef(onKey);
  latestOnKey.current = onKey;
  useEffect(() => {
    const listener = (event: KeyboardEvent) => latestOnKey.current(event);
    document.addEventListener('keydown', listener);
    return () => document.removeEventListener('keydown', listener);
  }, []);

  return (
    <div class="entry" ref={root}>
      <StatusBar
        state={state}
        sending={session.sending}
        setAside={session.setAside.length}
        undoLabel={session.undoLabel}
        onUndo={undo}
        onNewPlay={() => newPlay()}
        onCrew={() => setDialog('crew')}
        onFile={() => setDialog('filing')}
        onKeys={() => setDialog('keys')}
        filmShown={filmShown}
        onFilm={() => showFilm(!filmShown)}
      />
      <p class="visually-hidden" role="status">
        {said}
      </p>
      <ConflictList session={session} state={state} />
      <div class="entry-panes">
        {playList}
        <section id="play-pane" class="entry-play" tabindex={-1} aria-labelledby="play-title">
          {filmShown && (
            <FilmPane
              reportId={state.report.id}
              link={state.game.filmLink}
              play={current}
              onTime={(filmSeconds) =>
                current && open && recordPlay(session, current, { filmSeconds }, 'film time')
              }
            />
          )}
          {current ? (
            <>
              <PlayFacts
                key={current.playId}
                play={current}
                open={open}
                onChange={(part, label) => recordPlay(session, current, part, label)}
                onInsert={() => newPlay(current)}
                onRemove={() =>
                  state.marks.some((other) => other.playId === current.playId)
                    ? setDialog('remove play')
                    : removePlay(current, false)
                }
              />
              <MarkingPane
                state={state}
                play={current}
                owed={owed}
                position={position}
                dutyKey={dutyKey}
                open={open}
                keysOn={keysOn}
                onPosition={choosePosition}
                onDuty={chooseDuty}
                onFinding={(finding) => mark(finding)}
                onComment={(finding, comment) => mark(finding, comment)}
                onCommentDone={() => {
                  setDutyKey(undefined);
                  focusOn('.officials [aria-pressed="true"]');
                }}
                onShow={(other) => {
                  setPosition(other.position);
                  setDutyKey(other.dutyKey);
                  focusOn('.mark-comment textarea');
                }}
                onRemove={(other) => {
                  session.record('mark removed', {
                    kind: 'remove mark',
                    id: uuidv7(),
                    basedOn: other.changeId,
                    markId: other.markId,
                  });
                  say('Mark removed');
                  focusOn('#play-pane');
                }}
              />
            </>
          ) : (
            <div class="card">
              <h2 id="play-title">No plays yet</h2>
              <p>
                Log the first play, or ask the coordinator to import the play log. A kickoff is filled in to
                start from.
              </p>
              {open && (
                <button type="button" onClick={() => newPlay()}>
                  New play
                </button>
              )}
            </div>
          )}
        </section>
      </div>
      {dialog === 'crew' && (
        <CrewDialog session={session} state={state} open={open} onClose={() => setDialog(undefined)} />
      )}
      {dialog === 'filing' && (
        <FilingDialog
          session={session}
          state={state}
          missing={missingNow(state)}
          onClose={() => setDialog(undefined)}
          onGo={(item) => {
            setDialog(item.what === 'crew' ? 'crew' : undefined);
            goToMissing(item);
          }}
        />
      )}
      {dialog === 'keys' && (
        <KeyHelp
          keysOn={keysOn}
          onKeysOn={(on) => {
            localStorage.setItem('crewmark-keys', on ? 'on' : 'off');
            setKeysOn(on);
          }}
          onClose={() => setDialog(undefined)}
        />
      )}
      {dialog === 'remove play' && current && (
        <RemovePlay
          state={state}
          play={current}
          onRemove={() => removePlay(current, true)}
          onClose={() => setDialog(undefined)}
        />
      )}
    </div>
  );
}

function recordPlay(
  session: EntrySession,
  play: EntryPlay,
  part: Partial<Pick<EntryPlay, 'play' | 'filmSeconds' | 'note'>>,
  label: string,
): void {
  session.record(`${label}, play ${play.number}`, {
    kind: 'put play',
    id: uuidv7(),
    basedOn: play.changeId,
    playId: play.playId,
    after: null,
    play: part.play ?? play.play,
    filmSeconds: part.filmSeconds === undefined ? play.filmSeconds : part.filmSeconds,
    note: part.note ?? play.note,
  });
}

function RemovePlay(props: { state: EntryState; play: EntryPlay; onRemove(): void; onClose(): void }) {
  const marks = props.state.marks.filter((mark) => mark.playId === props.play.playId);
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  return (
    <dialog ref={dialog} aria-labelledby="remove-title" onClose={props.onClose}>
      <h2 id="remove-title">Remove play {props.play.number} with its marks?</h2>
      <p>
        {marks.length === 1 ? '1 mark goes' : `${marks.length} marks go`} with it:{' '}
        {marks.map((mark) => `${mark.position} ${mark.finding}`).join(', ')}. Undo brings all of it back.
      </p>
      <div class="actions">
        <button type="button" class="second" onClick={() => dialog.current?.close()}>
          Keep the play
        </button>
        <button type="button" class="danger" onClick={props.onRemove}>
          Remove play and marks
        </button>
      </div>
    </dialog>
  );
}

/** The same check that filing makes on the server, from what is on this device. */
function missingNow(state: EntryState): Missing[] {
  const crew = crewAtWork(state.crew);
  const plays = state.plays.map((play) => ({ id: play.playId, number: play.number, play: play.play }));
  const rubric = rubricOf(state.duties);
  const counted = countOpportunities(plays, crew, rubric, state.marks);
  return missingIn({
    crewConfirmed: state.crewConfirmed,
    crew: crew.present,
    plays,
    observations: state.marks.map((mark) => ({ ...mark, id: mark.markId })),
    counts: counted.counts,
    stray: counted.stray,
    openConflicts: state.conflicts.length,
    lacking: lackingFor(rubric, crew),
  });
}

/** The play of which the fewest facts are known: there, opportunities are most likely to be found. */
function leastLogged(plays: readonly EntryPlay[]): EntryPlay | undefined {
  const known = (item: EntryPlay) => Object.keys(item.play).length;
  return plays.reduce<EntryPlay | undefined>(
    (least, play) => (least && known(least) <= known(play) ? least : play),
    undefined,
  );
}

function rememberedPlay(state: EntryState): string | undefined {
  return localStorage.getItem(`crewmark-play-${state.report.id}`) ?? state.plays[0]?.playId;
}

function isText(target: HTMLElement): boolean {
  if (target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement) return true;
  return target instanceof HTMLInputElement && !['checkbox', 'radio', 'button'].includes(target.type);
}

/** Arrow keys move between the buttons of one list. */
function moveWithin(target: HTMLElement, by: 1 | -1): boolean {
  const list = target.closest('[data-arrows]');
  if (!list || isText(target)) return false;
  const buttons = [...list.querySelectorAll<HTMLButtonElement>('button:not(:disabled)')];
  const next = buttons[buttons.indexOf(target as HTMLButtonElement) + by];
  next?.focus();
  return true;
}
