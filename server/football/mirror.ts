import { mirrorPosition } from './crews.ts';
import type { Play } from './play.ts';
import { mirrorLane } from './sides.ts';

/** The same play run to the other side of the field: sides swapped, and the officials of each side with them. */
export function mirrorPlay(play: Play): Play {
  const mirrored: Play = { ...play };
  if (play.playSide !== undefined) mirrored.playSide = mirrorLane(play.playSide);
  if (play.endSide !== undefined) mirrored.endSide = mirrorLane(play.endSide);
  if (play.motion !== undefined && play.motion !== 'none') mirrored.motion = mirrorLane(play.motion);
  if (play.endedBy !== undefined) mirrored.endedBy = mirrorPosition(play.endedBy);
  if (play.fouls !== undefined) {
    mirrored.fouls = play.fouls.map((foul) =>
      foul.reportedBy === undefined ? foul : { ...foul, reportedBy: mirrorPosition(foul.reportedBy) },
    );
  }
  return mirrored;
}
