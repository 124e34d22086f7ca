import { coveringOfficials } from '../football/coverage.ts';
import { sideOf } from '../football/crews.ts';
import type { Fact, Play } from '../football/play.ts';
import type { Position } from '../football/positions.ts';
import type { Lane } from '../football/sides.ts';
import type { Truth } from '../football/three-valued.ts';

/** Which of a duty's positions owe it on a given play. */
export interface Selector {
  readonly key: SelectorKey;
  /** For forms. */
  readonly label: string;
  /** After the official in a sentence (`the wing on the side ...`); empty for everyone. */
  readonly clause: string;
  readonly reads: readonly Fact[];
  readonly selects: (position: Position, play: Play) => Truth;
}

export const selectorKeys = [
  'each',
  'on the play side',
  'away from the play',
  'where the ball is dead',
  'away from the dead ball',
  'on the motion side',
  'who ends the play',
  'who does not end the play',
  'who reports the foul',
] as const;
export type SelectorKey = (typeof selectorKeys)[number];

// A play in the middle belongs to both sides: both wings are "near", neither is "away". Officials in the middle
// of the field have no side and are always near, never away.
function near(position: Position, lane: Lane | 'none' | undefined): Truth {
  const side = sideOf(position);
  if (side === undefined) return true;
  if (lane === undefined) return 'unknown';
  return lane === side || lane === 'middle';
}

function away(position: Position, lane: Lane | undefined): Truth {
  const side = sideOf(position);
  if (side === undefined) return false;
  if (lane === undefined) return 'unknown';
  return lane !== side && lane !== 'middle';
}

function ends(position: Position, play: Play): Truth {
  const covering = coveringOfficials(play);
  return covering === 'unknown' ? 'unknown' : covering.includes(position);
}

const coverageFacts = ['kind', 'spot', 'endSpot', 'endSide', 'endedBy'] as const satisfies Fact[];

const list: readonly Selector[] = [
  { key: 'each', label: 'each of them', clause: '', reads: [], selects: () => true },
  {
    key: 'on the play side',
    label: 'those on the side the play goes to (both when it goes up the middle)',
    clause: 'on the side the play goes to',
    reads: ['playSide'],
    selects: (position, play) => near(position, play.playSide),
  },
  {
    key: 'away from the play',
    label: 'those on the side away from the play',
    clause: 'on the side away from the play',
    reads: ['playSide'],
    selects: (position, play) => away(position, play.playSide),
  },
  {
    key: 'where the ball is dead',
    label: 'those on the side where the ball is dead (both when in the middle)',
    clause: 'on the side where the ball is dead',
    reads: ['endSide'],
    selects: (position, play) => near(position, play.endSide),
  },
  {
    key: 'away from the dead ball',
    label: 'those on the side away from the dead ball',
    clause: 'on the side away from the dead ball',
    reads: ['endSide'],
    selects: (position, play) => away(position, play.endSide),
  },
  {
    key: 'on the motion side',
    label: 'those on the side a player in motion goes to',
    clause: 'on the side the motion goes to',
    reads: ['motion'],
    selects: (position, play) => (play.motion === 'none' ? false : near(position, play.motion)),
  },
  {
    key: 'who ends the play',
    label: 'the one who ends the play',
    clause: 'who ends the play',
    reads: coverageFacts,
    selects: ends,
  },
  {
    key: 'who does not end the play',
    label: 'the others, who do not end the play',
    clause: 'who does not end the play',
    reads: coverageFacts,
    selects: (position, play) => {
      const covered = ends(position, play);
      return covered === 'unknown' ? 'unknown' : !covered;
    },
  },
  {
    key: 'who reports the foul',
    label: 'the one who reports a foul',
    clause: 'who reports the foul',
    reads: ['fouls'],
    selects: (position, play) => {
      if (play.fouls === undefined) return 'unknown';
      if (play.fouls.some((foul) => foul.reportedBy === position)) return true;
      // A foul whose reporting official was not logged could be anybody's.
      return play.fouls.some((foul) => foul.reportedBy === undefined) ? 'unknown' : false;
    },
  },
];

const byKey = new Map(list.map((selector) => [selector.key, selector]));
export const selectors = list;

export function selectorOf(key: SelectorKey): Selector {
  return byKey.get(key)!;
}
