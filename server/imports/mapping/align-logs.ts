import type { Play } from '../../football/play.ts';

/** A play of one log beside the same play of another; one side only where the other log does not have it. */
interface Pair {
  readonly ours?: number;
  readonly theirs?: number;
}

/**
 * How much it says for two plays being the same one when a fact agrees, and how much against it when not. Our own
 * judgement: what many plays share says little, a place and a time say much.
 */
const weights = {
  quarter: [1, -6],
  down: [2, -3],
  distance: [1, -1],
  offense: [1, -4],
  kind: [1, -2],
} as const;
/** Less than this in common is no same play. */
const least = 2;

function likeness(one: Play, other: Play): number {
  let sum = 0;
  for (const [fact, [agrees, differs]] of Object.entries(weights) as [
    keyof typeof weights,
    readonly [number, number],
  ][]) {
    if (one[fact] === undefined || other[fact] === undefined) continue;
    sum += one[fact] === other[fact] ? agrees : differs;
  }
  const apart = Math.abs(one.spot - other.spot);
  sum += apart === 0 ? 4 : apart <= 2 ? 1 : -5;
  if (one.clockSeconds !== undefined && other.clockSeconds !== undefined) {
    const seconds = Math.abs(one.clockSeconds - other.clockSeconds);
    sum += seconds <= 2 ? 4 : seconds <= 20 ? 0 : -6;
  }
  if (one.endSpot !== undefined && other.endSpot !== undefined) sum += one.endSpot === other.endSpot ? 1 : -1;
  return sum;
}

/**
 * Lays two logs of the same game beside each other, in the order of both, so that plays which say most alike meet: the
 * alignment of greatest likeness (Needleman and Wunsch, J. Mol. Biol. 48, 1970), a play of one log alone costing
 * nothing. So a play that was put in or left out shifts no other.
 */
export function alignLogs(ours: readonly Play[], theirs: readonly Play[]): Pair[] {
  const width = theirs.length + 1;
  const best = new Float64Array((ours.length + 1) * width);
  const alike = new Float64Array(ours.length * theirs.length);
  for (let i = 1; i <= ours.length; i += 1) {
    for (let j = 1; j <= theirs.length; j += 1) {
      const score = likeness(ours[i - 1]!, theirs[j - 1]!);
      alike[(i - 1) * theirs.length + (j - 1)] = score;
      const met = score > least ? best[(i - 1) * width + (j - 1)]! + score : -1;
      best[i * width + j] = Math.max(met, best[(i - 1) * width + j]!, best[i * width + (j - 1)]!);
    }
  }
  const pairs: Pair[] = [];
  let i = ours.length;
  let j = theirs.length;
  while (i > 0 || j > 0) {
    const score = i > 0 && j > 0 ? alike[(i - 1) * theirs.length + (j - 1)]! : -1;
    const here = best[i * width + j]!;
    if (score > least && here === best[(i - 1) * width + (j - 1)]! + score) {
      i -= 1;
      j -= 1;
      pairs.push({ ours: i, theirs: j });
    } else if (j > 0 && (i === 0 || here === best[i * width + (j - 1)]!)) {
      j -= 1;
      pairs.push({ theirs: j });
    } else {
      i -= 1;
      pairs.push({ ours: i });
    }
  }
  return pairs.reverse();
}
