import { useState } from 'preact/hooks';
import { keepable } from '../../text/keepable.ts';
import type { Change } from '../entry/changes.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { changeInWords } from './change-words.ts';
import type { SetAside } from './device-database.ts';
import type { EntrySession } from './entry-session.ts';

interface Props {
  session: EntrySession;
  state: EntryState;
  item: SetAside;
  onDone(): void;
}

/** A change that the server would not take, with what the observer can do about it. Nothing waits for it. */
export function SetAsideItem({ session, state, item, onDone }: Props) {
  const typed = textOf(item.change);
  const [text, setText] = useState(keepable(typed?.text ?? ''));
  const id = `mend-${item.changeId}`;
  return (
    <div>
      <p>
        <strong>Kept here, not taken by the server:</strong> {keepable(changeInWords(state, item.change))}
        <br />
        {item.message}
      </p>
      {typed && (
        <div class="mend">
          <label for={id}>Mend the {typed.what}</label>
          <textarea
            id={id}
            rows={2}
            maxLength={typed.most}
            value={text}
            onInput={(event) => setText(event.currentTarget.value)}
          />
        </div>
      )}
      <div class="actions">
        <button
          type="button"
          class="second"
          onClick={() => void session.tryAgain(item, typed ? typed.with(text) : item.change).then(onDone)}
        >
          {typed && text !== typed.text ? 'Send it as mended' : 'Send it again'}
        </button>
        <button type="button" class="second" onClick={() => void session.dropSetAside(item).then(onDone)}>
          Drop it
        </button>
      </div>
    </div>
  );
}

/** What was typed in a change, and the change with another text. */
function textOf(change: Change) {
  switch (change.kind) {
    case 'put mark':
      return textPart('comment', change.comment, 4000, (comment) => ({ ...change, comment }));
    case 'put play':
      return textPart('note', change.note, 2000, (note) => ({ ...change, note }));
    case 'general comment':
      return textPart('general comment', change.comment, 8000, (comment) => ({ ...change, comment }));
    default:
      return undefined;
  }
}

const textPart = (what: string, text: string, most: number, withText: (text: string) => Change) => ({
  what,
  text,
  most,
  with: withText,
});
