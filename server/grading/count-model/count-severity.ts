import { groupBy } from '../group-by.ts';
import { interval } from '../normal-interval.ts';
import type { Combination } from '../prediction.ts';
import { evenLeaning, type Leaning, type LeaningsOf, roundingOnly } from '../severity.ts';
import { predictWith, type Uncertainty } from '../variance-uncertainty.ts';
import type { CountModelFit } from './count-model.ts';
import type { CountRow } from './count-rows.ts';
import { countLevelEffect, countSeverityEffects, expit, logit, observerInPosition } from './season-counts.ts';

/**
 * What gives, from a fit, an observer's severity. On the log-odds an observer moves every chance alike; in points it is
 * what that makes of the loss that the position has on average, so that a strict observer takes more off where more is
 * lost. Each is held against what all who can be compared, counted alike, would mark on average: one who marks twice as
 * much moves that more than one who marks half as much, so that it lies above what the middle one marks.
 */
export function countLeanings(
  fit: CountModelFit,
  rows: readonly CountRow[],
  groups: readonly { observers: readonly string[] }[],
  uncertainty: Uncertainty,
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
  const overall = countLevelEffect(fit, 'observer');
  const inPosition = countLevelEffect(fit, 'observerInPosition');
  const effect = (observer: string, position: string) =>
    overall(observer) + inPosition(observerInPosition(observer, position));
  return (observer, positions) => {
    const all = others.get(observer) ?? [observer];
    const held = positions.map((position) => {
      const loss = lossIn.get(position) ?? 0;
      const effects = all.map((other) => effect(other, position));
      return { position, loss, ...levelOf(loss, effects), own: effect(observer, position) };
    });
    const combinations = held.map(
      ({ position, shares }): Combination => ({
        effects: [
          ...countSeverityEffects(observer, position),
          ...all.flatMap((other, at) => countSeverityEffects(other, position, -shares[at]!)),
        ],
      }),
    );
    const { covariance } = predictWith(uncertainty, fit, combinations);
    const size = positions.length;
    const shifts = held.map(({ above, own }) => own - above);
    const whole = held.reduce((sum, { loss }) => sum + loss, 0);
    const parts = held.map(({ loss }) => (whole > 0 ? loss / whole : 1 / size));
    const variance = parts.reduce(
      (sum, a, i) => sum + parts.reduce((s, b, j) => s + a * b * covariance[i * size + j]!, 0),
      0,
    );
    return {
      whole: inPoints(
        whole / size,
        parts.reduce((sum, part, at) => sum + part * shifts[at]!, 0),
        variance,
      ),
      each: held.map(({ loss }, at) => inPoints(loss, shifts[at]!, covariance[at * size + at]!)),
    };
  };
}

/**
 * Where observers with these effects on the log-odds lose `loss` on average: how far above the middle of the log-odds that
 * mean lies, as an effect, and the share that each of them has in moving it.
 */
function levelOf(loss: number, effects: readonly number[]): { above: number; shares: number[] } {
  const even = effects.map(() => 1 / effects.length);
  if (!(loss > 0 && loss < 1)) return { above: 0, shares: even };
  const middle = logit(loss);
  // The more above, the less is lost. Newton's steps settle at once where observers are not worlds apart; where a step would
  // leave what is known of the level, it is halved instead.
  let low = Math.min(...effects);
  let high = Math.max(...effects);
  let above = effects.reduce((sum, effect, at) => sum + even[at]! * effect, 0);
  let slopes = even;
  for (let step = 0; step < 60; step += 1) {
    const chances = effects.map((effect) => expit(middle + effect - above));
    slopes = chances.map((chance) => (chance * (1 - chance)) / effects.length);
    const slope = slopes.reduce((sum, value) => sum + value, 0);
    const more = chances.reduce((sum, chance) => sum + chance, 0) / effects.length - loss;
    if (more > 0) low = above;
    else high = above;
    const newton = above + more / slope;
    const next = newton >= low && newton <= high ? newton : (low + high) / 2;
    const move = next - above;
    above = next;
    if (Math.abs(move) < 1e-9) break;
  }
  const slope = slopes.reduce((sum, value) => sum + value, 0);
  return { above, shares: slopes.map((value) => value / slope) };
}

/** What a shift of the log-odds makes of a share that is lost, in points. */
function inPoints(loss: number, shift: number, variance: number): Leaning {
  const deviation = Math.sqrt(Math.max(0, variance));
  if (!(loss > 0 && loss < 1) || deviation < roundingOnly) return evenLeaning;
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
