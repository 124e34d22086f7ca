import type { JSX } from 'preact';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import { contradictionsIn } from '../../football/contradictions/index.ts';
import { nextPlay } from '../../football/next-play.ts';
import type { Play } from '../../football/play.ts';
import type { Position } from '../../football/positions.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { ofItsKind } from '../entry/play-chips.ts';
import type { Missing } from '../filing/completeness.ts';
import { isOpen } from '../states.ts';
import { ConflictList } from './conflict-list.tsx';
import { CrewDialog } from './crew-dialog.tsx';
import { CrewNotice } from './crew-notice.tsx';
import { isText, moveWithin, useSaysBy } from './entry-focus.ts';
import type { EntrySession } from './entry-session.ts';
import { FilingDialog } from './filing-dialog.tsx';
import { FilmPane } from './film-pane.tsx';
import { GoingOn } from './going-on.tsx';
import { KeyHelp } from './key-help.tsx';
import { logStanding, nextUndecided, watchedIn } from './log-standing.ts';
import { MarkingPane } from './marking/marking-pane.tsx';
import { useMarking } from './marking/use-marking.ts';
import { useWatching } from './marking/use-watching.ts';
import { owedOn, rubricOf } from './marking.ts';
import { type Mend, MendOffer, useMend } from './mend-offer.tsx';
import { checkNow, leastLogged } from './missing-now.ts';
import { NothingYet } from './nothing-yet.tsx';
import { PlayFacts } from './play-facts.tsx';
import { PlayList } from './play-list.tsx';
import { recordPlay } from './record-play.ts';
import { RemovePlay } from './remove-play-dialog.tsx';
import { StatusBar } from './status-bar.tsx';
import { useSession } from './use-session.ts';
import { rememberWay, type Way, wayOf } from './way.ts';

type Dialog = 'crew' | 'filing' | 'keys' | 'remove play';

export function EntryApp({ session }: { session: EntrySession }): JSX.Element {
  useSession(session);
  const { state } = session;
  // The same element while the report is the same: how far its changes have got is told by parts that ask themselves.
  return useMemo(
    () => (state ? <Entry session={session} state={state} /> : <NothingYet session={session} />),
    [session, state],
  );
}

function Entry({ session, state }: { session: EntrySession; state: EntryState }) {
  const open = isOpen(state.report.state);
  const [playId, setPlayId] = useState(() => rememberedPlay(state));
  const [dialog, setDialog] = useState<Dialog>();
  const [said, say] = useState('');
  const [filmShown, showFilm] = useState(false);
  const [way, setWay] = useState(() => wayOf(state, Date.now()));
  const [onlyUndecided, setOnlyUndecided] = useState(false);
  const [keysOn, setKeysOn] = useState(() => localStorage.getItem('crewmark-keys') !== 'off');
  const root = useRef<HTMLDivElement>(null);
  const saysBy = useSaysBy();

  const at = state.plays.findIndex((play) => play.playId === playId);
  const current = state.plays[at] ?? state.plays.at(-1);
  const owed = useMemo(
    () => (current ? owedOn(state, current.playId, current.play) : []),
    [current, state.marks, state.crew, state.duties, state.officials, state.missedBefore],
  );
  const atWork = useMemo(() => crewAtWork(state.crew), [state.crew]);
  const { home = '', visitor = '' } = state.game;
  const teams = useMemo(() => ({ home, visitor }), [home, visitor]);
  const contradictions = useMemo(
    () =>
      contradictionsIn(
        state.plays,
        state.crew.map((member) => member.position),
        state.code,
      ),
    [state.plays, state.crew, state.code],
  );
  const contradicting = useMemo(() => new Set(contradictions.map(({ number }) => number)), [contradictions]);

  const standing = useMemo(
    () => logStanding(state),
    [state.plays, state.crew, state.duties, state.practices, state.report.watched],
  );
  const watchedOnPlay = useMemo(() => watchedIn(state), [state.plays, state.report.watched]);
  const watched = (position: Position) => !current || watchedOnPlay(current.playId, position);
  const passed = useRef(new Set<string>());

  /** Focuses the first of these places that there is, once what was just changed is on the page. */
  const focusOn = (...selectors: string[]) =>
    requestAnimationFrame(() => {
      const places = selectors.map((selector) => root.current?.querySelector<HTMLElement>(selector));
      places.find((place) => place)?.focus();
    });

  const marking = useMarking({ session, state, play: current, owed, open, say, focusOn });
  const watching = useWatching({ session, state, play: current, open, say, focusOn });

  const mending = useMend(state);

  const goTo = (play: EntryPlay | undefined, focus = '#play-pane') => {
    if (!play) return;
    setPlayId(play.playId);
    localStorage.setItem(`crewmark-play-${state.report.id}`, play.playId);
    marking.leave();
    if (focus) focusOn(focus);
  };

  const goToUndecided = () => {
    const next = nextUndecided(state.plays, standing, current?.playId, passed.current);
    if (next) goTo(next);
    else say('No other play has anything undecided.');
  };

  const chooseWay = (chosen: Way) => {
    rememberWay(state.report.id, chosen);
    setWay(chosen);
    setOnlyUndecided(chosen === 'later');
  };

  // What was just kept counts, though the page does not show it yet.
  const newPlay = (after: EntryPlay | undefined = (session.state ?? state).plays.at(-1)) => {
    if (!open) return;
    const newId = uuidv7();
    session.record('new play', {
      kind: 'put play',
      id: uuidv7(),
      basedOn: null,
      playId: newId,
      after: after?.playId ?? null,
      play: nextPlay(after?.play, state.code),
      filmSeconds: null,
      note: '',
    });
    setPlayId(newId);
    marking.leave();
    focusOn(saysBy.current === 'touch' ? '#play-pane' : '#say', '#play-pane');
  };

  const change = (play: EntryPlay, part: Parameters<typeof recordPlay>[2], label: string) => {
    mending.beforeChange(play);
    recordPlay(session, play, part, label);
  };

  const mendNext = ({ next, facts }: Mend) => {
    const play: Play = { ...next.play, ...facts };
    recordPlay(session, next, { play: ofItsKind(play, play.kind) }, 'start mended');
    say(`Play ${next.number} mended`);
    focusOn('#play-pane');
  };

  const confirmPlanned = () => {
    session.record('crew confirmed', {
      kind: 'confirm crew',
      id: uuidv7(),
      was: state.crew,
      crew: state.planned,
    });
    say('Crew confirmed');
    focusOn('#play-pane');
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
      case 'watched':
        watching.start();
        return;
      case 'conflict':
        focusOn('.entry-conflicts button');
        return;
      case 'play log':
        focusOn('.entry-actions > button');
        return;
      case 'opportunities':
        goTo(leastLogged(state.plays), '.facts-card .chip');
        return;
      case 'mark':
      case 'comment': {
        const there = state.marks.find((other) => other.markId === item.observationId);
        goTo(
          state.plays.find((other) => other.playId === item.playId),
          '',
        );
        if (there) marking.show(there);
      }
    }
  };

  const undo = () => {
    const label = session.undo();
    say(label ? `Taken back: ${label}` : 'There is nothing to take back.');
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
      else if (watching.on) watching.stop();
      else if (!marking.back()) focusOn('#play-pane');
      return;
    }
    if (event.key === 'ArrowDown' || event.key === 'ArrowUp') {
      if (moveWithin(target, event.key === 'ArrowDown' ? 1 : -1)) event.preventDefault();
      return;
    }
    if (!keysOn || isText(target)) return;
    if (actOnKey(event.key, target)) event.preventDefault();
  };

  /** The single-key shortcuts; true when the key meant something. */
  const actOnKey = (key: string, target: HTMLElement): boolean => {
    if (watching.on && watching.actOnKey(key, watched)) return true;
    if (key === '?') {
      setDialog('keys');
      return true;
    }
    if (key === 'n') {
      newPlay();
      return true;
    }
    if (key === 'w' && !marking.official) {
      watching.start();
      return true;
    }
    if (key === 'p') {
      goToUndecided();
      return true;
    }
    if (key === '/') {
      focusOn('#say');
      return true;
    }
    return marking.actOnKey(key, target);
  };

  useEffect(() => {
    root.current?.querySelector('.entry-plays [aria-current]')?.scrollIntoView({ block: 'nearest' });
  }, [current?.playId]);

  const latest = useRef({ goTo, newPlay, goToUndecided });
  latest.current = { goTo, newPlay, goToUndecided };
  // The same element while nothing in it changes: a list of 165 plays is not looked through at every key.
  const playList = useMemo(
    () => (
      <PlayList
        plays={state.plays}
        marks={state.marks}
        current={current?.playId}
        contradicting={contradicting}
        onChoose={(play) => latest.current.goTo(play, '')}
        onNewPlay={() => latest.current.newPlay()}
        standing={standing}
        onlyUndecided={onlyUndecided}
        onOnlyUndecided={setOnlyUndecided}
        onNextUndecided={() => latest.current.goToUndecided()}
        open={open}
      />
    ),
    [state.plays, state.marks, contradicting, standing, onlyUndecided, current?.playId, open],
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
        session={session}
        onUndo={undo}
        onNewPlay={() => newPlay()}
        onCrew={() => setDialog('crew')}
        onFile={() => setDialog('filing')}
        onKeys={() => setDialog('keys')}
        filmShown={filmShown}
        onFilm={() => showFilm(!filmShown)}
        standing={standing}
        way={way}
        onWay={chooseWay}
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
          {open && <CrewNotice state={state} onConfirm={confirmPlanned} onChange={() => setDialog('crew')} />}
          {open && (
            <GoingOn
              plays={state.plays}
              current={current}
              code={state.code}
              teams={teams}
              onChoose={({ play, says }) => current && recordPlay(session, current, { play }, says)}
            />
          )}
          {open && mending.mend && mending.isOf(current) && (
            <MendOffer
              state={state}
              teams={teams}
              mend={mending.mend}
              onMend={() => mending.mend && mendNext(mending.mend)}
              onLeave={mending.leave}
            />
          )}
          {current ? (
            <div class="entry-halves">
              <PlayFacts
                key={current.playId}
                play={current}
                reportId={state.report.id}
                teams={teams}
                code={state.code}
                atWork={atWork}
                rubric={rubricOf(state)}
                crew={owed.map((other) => other.position)}
                contradictions={contradictions.filter(({ number }) => number === current.number)}
                open={open}
                onChange={(part, label) => change(current, part, label)}
                onInsert={() => newPlay(current)}
                isLast={at === state.plays.length - 1}
                onNext={() => (at < state.plays.length - 1 ? goTo(state.plays[at + 1], '#say') : newPlay())}
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
                open={open}
                keysOn={keysOn}
                way={way}
                marking={marking}
                watching={watching}
                standing={standing}
                watched={watched}
              />
            </div>
          ) : (
            <div class="card">
              <h2 id="play-title">No plays yet</h2>
              {open && (
                <>
                  <p>
                    Most games have a log already, with the statistics or the film. Any spreadsheet of plays
                    will do; then only facts and marks are left to add.
                  </p>
                  <p class="actions">
                    <a class="button" href={`/games/${state.game.id}/log`}>
                      Bring a play log
                    </a>
                  </p>
                  <p>Or type the plays. A kickoff is filled in to start from.</p>
                  <button type="button" class="second" onClick={() => newPlay()}>
                    New play
                  </button>
                </>
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
          {...checkNow(state)}
          onWarning={(warning) => {
            setDialog(warning.what === 'crew' ? 'crew' : undefined);
            if (warning.what === 'crew') return;
            const play = state.plays.find((other) => other.playId === warning.playId);
            if (play) goTo(play);
            else goToMissing({ what: 'opportunities', message: warning.says });
          }}
          contradicting={[...contradicting]}
          onPlay={(number) => {
            setDialog(undefined);
            goTo(state.plays.find((play) => play.number === number));
          }}
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

function rememberedPlay(state: EntryState): string | undefined {
  return localStorage.getItem(`crewmark-play-${state.report.id}`) ?? state.plays[0]?.playId;
}
