import { groupBy } from '../group-by.ts';
import { interval } from '../normal-interval.ts';
import { type Combination, predict } from '../prediction.ts';
import type { Leaning, LeaningsOf } from '../severity.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow } from './count-rows.ts';
import { countSeverityEffects, expit, logit } from './season-counts.ts';

/**
 * What gives, from a fit, an observer's severity. On the log-odds an observer moves every chance alike; in points it is
 * what that makes of the loss that the position has on average, so that a strict observer takes more off where more is
 * lost. Each is held against all who can be compared, counted alike.
 */
export function countLeanings(
  fit: CountModelFit,
  rows: readonly CountRow[],
  groups: readonly { observers: readonly string[] }[],
): LeaningsOf {
  const others = new Map(
    groups.flatMap(({ observers }) => observers.map((observer) => [observer, observers])),
  );
  const lossIn = new Map(
    [...groupBy(rows, (row) => row.position)].map(([position, own]) => {
      const weight = own.reduce((sum, row) => sum + row.weight, 0);
      return [position, own.reduce((sum, row) => sum + row.weight * row.expected, 0) / weight];
    }),
  );
  return (observer, positions) => {
    const all = others.get(observer) ?? [observer];
    const { estimates, covariance } = predict(
      fit,
      positions.map(
        (position): Combination => ({
          effects: [
            ...countSeverityEffects(observer, position),
            ...all.flatMap((other) => countSeverityEffects(other, position, -1 / all.length)),
          ],
        }),
      ),
    );
    const size = positions.length;
    const losses = positions.map((position) => lossIn.get(position) ?? 0);
    const mean = (values: ArrayLike<number>) =>
      Array.from(values).reduce((sum, value) => sum + value, 0) / values.length;
    return {
      whole: inPoints(mean(losses), mean(estimates), mean(covariance)),
      each: positions.map((_, at) => inPoints(losses[at]!, estimates[at]!, covariance[at * size + at]!)),
    };
  };
}

/** What a shift of the log-odds makes of a share that is lost, in points. */
function inPoints(loss: number, shift: number, variance: number): Leaning {
  if (!(loss > 0 && loss < 1)) return { effect: 0, standardError: 0, low: 0, high: 0 };
  const deviation = Math.sqrt(Math.max(0, variance));
  const points = (value: number) => 100 * (loss - expit(logit(loss) + value));
  const { low, high } = interval(shift, deviation);
  const marked = expit(logit(loss) + shift);
  return {
    effect: points(shift),
    standardError: 100 * marked * (1 - marked) * deviation,
    low: points(high),
    high: points(low),
  };
}
