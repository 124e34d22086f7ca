import { normalEquations } from '../grading/normal-equations.ts';
import { inverseDiagonal, solveModel } from '../grading/restricted-likelihood.ts';
import type { Spread } from './prices.ts';

/** One game grade that is, or will be, given: who was seen in which position, by whom, in which game. */
export interface PlannedGrade {
  readonly officialId: string;
  readonly position: string;
  readonly observerId: string;
  readonly gameId: string;
  /** Of the official's chances, the share watched, above 0 and up to 1; left out: all. It is the grade's weight. */
  readonly watchedShare?: number;
}

/**
 * Standard error, in grade points, that each official's adjusted grade will have once these grades are in: the
 * prediction error variance of the grading model (position means fixed; official, observer, game, official × game and
 * observer × position random) at a given spread, which needs the design only and no grade (Henderson 1975).
 *
 * @returns officials in no planned grade are missing: theirs is the spread of skill itself.
 */
export function expectedErrors(grades: readonly PlannedGrade[], spread: Spread): Map<string, number> {
  const errors = new Map<string, number>();
  if (grades.length === 0 || spread.official === 0) return errors;
  // Noise so small beside the rest that the equations would not hold it is a thousandth of the skill's spread.
  const residual = Math.max(spread.residual, spread.official / 1000) ** 2;
  const code = (keys: readonly string[]) => {
    const levels = new Map<string, number>();
    const codes = Int32Array.from(keys, (key) => {
      const known = levels.get(key);
      if (known !== undefined) return known;
      levels.set(key, levels.size);
      return levels.size - 1;
    });
    return { codes, levels };
  };
  const positions = code(grades.map(({ position }) => position));
  const officials = code(grades.map(({ officialId }) => officialId));
  const noise = [
    { deviation: spread.observer, level: ({ observerId }: PlannedGrade) => observerId },
    { deviation: spread.game, level: ({ gameId }: PlannedGrade) => gameId },
    {
      deviation: spread.officialInGame,
      level: ({ officialId, gameId }: PlannedGrade) => `${officialId}\n${gameId}`,
    },
    {
      deviation: spread.observerInPosition,
      level: ({ observerId, position }: PlannedGrade) => `${observerId}\n${position}`,
    },
  ].filter(({ deviation }) => deviation > 0);
  const fixed = Array.from({ length: positions.levels.size }, (_, position) =>
    Float64Array.from(positions.codes, (at) => (at === position ? 1 : 0)),
  );
  const factors = [officials, ...noise.map(({ level }) => code(grades.map(level)))].map(
    ({ codes, levels }) => ({ codes, levels: levels.size }),
  );
  // Any response will do: the errors do not depend on it.
  const equations = normalEquations(
    Float64Array.from(grades, (_, row) => (row % 7) - 3),
    Float64Array.from(grades, ({ watchedShare }) => watchedShare ?? 1),
    fixed,
    factors,
  );
  const ratios = Float64Array.of(spread.official, ...noise.map(({ deviation }) => deviation)).map(
    (deviation) => deviation ** 2 / residual,
  );
  const solution = solveModel(equations, ratios);
  if (!solution) {
    // Too few grades to tell any official from the mean of the position.
    for (const officialId of officials.levels.keys()) errors.set(officialId, spread.official);
    return errors;
  }
  const inverse = inverseDiagonal(equations, solution);
  const place = equations.place[0];
  const part = place ? 'rest' : 'first';
  const columns = fixed.length;
  for (const [officialId, level] of officials.levels) {
    const at = place ? place[level]! : level;
    let share = ratios[0]! * inverse[part][at]!;
    for (let a = 0; a < columns; a += 1)
      for (let b = 0; b < columns; b += 1)
        share +=
          solution.fixedEffects[a]![part][at]! *
          solution.fixedCovariance[a * columns + b]! *
          solution.fixedEffects[b]![part][at]!;
    errors.set(officialId, Math.sqrt(Math.max(0, share * residual)));
  }
  return errors;
}
