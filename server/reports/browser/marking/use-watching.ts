import { useState } from 'preact/hooks';
import { v7 as uuidv7 } from 'uuid';
import { everybodyWatched } from '../../../duties/watched.ts';
import { type PlayRange, withWatched } from '../../../duties/watched-range.ts';
import { type Position, positions } from '../../../football/positions.ts';
import type { EntryPlay } from '../../entry/entry-snapshot.ts';
import type { EntryState } from '../../entry/entry-state.ts';
import type { EntrySession } from '../entry-session.ts';
import { positionForKey } from '../marking.ts';

export const scopes = ['from here', 'whole report', 'between'] as const;
export type Scope = (typeof scopes)[number];

interface Around {
  readonly session: EntrySession;
  readonly state: EntryState;
  readonly play: EntryPlay | undefined;
  readonly open: boolean;
  say(words: string): void;
  focusOn(...selectors: string[]): void;
}

export type Watching = ReturnType<typeof useWatching>;

/** Saying whom one watches: while it is on, the officials on the field are switched instead of chosen. */
export function useWatching({ session, state, play, open, say, focusOn }: Around) {
  const [on, turn] = useState(false);
  const [scope, setScope] = useState<Scope>('from here');
  const [between, setBetween] = useState<PlayRange>({ from: null, to: null });

  const range = (): PlayRange | 'whole report' =>
    scope === 'whole report'
      ? scope
      : scope === 'between'
        ? inOrder(between, state.plays)
        : { from: play?.playId ?? null, to: null };

  const change = (label: string, to: (watched: readonly Position[]) => readonly Position[]) => {
    if (!open) return;
    const { watched } = state.report;
    session.record(label, {
      kind: 'watched',
      id: uuidv7(),
      was: watched,
      watched: withWatched(
        watched ?? everybodyWatched,
        state.plays.map(({ playId }) => playId),
        range(),
        to,
      ),
    });
    say(label);
  };

  const start = () => {
    if (!open) return;
    turn(true);
    setScope(play && state.report.watched !== null ? 'from here' : 'whole report');
    setBetween({ from: play?.playId ?? null, to: play?.playId ?? null });
    focusOn('.officials button', '.watching button');
  };
  const stop = () => {
    turn(false);
    focusOn('.watch-switch', '#play-pane');
  };
  const toggle = (position: Position, seen: boolean) =>
    change(seen ? `${position} not watched` : `${position} watched`, (watched) =>
      seen ? watched.filter((other) => other !== position) : [...watched, position],
    );
  const everybody = () => change('everybody watched', () => positions);
  const nobody = () => change('nobody watched', () => []);

  /** The keys while it is on; true when the key meant something. */
  const actOnKey = (key: string, seen: (position: Position) => boolean): boolean => {
    if (key === 'w') stop();
    else if (key === 'e') everybody();
    else if (key === 'o') nobody();
    else if (scopes[Number(key) - 1]) setScope(scopes[Number(key) - 1]!);
    else {
      const position = positionForKey(key);
      if (!position || !state.crew.some((member) => member.position === position)) return false;
      toggle(position, seen(position));
    }
    return true;
  };

  return { on, scope, setScope, between, setBetween, start, stop, toggle, everybody, nobody, actOnKey };
}

function inOrder({ from, to }: PlayRange, plays: readonly EntryPlay[]): PlayRange {
  const at = (id: string | null) => plays.findIndex(({ playId }) => playId === id);
  return from !== null && to !== null && at(from) > at(to) ? { from: to, to: from } : { from, to };
}
