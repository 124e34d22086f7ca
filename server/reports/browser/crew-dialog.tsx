import { useEffect, useRef, useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import { positionLetter, positions } from '../../football/positions.ts';
import type { EntryState } from '../entry/entry-state.ts';
import type { EntrySession } from './entry-session.ts';

interface Props {
  session: EntrySession;
  state: EntryState;
  open: boolean;
  onClose(): void;
}

/** Who really worked: the crew as planned, corrected for substitutes, then confirmed. */
export function CrewDialog({ session, state, open, onClose }: Props) {
  const dialog = useRef<HTMLDialogElement>(null);
  const [chosen, choose] = useState(() =>
    Object.fromEntries(
      (state.crew.length > 0 ? state.crew : state.planned).map((member) => [
        member.position,
        member.personId,
      ]),
    ),
  );
  const [wrong, setWrong] = useState('');
  useEffect(() => dialog.current?.showModal(), []);

  const confirm = () => {
    const crew = positions.flatMap((position) => {
      const personId = chosen[position];
      return personId ? [{ position, personId }] : [];
    });
    const people = new Set(crew.map((member) => member.personId));
    if (crew.length === 0) return setWrong('Enter at least one official.');
    if (people.size < crew.length)
      return setWrong('Somebody is entered twice; each official works one position.');
    session.record('crew confirmed', { kind: 'confirm crew', id: uuidv7(), was: state.crew, crew });
    dialog.current?.close();
  };

  return (
    <dialog ref={dialog} aria-labelledby="crew-title" onClose={onClose}>
      <h2 id="crew-title">Who worked this game</h2>
      <p>Leave a position empty when nobody worked it. Marks stay with the position they were made on.</p>
      <div class="crew-grid">
        {positions.map((position) => (
          <label key={position}>
            <span>
              {position} <small>({positionLetter[position]})</small>
            </span>
            <select
              value={chosen[position] ?? ''}
              disabled={!open}
              onChange={(event) => choose({ ...chosen, [position]: event.currentTarget.value })}
            >
              <option value="">nobody</option>
              {state.officials.map((official) => (
                <option key={official.personId} value={official.personId}>
                  {official.name}
                </option>
              ))}
            </select>
          </label>
        ))}
      </div>
      {wrong && (
        <p class="notice bad" role="alert">
          {wrong}
        </p>
      )}
      <div class="actions">
        {open && (
          <button type="button" onClick={confirm}>
            Confirm this crew
          </button>
        )}
        <button type="button" class="second" onClick={() => dialog.current?.close()}>
          Close
        </button>
      </div>
    </dialog>
  );
}
