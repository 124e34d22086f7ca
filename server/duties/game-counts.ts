import type { Position } from '../football/positions.ts';
import { type Consequence, consequenceRank } from './consequence.ts';
import type { CountedChance } from './counted-chances.ts';
import { effectOf } from './finding.ts';

/** What a game counts for one position and duty, however many observers reported on it. */
export interface GameCount {
  readonly position: Position;
  readonly dutyKey: string;
  /** Chances that count in at least one report; the denominator is this minus `notCounted`. */
  opportunities: number;
  notMet: number;
  /** Those of `notMet` whose consequence was judged, by what it was; where two judged it, the dearer. */
  readonly costs: Record<Consequence, number>;
  /** In neither numerator nor denominator: not seen, not told, or judged differently. */
  notCounted: number;
  /** Those of `notCounted` that one observer marked as missed and another as done. */
  differed: number;
  model: number;
}

/**
 * Counts a game once from the chances of its reports. A chance counts when it does in one of them at least.
 *
 * What is said of a chance goes before silence, since silence only means that nobody noted anything:
 * - missed, when one observer marked it missed and the others made no mark, agree, or did not see;
 * - judged differently, when one marked it missed and another marked it done: it counts neither for nor against, and
 *   is kept as `differed` until the coordinator has ruled on one of the marks;
 * - met, when it was marked done, or nobody marked it;
 * - not counted, when all who marked it could not tell.
 *
 * @param within which chances to count; left out, all
 */
export function countGame(
  reports: readonly ReadonlyMap<string, CountedChance>[],
  within: (chance: CountedChance) => boolean = () => true,
): GameCount[] {
  const said = new Map<string, CountedChance[]>();
  for (const chances of reports) {
    for (const [at, chance] of chances) {
      if (!within(chance)) continue;
      const others = said.get(at);
      if (others) others.push(chance);
      else said.set(at, [chance]);
    }
  }
  const rows = new Map<string, GameCount>();
  for (const chances of said.values()) {
    const { position, dutyKey } = chances[0]!;
    const key = `${position}\n${dutyKey}`;
    let row = rows.get(key);
    if (row === undefined) {
      row = {
        position,
        dutyKey,
        opportunities: 0,
        notMet: 0,
        costs: { none: 0, yards: 0, possession: 0, score: 0 },
        notCounted: 0,
        differed: 0,
        model: 0,
      };
      rows.set(key, row);
    }
    row.opportunities++;
    lay(chances, row);
  }
  return [...rows.values()];
}

function lay(chances: readonly CountedChance[], row: GameCount): void {
  const marks = chances.flatMap(({ mark }) => mark ?? []);
  const missed = marks.filter(({ finding }) => effectOf(finding) === 'not met');
  const met = marks.filter(({ finding }) => effectOf(finding) === 'met');
  if (missed.length > 0 && met.length > 0) {
    row.notCounted++;
    row.differed++;
  } else if (missed.length > 0) {
    row.notMet++;
    const [dearest] = missed
      .map(({ consequence }) => consequence ?? null)
      .sort((a, b) => consequenceRank(b) - consequenceRank(a));
    if (dearest) row.costs[dearest]++;
  } else if (met.length > 0) {
    if (met.some(({ finding }) => finding === 'model')) row.model++;
  } else if (marks.length > 0) row.notCounted++;
}
