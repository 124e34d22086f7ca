import { useEffect, useRef } from 'preact/hooks';
import { positionLetter, positions } from '../../football/positions.ts';

const keys: [string, string][] = [
  ['Page Down, Page Up', 'next or previous play'],
  ['w', 'whom you watch: then 1 to 3 for which plays, letters, e or o for everybody or nobody'],
  ['p', 'the next play with something undecided'],
  ['n', 'new play, filled in from the last one'],
  [positions.map((position) => positionLetter[position].toLowerCase()).join(' '), 'choose an official'],
  ['1 2 3 …', 'mark a duty; then, another finding'],
  ['Enter on a marked duty', 'its comment'],
  ['Escape, then 6 to 9', 'what a wrong or missed call cost'],
  ['/', 'the line of words: say the play, Enter keeps it'],
  ['Enter', 'end a comment'],
  ['Escape', 'one step back'],
  ['Up, Down', 'move within a list'],
  ['Ctrl+Z', 'undo'],
  ['?', 'this list'],
];

export function KeyHelp(props: { keysOn: boolean; onKeysOn(on: boolean): void; onClose(): void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  return (
    <dialog ref={dialog} aria-labelledby="keys-title" onClose={props.onClose}>
      <h2 id="keys-title">Keys</h2>
      <table>
        <tbody>
          {keys.map(([key, meaning]) => (
            <tr key={key}>
              <th scope="row">
                <kbd>{key}</kbd>
              </th>
              <td>{meaning}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        <label>
          <input
            type="checkbox"
            checked={props.keysOn}
            onChange={(event) => props.onKeysOn(event.currentTarget.checked)}
          />
          Single-key shortcuts on
        </label>
      </p>
      <button type="button" class="second" onClick={() => dialog.current?.close()}>
        Close
      </button>
    </dialog>
  );
}
