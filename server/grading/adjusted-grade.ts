import { groupBy } from './group-by.ts';
import { evenScale, lossAtEven } from './loss-scale.ts';
import { interval } from './normal-interval.ts';
import { meanOverObservers } from './over-observers.ts';
import { levelErrors } from './prediction.ts';
import { effectOfRow, factorOf, gradeCombination, type SeasonFit, seasonFactors } from './season-fit.ts';
import type { UsableRow } from './season-rows.ts';
import { predictWith, type Uncertainty } from './variance-uncertainty.ts';

/**
 * A grade with who watched and how hard the games were taken out: what all observers who can be compared, each counted
 * alike, would mark on average in ordinary games.
 */
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
   * For having been watched by stricter (above 0) or more lenient (below 0) observers than all of them on average, as a
   * whole and in this position, weighed over the official's games.
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

/** The 90 % interval; null without a grade, or where how sure it is is not known. */
export const knownInterval = (adjusted: AdjustedGrade | null | undefined) =>
  adjusted && !errorUnknown(adjusted) ? { low: adjusted.low, high: adjusted.high } : null;

/** Who has a grade as marked, in one position. */
interface Marked {
  official: string;
  raw: number;
}

interface Adjusted {
  grades: AdjustedGrade[];
  /** What ranks: higher is better, errors alike wherever the grade is (`loss-scale.ts`). */
  estimates: Float64Array;
  /** Of the errors of `estimates`, square, row by row. */
  covariance: Float64Array;
}

/** What gives, from a fit, the adjusted grades of officials of one position and comparable group. */
export function adjustmentFrom(
  fit: SeasonFit,
  usable: readonly UsableRow[],
  uncertainty: Uncertainty,
): (position: string, members: readonly Marked[]) => Adjusted {
  const { levels } = factorOf(fit, 'official');
  const { reliabilities } = levelErrors(fit, seasonFactors.official);
  const reliabilityOf = new Map(levels.map((level, at) => [level, reliabilities[at]!]));
  const effects = {
    observer: effectOfRow(fit, 'observer'),
    observerInPosition: effectOfRow(fit, 'observerInPosition'),
    game: effectOfRow(fit, 'game'),
  };
  const byOwn = (row: UsableRow) => effects.observer(row) + effects.observerInPosition(row);
  const byAll = meanOverObservers(fit.observersOf, byOwn);
  const rowsOf = groupBy(usable, ({ official, position }) => `${official}\n${position}`);

  return (position, members) => {
    const usual = fit.usualLoss.get(position)!;
    const combinations = members.map(({ official }) => gradeCombination(fit, position, official));
    const { estimates, covariance } = predictWith(uncertainty, fit, combinations);
    const scaled = estimates.map((value) => -evenScale(-value));
    const grades = members.map(({ official, raw }, i): AdjustedGrade => {
      const grade = 100 + usual * estimates[i]!;
      const deviation = Math.sqrt(covariance[i * members.length + i]!);
      const { low, high } = interval(scaled[i]!, deviation);
      const own = rowsOf.get(`${official}\n${position}`)!;
      const weight = own.reduce((sum, row) => sum + row.weight, 0);
      const over = (effect: (row: UsableRow) => number) =>
        own.reduce((sum, row) => sum + (row.weight / weight) * effect(row), 0);
      const observers = byAll(own[0]!) - over(byOwn);
      const games = -over(effects.game);
      return {
        grade,
        standardError: usual * deviation,
        low: 100 - usual * lossAtEven(-low),
        high: 100 - usual * lossAtEven(-high),
        reliability: reliabilityOf.get(official)!,
        parts: { observers, games, caution: grade - raw - observers - games },
      };
    });
    return { grades, estimates: scaled, covariance };
  };
}
