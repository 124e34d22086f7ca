import type { Play } from '../../football/play.ts';
import { type Side, sides } from '../../football/sides.ts';

/** Whose sideline is at the left hand of the home team when it has the ball in the first quarter of a half. */
type LeftHand = Side;

export const otherSide = (side: Side): Side => (side === sides[0] ? sides[1] : sides[0]);

/** 1 or 2; overtime counts by itself, as 3. The wings may change sidelines in between. */
export const halfOf = ({ quarter = 1 }: Pick<Play, 'quarter'>): 1 | 2 | 3 =>
  quarter <= 2 ? 1 : quarter <= 4 ? 2 : 3;

/**
 * Whose sideline is at the offense's left hand on this play. The other team faces the other way, and the teams change
 * ends after the first quarter of a half.
 */
export function leftOn({ quarter = 1, offense }: Pick<Play, 'quarter' | 'offense'>, home: LeftHand): Side {
  const turned = (offense === 'visitor') !== (quarter === 2 || quarter === 4);
  return turned ? otherSide(home) : home;
}
