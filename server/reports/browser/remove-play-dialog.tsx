import { useEffect, useRef } from 'preact/hooks';
import { findingInWords } from '../../duties/consequence.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';

export function RemovePlay(props: { state: EntryState; play: EntryPlay; onRemove(): void; onClose(): void }) {
  const marks = props.state.marks.filter((mark) => mark.playId === props.play.playId);
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  return (
    <dialog ref={dialog} aria-labelledby="remove-title" onClose={props.onClose}>
      <h2 id="remove-title">Remove play {props.play.number} with its marks?</h2>
      <p>
        {marks.length === 1 ? '1 mark goes' : `${marks.length} marks go`} with it:{' '}
        {marks.map((mark) => `${mark.position} ${findingInWords(mark.finding, mark.consequence)}`).join(', ')}
        . Undo brings all of it back.
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
