import type { AdjustedGrade } from '../adjusted-grade.ts';
import { groupBy } from '../group-by.ts';
import { meanOverObservers } from '../over-observers.ts';
import { levelErrors } from '../prediction.ts';
import { predictWith, type Uncertainty } from '../variance-uncertainty.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow } from './count-rows.ts';
import { countScaleFrom } from './count-scale.ts';
import { countEffect, countFactorOf, countFactors, expit } from './season-counts.ts';

/** Who has a grade as marked, in one position. */
interface Marked {
  official: string;
  raw: number;
}

interface CountGrades {
  grades: AdjustedGrade[];
  /** What ranks: the log-odds of what is kept of the grade, higher is better. */
  estimates: Float64Array;
  /** Of the errors of `estimates`, square, row by row. */
  covariance: Float64Array;
}

/** Half of 90 % of a standard normal distribution. */
const reach = 1.6448536269514722;

/**
 * What gives, from a fit, the grades of officials of one position and comparable group, as `count-scale.ts` makes them of
 * effects. All is told on the log-odds of what is
 * lost, where errors are near normal, and mapped to the grade, which keeps the ends of 0 to 100 and, being one map for
 * a position, every order of officials in every draw of the posterior.
 */
export function countGradesFrom(
  fit: CountModelFit,
  rows: readonly CountRow[],
  observersOf: ReadonlyMap<string, readonly string[]>,
  uncertainty: Uncertainty,
): (position: string, members: readonly Marked[]) => CountGrades {
  const { reliabilities } = levelErrors(fit, countFactors.official);
  const { levels, variance } = countFactorOf(fit, 'official');
  const reliabilityOf = new Map(levels.map((level, at) => [level, variance > 0 ? reliabilities[at]! : 0]));
  const scaleOf = countScaleFrom(fit, rows, observersOf);
  const observer = countEffect(fit, 'observer');
  const inPosition = countEffect(fit, 'observerInPosition');
  const game = countEffect(fit, 'game');
  const lean = (row: CountRow) => observer(row) + inPosition(row);
  const leanOfAll = meanOverObservers(observersOf, lean);
  const parts = rows.map((row, at) => {
    const seen = fit.predictor[at]!;
    const byAll = seen - lean(row) + leanOfAll(row);
    return {
      row,
      observers: row.weight * (expit(seen) - expit(byAll)),
      games: row.weight * (expit(byAll) - expit(byAll - game(row))),
    };
  });
  const partsOf = groupBy(parts, ({ row }) => `${row.official}\n${row.position}`);

  return (position, members) => {
    const scale = scaleOf(position);
    const combinations = members.flatMap(({ official }) => scale.shifts(official));
    const { estimates: shifts, covariance: between } = predictWith(uncertainty, fit, combinations);
    const size = members.length;
    const count = shifts.length / size;
    const estimates = new Float64Array(size);
    const slopes = new Float64Array(size * count);
    for (let i = 0; i < size; i += 1) {
      const own = scale.at(shifts.subarray(i * count, (i + 1) * count));
      estimates[i] = own.kept;
      slopes.set(own.slopes, i * count);
    }
    const covariance = sandwich(slopes, between, size, count);
    const grades = members.map(({ official, raw }, i): AdjustedGrade => {
      const deviation = Math.sqrt(covariance[i * size + i]!);
      const on = (value: number) => 100 * expit(value);
      const grade = on(estimates[i]!);
      const own = partsOf.get(`${official}\n${position}`) ?? [];
      const weight = own.reduce((sum, { row }) => sum + row.weight, 0);
      const over = (part: 'observers' | 'games') =>
        own.reduce((sum, one) => sum + (100 * one[part]) / weight, 0);
      const [observers, games] = [over('observers'), over('games')];
      return {
        grade,
        standardError: (deviation * grade * (100 - grade)) / 100,
        low: on(estimates[i]! - reach * deviation),
        high: on(estimates[i]! + reach * deviation),
        reliability: reliabilityOf.get(official) ?? 0,
        parts: { observers, games, caution: grade - raw - observers - games },
      };
    });
    return { grades, estimates, covariance };
  };
}

/** Covariance of sums, each of `count` neighbouring terms with these slopes. */
function sandwich(slopes: Float64Array, between: Float64Array, size: number, count: number): Float64Array {
  const out = new Float64Array(size * size);
  const wide = size * count;
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let value = 0;
      for (let a = i * count; a < (i + 1) * count; a += 1) {
        for (let b = j * count; b < (j + 1) * count; b += 1) {
          value += slopes[a]! * between[a * wide + b]! * slopes[b]!;
        }
      }
      out[i * size + j] = value;
      out[j * size + i] = value;
    }
  }
  return out;
}
