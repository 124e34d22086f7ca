import { mirrorPosition } from './crews.ts';
import type { Fact, Play } from './play.ts';
import { mirrorLane } from './sides.ts';

const lanesOfAPlay = [
  'snapSide',
  'strongSide',
  'motion',
  'motionFrom',
  'playSide',
  'looseBallSide',
  'kickSide',
  'endSide',
] as const satisfies Fact[];
const officialsOfAPlay = ['endedBy', 'ruledBy', 'clockStoppedBy'] as const satisfies Fact[];

/** The same play run to the other side of the field: sides swapped, and the officials of each side with them. */
export function mirrorPlay(play: Play): Play {
  const mirrored: Play = { ...play };
  for (const fact of lanesOfAPlay) {
    const lane = play[fact];
    if (lane !== undefined && lane !== 'none') Object.assign(mirrored, { [fact]: mirrorLane(lane) });
  }
  for (const fact of officialsOfAPlay) {
    const position = play[fact];
    if (position !== undefined) mirrored[fact] = mirrorPosition(position);
  }
  if (play.fouls !== undefined) {
    mirrored.fouls = play.fouls.map((foul) =>
      foul.reportedBy === undefined ? foul : { ...foul, reportedBy: mirrorPosition(foul.reportedBy) },
    );
  }
  return mirrored;
}
