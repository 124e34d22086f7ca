import { randomNormal } from 'd3-random';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { positions } from '../../server/football/positions.ts';
import type { GradedGame } from '../../server/grading/season-rows.ts';

/** A made-up season whose truth is known. All grades and effects in points of 100. */
interface SimulatedSeason {
  rows: GradedGame[];
  /** What each official in each position would be graded by a neutral observer in an ordinary game. */
  truth: Map<string, number>;
  /** Severity of each observer. */
  severity: Map<string, number>;
}

export interface SeasonShape {
  crews: number;
  games: number;
  observers: number;
  /** Part of the games that a second observer sees as well. */
  seenTwice: number;
  /** Part of the places on a crew that a substitute fills, game by game. */
  substitutes: number;
  spread: { official: number; observer: number; game: number };
  /** Severity of the first observer instead of a drawn one. */
  extremeObserver?: number;
  /** How many observers see any one crew; all when not given. */
  observersPerCrew?: number;
  /** Crews and observers in this many parts that never meet; no substitutes between them. */
  parts?: number;
}

export const ordinarySeason: SeasonShape = {
  crews: 8,
  games: 55,
  observers: 14,
  seenTwice: 0.25,
  substitutes: 0.06,
  spread: { official: 2, observer: 2.5, game: 1.5 },
};

const duties = Array.from({ length: 12 }, (_, k) => ({
  key: `duty ${k}`,
  weight: 1 + (k % 3),
  most: 3 + (k % 5) * 3,
}));

export const key = (official: string, position: string) => `${official}, ${position}`;

/**
 * Draws a season. Grades are not drawn from the model that is fitted: each opportunity is met or not by a coin
 * whose chance is the position's, moved by official, observer and game, and duties differ in hardness.
 */
export function simulateSeason(shape: SeasonShape, seed: number): SimulatedSeason {
  const source = xoroshiro128plus(seed);
  const uniform = () => uniformFloat64(source);
  const normal = randomNormal.source(uniform)();
  const below = (count: number) => uniformInt(source, 0, count - 1);
  const parts = shape.parts ?? 1;

  const observers = Array.from({ length: shape.observers }, (_, i) => `observer ${i}`);
  const severity = new Map(observers.map((name) => [name, shape.spread.observer * normal()]));
  if (shape.extremeObserver !== undefined) severity.set(observers[0]!, shape.extremeObserver);
  const observersOf = (crew: number) => {
    const own = observers.filter((_, i) => i % parts === crew % parts);
    const several = shape.observersPerCrew;
    return several === undefined
      ? own
      : Array.from({ length: several }, (_, i) => own[(crew + i) % own.length]!);
  };

  const skill = new Map<string, number>();
  const member = (name: string) => {
    if (!skill.has(name)) skill.set(name, shape.spread.official * normal());
    return name;
  };
  const truth = new Map<string, number>();
  const rows: GradedGame[] = [];
  for (let g = 0; g < shape.games; g += 1) {
    const crew = g % shape.crews;
    const hardness = shape.spread.game * normal();
    const watching = [...observersOf(crew)];
    const count = watching.length > 1 && uniform() < shape.seenTwice ? 2 : 1;
    const seenBy = Array.from({ length: count }, () => watching.splice(below(watching.length), 1)[0]!);
    for (const [p, position] of positions.entries()) {
      const substitute = uniform() < shape.substitutes;
      const official = member(
        substitute
          ? `substitute ${below(2)} of part ${crew % parts}, ${position}`
          : `crew ${crew}, ${position}`,
      );
      const middle = 88 + (p % 4);
      truth.set(key(official, position), middle + skill.get(official)!);
      const chances = duties.map((duty) => Math.round(duty.most * (0.5 + uniform())));
      for (const observer of seenBy) {
        const expected = middle + skill.get(official)! + severity.get(observer)! + hardness;
        rows.push({
          official,
          position,
          game: `game ${g}`,
          observer,
          counts: duties.map(({ key: duty, weight }, k) => {
            // Hardness by duty averages to nothing over the weights, so that the expected grade is as said.
            const chance = Math.min(0.995, Math.max(0.02, (expected + (k % 2 === 0 ? 2 : -2)) / 100));
            let met = 0;
            for (let i = 0; i < chances[k]!; i += 1) if (uniform() < chance) met += 1;
            return { duty, weight, opportunities: chances[k]!, met };
          }),
        });
      }
    }
  }
  return { rows, truth, severity };
}
