/** What each key does, as the page lists it. */
const keyHelp: readonly (readonly [keys: string, what: string])[] = [
  ['Space', 'play or stop'],
  ['← →', 'a frame back or on'],
  ['Shift ← →', 'a second back or on'],
  ['I', 'in: begin with this frame'],
  ['O', 'out: end with this frame'],
  ['Home, End', 'to the first or last frame of the shot'],
  ['[ ]', 'shot before, shot after'],
  ['F', 'freeze here'],
  ['S', 'repeat slowly'],
  ['M', 'sound on or off'],
  ['1 2 3', 'circle, arrow, spotlight here'],
  ['4', 'cover a place of this shot'],
  ['P', 'play it as cut'],
  ['R', 'record the narration, or stop'],
  ['Ctrl Z', 'take back'],
  ['Ctrl Shift Z', 'make again'],
];

export interface KeyDoing {
  readonly [key: string]: () => void;
}

/** The name of what was pressed, for the table of what keys do; null where it belongs to a field. */
export function pressed(event: KeyboardEvent): string | null {
  const at = event.target instanceof Element ? event.target : null;
  if (at?.closest('textarea, select, input:not([type=checkbox])')) return null;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (event.ctrlKey || event.metaKey)
    return key === 'z' ? (event.shiftKey ? 'again' : 'back') : key === 'y' ? 'again' : null;
  if (event.altKey) return null;
  if (key === ' ' || key === 'Enter') return at?.closest('button, a, summary') ? null : key;
  return event.shiftKey && key.startsWith('Arrow') ? `Shift${key}` : key;
}

export function KeyHelp() {
  return (
    <details class="card">
      <summary>Keys</summary>
      <p class="soft">They work while the picture or a button beside it has the focus.</p>
      <dl class="clip-keys">
        {keyHelp.map(([keys, what]) => (
          <div key={keys}>
            <dt>
              <kbd>{keys}</kbd>
            </dt>
            <dd>{what}</dd>
          </div>
        ))}
      </dl>
    </details>
  );
}
