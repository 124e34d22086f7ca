import { yardLineOf } from '../game-teams.ts';
import type { Play } from '../play.ts';
import type { SaidContext } from './context.ts';

/** Whose side of the field a yard line was said to be on, seen from the offense; undefined when it was not said. */
export type SideOfMidfield = 'own' | "opponent's" | undefined;

/**
 * `27` with the side it was said to be on, as yards from the offense's goal line. Where no side was said, of the two
 * it is the one that `fits` better: the lower the better. No side has a yard line beyond 50.
 */
export function yardsFrom(
  line: number,
  side: SideOfMidfield,
  fits: (yards: number) => number,
): number | undefined {
  if (line < 0 || line > (side === undefined ? 100 : 50)) return undefined;
  if (side === 'own') return line;
  if (side === "opponent's") return 100 - line;
  if (line > 50) return line;
  return fits(line) <= fits(100 - line) ? line : 100 - line;
}

/** `LAR 27`, `midfield`; `own 27` while nobody said who has the ball. */
export function spotInWords(yards: number, offense: Play['offense'], { teams }: SaidContext): string {
  const name = (of: readonly string[]) => of[1] ?? of[0] ?? '';
  return yardLineOf(yards, offense, { home: name(teams.home), visitor: name(teams.visitor) });
}
