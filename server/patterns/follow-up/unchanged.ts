import { type OfficialSpread, spreadDeviations } from './official-spread.ts';
import { logLikelihood, missesOverGrid, normalOnGrid, type OwnLevel, oddsGrid, rateAt } from './own-level.ts';

/** Beyond this little mass a point of the grid is not looked at. */
const negligible = 1e-9;

/** Where an official stands against peers when nothing changed, as far as the games before tell: masses on the grid. */
interface Unchanged {
  /** As officials of the season differ: part of a high count is taken to be chance. */
  shrunk: Float64Array;
  /** The count before taken at its word. */
  unshrunk: Float64Array;
}

/**
 * Posterior of the log odds ratio of the later games, given the earlier ones (empirical Bayes; Efron and Morris 1975).
 * The earlier level is the official's own plus what its games happened to be; the later one has other games.
 */
function posterior(
  before: OwnLevel,
  gameVariance: number,
  shares: readonly number[],
  laterShare: number,
): Float64Array {
  const early = gameVariance * before.gameShare;
  const logs = logLikelihood(before);
  const most = Math.max(...logs);
  const likelihood = logs.map((log) => Math.exp(log - most));
  const result = new Float64Array(oddsGrid.length);
  for (const [part, share] of shares.entries()) {
    if (share < negligible) continue;
    const own = spreadDeviations[part]! ** 2;
    const prior = normalOnGrid(0, own + early);
    const kept = own + early > 0 ? own / (own + early) : 0;
    for (let i = 0; i < oddsGrid.length; i++) {
      const weight = share * prior[i]! * likelihood[i]!;
      if (weight < negligible * share) continue;
      const later = normalOnGrid(kept * oddsGrid[i]!, kept * early + gameVariance * laterShare);
      for (let j = 0; j < oddsGrid.length; j++) result[j]! += weight * later[j]!;
    }
  }
  const total = result.reduce((a, b) => a + b, 0);
  return result.map((mass) => mass / total);
}

const atItsWord = spreadDeviations.map((_, part) => Number(part === spreadDeviations.length - 1));

/** @param laterShare see `OwnLevel.gameShare` */
export function ifUnchanged(before: OwnLevel, spread: OfficialSpread, laterShare: number): Unchanged {
  const of = (shares: readonly number[]) => posterior(before, spread.gameVariance, shares, laterShare);
  return { shrunk: of(spread.shares), unshrunk: of(atItsWord) };
}

/**
 * Chances of as few (and as many) misses as there were, when the level is as `masses` has it; of several, the larger
 * chance each.
 */
export function tailsOf(after: OwnLevel, levels: readonly Float64Array[]): { fewer: number; more: number } {
  const { events } = after.own;
  const tails = missesOverGrid(after, (i) => levels.some((masses) => masses[i]! >= negligible)).map(
    (mass) => {
      let fewer = 0;
      let more = 0;
      if (mass) {
        for (let k = 0; k <= events; k++) fewer += mass[k]!;
        for (let k = mass.length - 1; k >= events; k--) more += mass[k]!;
      }
      return { fewer, more };
    },
  );
  const mean = (tail: 'fewer' | 'more') =>
    Math.min(
      1,
      Math.max(...levels.map((masses) => tails.reduce((sum, each, i) => sum + masses[i]! * each[tail], 0))),
    );
  return { fewer: mean('fewer'), more: mean('more') };
}

/** Miss rate in the level's chances, averaged over `masses`. */
export function meanRate(level: OwnLevel, masses: Float64Array): number {
  return masses.reduce(
    (sum, mass, i) => (mass < negligible ? sum : sum + mass * rateAt(level, oddsGrid[i]!)),
    0,
  );
}
