import { useEffect, useRef, useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import { type Position, positionLetter, positions } from '../../football/positions.ts';
import type { EntryState } from '../entry/entry-state.ts';
import type { EntrySession } from './entry-session.ts';
import { type Choice, PersonCombobox } from './person-combobox.tsx';

interface Props {
  session: EntrySession;
  state: EntryState;
  open: boolean;
  onClose(): void;
}

/** Who really worked: the crew as planned, corrected for substitutes, then confirmed. */
export function CrewDialog({ session, state, open, onClose }: Props) {
  const dialog = useRef<HTMLDialogElement>(null);
  const [chosen, choose] = useState<Partial<Record<Position, string>>>(() =>
    Object.fromEntries(
      (state.crew.length > 0 ? state.crew : state.planned).map((member) => [
        member.position,
        member.personId,
      ]),
    ),
  );
  const scheduled = open && state.crew.length === 0 && state.planned.length > 0;
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
      <p>
        {scheduled ? 'The scheduled crew is filled in. For a substitute type any part of the name. ' : ''}
        Leave a position empty when nobody worked it. Marks stay with the position they were made on.
      </p>
      <div class="crew-grid">
        {positions.map((position) => (
          <PersonCombobox
            key={position}
            label={position}
            letter={positionLetter[position]}
            choices={choicesFor(state, position)}
            chosen={chosen[position] || undefined}
            disabled={!open}
            onChoose={(personId) => choose((before) => ({ ...before, [position]: personId ?? '' }))}
          />
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

/** Everybody who may be entered, first those who usually work this position: a substitute is most often one of them. */
function choicesFor(state: EntryState, position: Position): Choice[] {
  const choices = state.officials.map(({ personId, name, usually }) => ({
    id: personId,
    name,
    ...(usually && { about: `usually ${usually}` }),
    here: usually === position,
  }));
  return [...choices.filter(({ here }) => here), ...choices.filter(({ here }) => !here)];
}
