import { groupBy } from './group-by.ts';
import type { MixedModelFit } from './mixed-model.ts';
import { interval } from './normal-interval.ts';
import { type Combination, levelErrors, predict } from './prediction.ts';
import { effectOfRow, factorOf, seasonFactors } from './season-fit.ts';
import type { UsableRow } from './season-rows.ts';

/** A grade with severity of observers and hardness of games taken out: position and official, nothing else. */
export interface AdjustedGrade {
  grade: number;
  standardError: number;
  /** 90% interval. */
  low: number;
  high: number;
  /** 1 − prediction error variance ÷ variance between officials: 0 says nothing, 1 all about the official. */
  reliability: number;
  /** How it differs from the raw grade: raw + `parts` = adjusted. */
  parts: AdjustmentParts;
}

/** What the adjustment added to a raw grade, in points. */
interface AdjustmentParts {
  /**
   * For observers stricter (above 0) or more lenient (below 0) than others, as a whole and in this position, weighed
   * over the official's games.
   */
  observers: number;
  /** For games in which everyone's grades were low (above 0) or high (below 0). */
  games: number;
  /**
   * Toward the position's average, because few opportunities in few games say little: chance, and what is put down to
   * single evenings of the official.
   */
  caution: number;
}

/** An error of 0 comes of too few or too equal grades; it is not certainty. */
export const errorUnknown = ({ standardError }: AdjustedGrade): boolean => standardError < 1e-9;

/** Who has a grade as marked, in one position. */
interface Marked {
  official: string;
  raw: number;
}

interface Adjusted {
  grades: AdjustedGrade[];
  /** Of the grades' errors, square, row by row. */
  covariance: Float64Array;
}

/** What gives, from a fit, the adjusted grades of officials of one position. */
export function adjustmentFrom(
  fit: MixedModelFit,
  usable: readonly UsableRow[],
): (position: string, members: readonly Marked[]) => Adjusted {
  const { levels } = factorOf(fit, 'official');
  const { reliabilities } = levelErrors(fit, seasonFactors.official);
  const reliabilityOf = new Map(levels.map((level, at) => [level, reliabilities[at]!]));
  const effects = {
    observer: effectOfRow(fit, 'observer'),
    observerInPosition: effectOfRow(fit, 'observerInPosition'),
    game: effectOfRow(fit, 'game'),
  };
  const rowsOf = groupBy(usable, ({ official, position }) => `${official}\n${position}`);

  return (position, members) => {
    const { estimates, covariance } = predict(
      fit,
      members.map(
        ({ official: level }): Combination => ({
          fixed: { [position]: 1 },
          effects: [{ factor: seasonFactors.official, level }],
        }),
      ),
    );
    const grades = members.map(({ official, raw }, i): AdjustedGrade => {
      const grade = estimates[i]!;
      const standardError = Math.sqrt(covariance[i * members.length + i]!);
      const own = rowsOf.get(`${official}\n${position}`)!;
      const weight = own.reduce((sum, row) => sum + row.weight, 0);
      const over = (effect: (row: UsableRow) => number) =>
        own.reduce((sum, row) => sum + (row.weight / weight) * effect(row), 0);
      const observers = -over((row) => effects.observer(row) + effects.observerInPosition(row));
      const games = -over(effects.game);
      return {
        grade,
        standardError,
        ...interval(grade, standardError),
        reliability: reliabilityOf.get(official)!,
        parts: { observers, games, caution: grade - raw - observers - games },
      };
    });
    return { grades, covariance };
  };
}
