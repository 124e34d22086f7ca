import { positionLetter, positions } from '../../football/positions.ts';
import type { EntryState } from '../entry/entry-state.ts';

/** Nobody is entered as working yet: the scheduled crew in one touch, or another. */
export function CrewNotice(props: { state: EntryState; onConfirm(): void; onChange(): void }) {
  const { state, onConfirm, onChange } = props;
  if (state.crew.length > 0 || state.planned.length === 0) return null;
  const names = new Map(state.officials.map(({ personId, name }) => [personId, name]));
  const crew = positions.flatMap((position) => {
    const member = state.planned.find((other) => other.position === position);
    return member ? [{ position, name: names.get(member.personId) ?? '' }] : [];
  });
  return (
    <section class="notice crew-notice" aria-labelledby="crew-notice-title">
      <p id="crew-notice-title">
        <strong>Scheduled for this game:</strong>
      </p>
      <p>
        {crew.map(({ position, name }) => (
          <span key={position} class="scheduled" title={position}>
            <span class="letter">{positionLetter[position]}</span> {name}{' '}
          </span>
        ))}
      </p>
      <div class="actions">
        <button type="button" onClick={onConfirm}>
          This crew worked
        </button>
        <button type="button" class="second" onClick={onChange}>
          Somebody else did …
        </button>
      </div>
    </section>
  );
}
