import type { Exposure } from './exposures.ts';
import { demoLike } from './shape.ts';

export const logit = (p: number): number => Math.log(p / (1 - p));
export const expit = (x: number): number => 1 / (1 + Math.exp(-x));

/**
 * The trapezoidal rule over a normal density, in whole standard deviations: for a smooth function its error is of the
 * order of exp(−2π²), see Trefethen and Weideman, "The exponentially convergent trapezoidal rule", SIAM Review 56, 2014.
 */
const nodes = Array.from({ length: 15 }, (_, at) => at - 7);
const weights = nodes.map((node) => Math.exp((-node * node) / 2) / Math.sqrt(2 * Math.PI));

/** E f(X) for X normal with mean 0. */
export function averageOver(deviation: number, f: (x: number) => number): number {
  if (deviation === 0) return f(0);
  return nodes.reduce((sum, node, at) => sum + weights[at]! * f(deviation * node), 0);
}

/**
 * The grade that is recorded on average with a position's own mix of chances, 0 to 100.
 *
 * @param shift of the log-odds of a miss, by category of duty
 * @param deviation of what moves it from game to game
 * @param keenness share of the misses that are noticed
 */
export function expectedGrade(
  mix: readonly Exposure[],
  shift: (category: string) => number,
  deviation: number,
  keenness: number,
): number {
  let lost = 0;
  let whole = 0;
  for (const { category, weight, chancesPerGame, missRate } of mix) {
    const level = missLevel(missRate) + shift(category);
    whole += weight * chancesPerGame;
    lost += weight * chancesPerGame * keenness * averageOver(deviation, (x) => expit(level + x));
  }
  return 100 - (100 * lost) / whole;
}

/**
 * Log-odds that an ordinary official misses a chance. What is marked is what was missed and noticed; and the demo's
 * reports hold a fifth more misses than its usual rates say, those planted in officials and crews among them.
 */
export const missLevel = (missRate: number): number => logit((1.2 * missRate) / demoLike.keenness);

export const ofPosition = (official: string, position: string): string => `${official}, ${position}`;
