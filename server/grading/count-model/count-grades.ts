import type { AdjustedGrade } from '../adjusted-grade.ts';
import { groupBy } from '../group-by.ts';
import { meanOverObservers } from '../over-observers.ts';
import { levelErrors, predict } from '../prediction.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow, DutyClass } from './count-rows.ts';
import {
  countEffect,
  countFactorOf,
  countFactors,
  countSeverityEffects,
  expit,
  logit,
  officialInClass,
} from './season-counts.ts';

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

/** The mean over evenings, games and observers, by Gauss and Hermite's rule of three nodes. */
const occasions = [
  { at: 0, share: 2 / 3 },
  { at: Math.sqrt(3), share: 1 / 6 },
  { at: -Math.sqrt(3), share: 1 / 6 },
];

/**
 * What gives, from a fit, the grades of officials of one position and comparable group: what the group's observers, each
 * counted alike, would record on average over evenings and games, with the position's own mix of weighted chances. All is told on the log-odds of what is
 * lost, where errors are near normal, and mapped to the grade, which keeps the ends of 0 to 100 and, being one map for
 * a position, every order of officials in every draw of the posterior.
 */
export function countGradesFrom(
  fit: CountModelFit,
  rows: readonly CountRow[],
  groups: readonly { officials: readonly string[]; observers: readonly string[] }[],
): (position: string, members: readonly Marked[]) => CountGrades {
  const { reliabilities } = levelErrors(fit, countFactors.official);
  const { levels, variance } = countFactorOf(fit, 'official');
  const reliabilityOf = new Map(levels.map((level, at) => [level, variance > 0 ? reliabilities[at]! : 0]));
  const occasion = Math.sqrt(
    (['officialInGame', 'game', 'observer', 'observerInPosition'] as const).reduce(
      (sum, factor) => sum + countFactorOf(fit, factor).variance,
      0,
    ),
  );
  const observer = countEffect(fit, 'observer');
  const inPosition = countEffect(fit, 'observerInPosition');
  const game = countEffect(fit, 'game');
  const observersOf = new Map(
    groups.flatMap(({ officials, observers }) => officials.map((official) => [official, observers] as const)),
  );
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
  const rowsOf = groupBy(rows, (row) => row.position);

  return (position, members) => {
    const classes = mixOf(rowsOf.get(position)!);
    const count = classes.length;
    const { estimates: shifts, covariance: between } = predict(
      fit,
      members.flatMap(({ official }) => {
        const observers = observersOf.get(official) ?? [];
        const all = observers.flatMap((one) => countSeverityEffects(one, position, 1 / observers.length));
        return classes.map((one) => ({
          fixed: { '(intercept)': 1 },
          effects: [
            ...all,
            { factor: countFactors.position, level: position },
            { factor: countFactors.official, level: official },
            { factor: countFactors.officialInClass, level: officialInClass(official, one.class) },
          ],
        }));
      }),
    );
    const size = members.length;
    const estimates = new Float64Array(size);
    const slopes = new Float64Array(size * count);
    for (let i = 0; i < size; i += 1) {
      let lost = 0;
      for (const [c, { share, level }] of classes.entries()) {
        let own = 0;
        let slope = 0;
        for (const { at, share: part } of occasions) {
          const chance = expit(level + shifts[i * count + c]! + occasion * at);
          own += part * chance;
          slope += part * chance * (1 - chance);
        }
        lost += share * own;
        slopes[i * count + c] = share * slope;
      }
      estimates[i] = -logit(lost);
      for (let c = 0; c < count; c += 1) slopes[i * count + c]! /= lost * (1 - lost);
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

/** The position's mix: each class's share of the weight of its chances, and the log-odds of a miss expected there. */
function mixOf(rows: readonly CountRow[]): { class: DutyClass; share: number; level: number }[] {
  const whole = rows.reduce((sum, row) => sum + row.weight, 0);
  return [...groupBy(rows, (row) => row.class)].map(([dutyClass, own]) => {
    const weight = own.reduce((sum, row) => sum + row.weight, 0);
    const expected = own.reduce((sum, row) => sum + row.weight * row.expected, 0);
    return { class: dutyClass, share: weight / whole, level: logit(expected / weight) };
  });
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
