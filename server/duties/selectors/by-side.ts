import { sideOf, wings } from '../../football/crews.ts';
import type { Position } from '../../football/positions.ts';
import type { Lane } from '../../football/sides.ts';
import type { Truth } from '../../football/three-valued.ts';
import type { Selector } from './selector.ts';

// Across the field only. What happens in the middle is near to both sides and away from neither; officials in the
// middle of the field are near to that, and to nothing at a side.
function near(position: Position, lane: Lane | undefined): Truth {
  if (lane === undefined) return 'unknown';
  return lane === 'middle' || lane === sideOf(position);
}

const isWing = (position: Position) => (wings as readonly Position[]).includes(position);

function away(position: Position, lane: Lane | undefined): Truth {
  const side = sideOf(position);
  if (side === undefined) return false;
  if (lane === undefined) return 'unknown';
  return lane !== side && lane !== 'middle';
}

export const bySide = [
  { key: 'each', label: 'each of them', clause: '', reads: [], selects: () => true },
  {
    key: 'on the play side',
    label: 'those on the side the play goes to (both when it goes up the middle)',
    clause: 'on the side the play goes to',
    reads: ['playSide'],
    selects: (position, play) => near(position, play.playSide),
  },
  {
    key: 'in the middle or on the play side',
    label: 'those in the middle of the field, and those on the side the play goes to',
    clause: 'in the middle or on the side the play goes to',
    reads: ['playSide'],
    selects: (position, play) => sideOf(position) === undefined || near(position, play.playSide),
  },
  {
    key: 'in the middle or where the ball is dead',
    label: 'those in the middle of the field, and those on the side where the ball is dead',
    clause: 'in the middle or on the side where the ball is dead',
    reads: ['endSide'],
    selects: (position, play) => sideOf(position) === undefined || near(position, play.endSide),
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
    key: 'on the strong side',
    label: 'those on the side with more eligible receivers (both when there are as many)',
    clause: 'on the side with more eligible receivers',
    reads: ['strongSide'],
    selects: (position, play) => near(position, play.strongSide),
  },
  {
    key: 'deep or on the strong side',
    label: 'those who are deep, and of the wings the one on the side with more eligible receivers',
    clause: 'deep or on the side with more eligible receivers',
    reads: ['strongSide'],
    selects: (position, play) => !isWing(position) || near(position, play.strongSide),
  },
  {
    key: 'on the kick side',
    label: 'those on the side where the kick comes down (both when in the middle)',
    clause: 'on the side where the kick comes down',
    reads: ['kickSide'],
    selects: (position, play) => near(position, play.kickSide),
  },
  {
    key: 'on the motion side',
    label: 'those on the side a player in motion goes to',
    clause: 'on the side the motion goes to',
    reads: ['motion'],
    selects: (position, play) => (play.motion === 'none' ? false : near(position, play.motion)),
  },
  {
    key: 'whose the motion is',
    label: 'the one whose the player in motion is, as the conference works it',
    clause: 'whose the player in motion is',
    reads: ['motion', 'motionFrom'],
    selects(position, play, crew) {
      if (play.motion === 'none') return false;
      return crew.practices.motion === 'the wing it leaves'
        ? near(position, play.motionFrom)
        : near(position, play.motion);
    },
  },
] as const satisfies Selector[];
