import { useEffect, useRef, useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import type { EntryState } from '../entry/entry-state.ts';
import type { Missing } from '../filing/completeness.ts';
import type { Warning } from '../filing/whole.ts';
import type { EntrySession } from './entry-session.ts';
import { useSession } from './use-session.ts';
import { WatchedField } from './watched-field.tsx';
import { WholeWarnings } from './whole-warnings.tsx';

interface Props {
  session: EntrySession;
  state: EntryState;
  missing: readonly Missing[];
  /** Numbers of the plays at which something cannot be right; the report can be filed all the same. */
  contradicting: readonly number[];
  /** What tells that the report is not whole; it can be filed all the same. */
  warnings: readonly Warning[];
  onWarning(warning: Warning): void;
  onGo(item: Missing): void;
  onPlay(number: number): void;
  onClose(): void;
}

/** What is missing, each with the way to its place; then filing itself. */
export function FilingDialog({
  session,
  state,
  missing,
  warnings,
  contradicting,
  onGo,
  onWarning,
  onPlay,
  onClose,
}: Props) {
  useSession(session);
  const dialog = useRef<HTMLDialogElement>(null);
  const [comment, setComment] = useState(state.report.generalComment);
  const [wrong, setWrong] = useState('');
  const [busy, setBusy] = useState(false);
  const [asked, ask] = useState(false);
  useEffect(() => dialog.current?.showModal(), []);

  const keepComment = () => {
    if (comment === state.report.generalComment) return;
    session.record('general comment', {
      kind: 'general comment',
      id: uuidv7(),
      was: state.report.generalComment,
      comment,
    });
  };

  const file = async () => {
    keepComment();
    if (warnings.length > 0 && !asked) {
      ask(true);
      return;
    }
    setBusy(true);
    setWrong('');
    try {
      await session.file();
      dialog.current?.close();
    } catch (error) {
      setWrong((error as Error).message);
    }
    setBusy(false);
  };

  const toldAbove = new Set(warnings.map(({ what, number }) => (what === 'sequence' ? number : undefined)));
  const alone = contradicting.filter((number) => !toldAbove.has(number));
  const waiting = session.sending.notSent;
  return (
    <dialog ref={dialog} aria-labelledby="filing-title" onClose={onClose} class="wide-dialog">
      <h2 id="filing-title">Check and file</h2>
      {missing.length > 0 ? (
        <>
          <p>
            {missing.length === 1 ? 'One thing is' : `${missing.length} things are`} missing. Each opens at
            its place.
          </p>
          <ol class="missing">
            {missing.map((item) => (
              <li key={`${item.what} ${item.observationId ?? item.position ?? ''}`}>
                <button type="button" class="link" onClick={() => onGo(item)}>
                  {item.message}
                </button>
              </li>
            ))}
          </ol>
        </>
      ) : (
        <p>
          Nothing is missing: {state.plays.length} plays, {state.marks.length} marks.
          {waiting > 0 && ` ${waiting} changes have to be sent first.`}
        </p>
      )}
      <WholeWarnings warnings={warnings} onGo={onWarning} />
      {alone.length > 0 && (
        <div class="notice warn contradictions">
          <p>
            {alone.length === 1 ? 'At one play' : `At ${alone.length} plays`} something cannot be right as
            logged. It can be filed so; better look first:
          </p>
          <p>
            {alone.map((number) => (
              <button key={number} type="button" class="link" onClick={() => onPlay(number)}>
                Play {number}
              </button>
            ))}
          </p>
        </div>
      )}
      <WatchedField session={session} state={state} onField={() => onGo({ what: 'watched', message: '' })} />
      <label class="block">
        General comment on the game <small>(if you like; the coordinator reads it)</small>
        <textarea
          rows={3}
          maxLength={8000}
          value={comment}
          onInput={(event) => setComment(event.currentTarget.value)}
          onBlur={keepComment}
        />
      </label>
      {wrong && (
        <p class="notice bad" role="alert">
          {wrong}
        </p>
      )}
      {asked && warnings.length > 0 && missing.length === 0 && (
        <p class="notice warn" role="alert">
          {warnings.length === 1 ? 'One warning is' : `${warnings.length} warnings are`} told above. The
          coordinator will see {warnings.length === 1 ? 'it' : 'them'} beside the report. File it all the
          same?
        </p>
      )}
      <div class="actions">
        <button type="button" onClick={() => void file()} disabled={busy || missing.length > 0}>
          {asked && warnings.length > 0 ? 'File all the same' : 'File the report'}
        </button>
        <button type="button" class="second" onClick={() => dialog.current?.close()}>
          Close
        </button>
      </div>
    </dialog>
  );
}
