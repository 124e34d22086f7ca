import { isFoulNamed } from '../../football/foul-names.ts';
import type { Foul } from '../../football/fouls.ts';
import type { Position } from '../../football/positions.ts';
import type { Truth } from '../../football/three-valued.ts';
import { whoMayHaveEnded } from '../../football/zones/ending.ts';
import { isTheOneOf } from '../../football/zones/place.ts';
import type { Selector } from './selector.ts';

function reports(fouls: readonly Foul[] | undefined, position: Position): Truth {
  if (fouls === undefined) return 'unknown';
  if (fouls.some((foul) => foul.reportedBy === position)) return true;
  // A foul whose reporting official was not logged could be anybody's.
  return fouls.some((foul) => foul.reportedBy === undefined) ? 'unknown' : false;
}

export const byRecord = [
  {
    key: 'who stops the clock',
    label: 'the one who stops the clock, who is the one who ends the play when nobody else is logged',
    clause: 'who stops the clock',
    reads: [
      'clockStoppedBy',
      'endedBy',
      'kind',
      'spot',
      'endSpot',
      'endSide',
      'passResult',
      'catchDepth',
      'playSide',
      'kickResult',
    ],
    selects: (position, play, crew) =>
      play.clockStoppedBy === undefined
        ? isTheOneOf(whoMayHaveEnded(play, crew), position)
        : play.clockStoppedBy === position,
  },
  {
    key: 'who reports the foul',
    label: 'the one who reports a foul',
    clause: 'who reports the foul',
    reads: ['fouls'],
    selects: (position, play) => reports(play.fouls, position),
  },
  {
    key: 'who reports the unsportsmanlike foul',
    label: 'the one who reports a foul for unsportsmanlike conduct',
    clause: 'who reports the foul',
    reads: ['fouls'],
    selects: (position, play) =>
      reports(
        play.fouls?.filter((foul) => isFoulNamed(foul, 'unsportsmanlike conduct')),
        position,
      ),
  },
  {
    key: 'who reports the sideline foul',
    label: 'the one who reports a warning or a foul of a sideline',
    clause: 'who reports the warning or the foul',
    reads: ['fouls'],
    selects: (position, play) =>
      reports(
        play.fouls?.filter((foul) => isFoulNamed(foul, 'sideline interference')),
        position,
      ),
  },
] as const satisfies Selector[];
