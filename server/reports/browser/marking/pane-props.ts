import type { Position } from '../../../football/positions.ts';
import type { EntryPlay } from '../../entry/entry-snapshot.ts';
import type { EntryState } from '../../entry/entry-state.ts';
import type { LogStanding } from '../log-standing.ts';
import type { Owed } from '../marking.ts';
import type { Way } from '../way.ts';
import type { Marking } from './use-marking.ts';
import type { Watching } from './use-watching.ts';

/** What every part of the officials' half is told. */
export interface PaneProps {
  state: EntryState;
  play: EntryPlay;
  owed: readonly Owed[];
  open: boolean;
  keysOn: boolean;
  way: Way;
  marking: Marking;
  watching: Watching;
  standing: LogStanding;
  /** On this play. */
  watched(position: Position): boolean;
}
