import { useEffect, useRef, useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import type { EntryState } from '../entry/entry-state.ts';
import type { Missing } from '../filing/completeness.ts';
import type { EntrySession } from './entry-session.ts';

interface Props {
  session: EntrySession;
  state: EntryState;
  missing: readonly Missing[];
  onGo(item: Missing): void;
  onClose(): void;
}

/** What is missing, each with the way to its place; then filing itself. */
export function FilingDialog({ session, state, missing, onGo, onClose }: Props) {
  const dialog = useRef<HTMLDialogElement>(null);
  const [comment, setComment] = useState(state.report.generalComment);
  const [wrong, setWrong] = useState('');
  const [busy, setBusy] = useState(false);
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
      <div class="actions">
        <button type="button" onClick={() => void file()} disabled={busy || missing.length > 0}>
          File the report
        </button>
        <button type="button" class="second" onClick={() => dialog.current?.close()}>
          Close
        </button>
      </div>
    </dialog>
  );
}
