import { type Consequence, findingInWords } from '../../duties/consequence.ts';
import type { Watched } from '../../duties/watched.ts';
import type { Play } from '../../football/play.ts';
import type { EntryConflict, EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { crewText, dutyTitle, playLabel, playText, watchedText } from './change-words.ts';
import type { EntrySession } from './entry-session.ts';
import { SetAsideItem } from './set-aside-item.tsx';
import { useSession } from './use-session.ts';

/** Both versions of whatever was entered differently on two devices, and changes the server would not take. */
export function ConflictList({ session, state }: { session: EntrySession; state: EntryState }) {
  useSession(session);
  if (state.conflicts.length === 0 && session.setAside.length === 0) return null;
  return (
    <section class="notice warn entry-conflicts" aria-labelledby="conflicts-title">
      <h2 id="conflicts-title">For you to decide</h2>
      <ul>
        {state.conflicts.map((conflict) => (
          <li key={conflict.changeId}>
            <Conflict session={session} state={state} conflict={conflict} />
          </li>
        ))}
        {session.setAside.map((item) => (
          <li key={item.changeId}>
            <SetAsideItem session={session} state={state} item={item} onDone={focusNext} />
          </li>
        ))}
      </ul>
    </section>
  );
}

interface Theirs {
  mark?: { changeId: string | null; removed: boolean };
  play?: { changeId: string | null; removed: boolean };
  crew?: unknown;
  generalComment?: string;
  playRemoved?: string;
  marks?: number;
}

function Conflict(props: { session: EntrySession; state: EntryState; conflict: EntryConflict }) {
  const { session, state, conflict } = props;
  const theirs = conflict.theirs as Theirs;
  const basedOn = theirs.mark?.changeId ?? theirs.play?.changeId ?? null;
  const choose = (keep: 'mine' | 'theirs') => {
    session.resolve(conflict.changeId, keep, basedOn);
    focusNext();
  };
  const [one, other] = describe(state, conflict);
  const subject = subjectOf(state, conflict);
  return (
    <div>
      <p>
        <strong>{subject}</strong> was entered differently on two devices.
      </p>
      <dl class="versions">
        <dt>This change</dt>
        <dd>{one}</dd>
        <dt>What the report has now</dt>
        <dd>{other}</dd>
      </dl>
      <div class="actions">
        <button type="button" class="second" onClick={() => choose('mine')}>
          Take this change<span class="visually-hidden"> ({subject})</span>
        </button>
        <button type="button" class="second" onClick={() => choose('theirs')}>
          Keep what it has now<span class="visually-hidden"> ({subject})</span>
        </button>
      </div>
    </div>
  );
}

/** What was decided is gone with its buttons: on to the next question, or back to the play. */
const focusNext = () =>
  requestAnimationFrame(() =>
    (
      document.querySelector<HTMLElement>('.entry-conflicts button') ??
      document.querySelector<HTMLElement>('#play-pane')
    )?.focus(),
  );

function subjectOf(state: EntryState, { kind, mine, theirs }: EntryConflict): string {
  if (kind === 'put mark') {
    return `${dutyTitle(state, mine.dutyKey)}, ${mine.position}, ${playLabel(state, mine.playId)}`;
  }
  if (kind === 'remove mark') {
    const mark = theirs.mark as { dutyKey: string; position: string; playId: string };
    return `${dutyTitle(state, mark.dutyKey)}, ${mark.position}, ${playLabel(state, mark.playId)}`;
  }
  if (kind === 'put play' || kind === 'remove play') {
    const number = (theirs.play as { number?: number } | undefined)?.number;
    return number ? `Play ${number}` : 'A play';
  }
  if (kind === 'watched') return 'Whom you watched';
  return kind === 'confirm crew' ? 'The working crew' : 'The general comment';
}

/** This change's version and the other, in words. */
function describe(state: EntryState, { kind, mine, theirs }: EntryConflict): [string, string] {
  const markText = (mark: Record<string, unknown>) =>
    mark.removed
      ? 'removed'
      : `${findingInWords(String(mark.finding), mark.consequence as Consequence | null)}${mark.comment ? `: “${mark.comment}”` : ', no comment'}`;
  const otherMark = theirs.mark as Record<string, unknown> | undefined;
  if (kind === 'put mark') {
    if (theirs.playRemoved) return [markText(mine), 'The play was removed.'];
    return [markText(mine), otherMark ? markText(otherMark) : ''];
  }
  if (kind === 'remove mark') return ['removed', otherMark ? markText(otherMark) : ''];
  const otherPlay = theirs.play as (EntryPlay & { removed: boolean }) | undefined;
  if (kind === 'remove play') {
    const marks = theirs.marks ? `kept, with ${theirs.marks} marks on it` : 'kept, and changed since';
    return ['removed', marks];
  }
  if (kind === 'put play' && otherPlay) {
    if (otherPlay.removed) return [playText(mine.play as Play), 'removed'];
    return [playText(mine.play as Play, otherPlay.play), playText(otherPlay.play, mine.play as Play)];
  }
  if (kind === 'confirm crew') return [crewText(state, mine.crew), crewText(state, theirs.crew)];
  if (kind === 'watched') {
    return [
      watchedText(state, mine.watched as Watched),
      watchedText(state, theirs.watched as Watched | null),
    ];
  }
  return [String(mine.comment ?? ''), String(theirs.generalComment ?? '')];
}
