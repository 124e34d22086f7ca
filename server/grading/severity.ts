import { groupBy } from './group-by.ts';
import { evenScale, lossAtEven } from './loss-scale.ts';
import { interval } from './normal-interval.ts';
import type { Combination } from './prediction.ts';
import { type SeasonFit, severityEffects } from './season-fit.ts';
import type { UsableRow } from './season-rows.ts';
import { predictWith, type Uncertainty } from './variance-uncertainty.ts';

/**
 * How far marks sit from what all who can be compared, each counted alike, mark on average on like performance, in points
 * of a grade.
 */
export interface Leaning {
  /** Below 0 strict, above 0 lenient; null when the model could not be fitted. */
  effect: number | null;
  standardError: number;
  /** 90% interval. */
  low: number;
  high: number;
}

/** What marks rest on: different games, and officials' reports in them. */
interface Seen {
  games: number;
  rows: number;
}

/** One observer's marks in one position: severity as a whole and in this position, together. */
export interface PositionSeverity extends Leaning, Seen {
  position: string;
  /** Others who graded the position in the observer's comparable group. */
  others: number;
}

/** One observer's marks, over the positions they graded, each counted alike. */
export interface Severity extends Leaning, Seen {
  observer: string;
  group: number;
  /** Each position that the observer graded. */
  positions: PositionSeverity[];
}

/** An observer's severity over these positions, each counted alike, and in each of them. */
export type LeaningsOf = (
  observer: string,
  positions: readonly string[],
) => { whole: Leaning; each: Leaning[] };

const unknown: Leaning = { effect: null, standardError: 0, low: 0, high: 0 };
const nothingKnown: LeaningsOf = (_, positions) => ({ whole: unknown, each: positions.map(() => unknown) });

type Graded = Pick<UsableRow, 'official' | 'position' | 'game' | 'observer'>;

/** Every observer's severity, strictest first. @param leaningsOf null when the model could not be fitted */
export function severities(
  graded: readonly Graded[],
  leaningsOf: LeaningsOf | null,
  groupOf: ReadonlyMap<string, number>,
): Severity[] {
  const groupNumber = (observer: string) => groupOf.get(observer) ?? -1;
  const place = (position: string, observer: string) => `${groupNumber(observer)} ${position}`;
  const observersIn = new Map<string, Set<string>>();
  for (const { position, observer } of graded) {
    const there = observersIn.get(place(position, observer)) ?? new Set();
    observersIn.set(place(position, observer), there.add(observer));
  }
  return [...groupBy(graded, (row) => row.observer)]
    .map(([observer, own]): Severity => {
      const byPosition = [...groupBy(own, (row) => row.position)];
      const names = byPosition.map(([position]) => position);
      const { whole, each } = (leaningsOf ?? nothingKnown)(observer, names);
      return {
        observer,
        group: groupNumber(observer),
        ...seenIn(own),
        ...whole,
        positions: byPosition.map(([position, rows], at) => ({
          position,
          others: observersIn.get(place(position, observer))!.size - 1,
          ...seenIn(rows),
          ...each[at]!,
        })),
      };
    })
    .sort((a, b) => (a.effect ?? 0) - (b.effect ?? 0) || (a.observer < b.observer ? -1 : 1));
}

const seenIn = (rows: readonly Graded[]): Seen => ({
  games: new Set(rows.map((row) => row.game)).size,
  rows: new Set(rows.map(({ official, game }) => `${official}\n${game}`)).size,
});

/**
 * What gives, from a fit of grades, an observer's severity: in the middle of the position's usual loss, so that it is more
 * points where more is lost.
 */
export function leaningsFrom(
  fit: SeasonFit,
  groups: readonly { observers: readonly string[] }[],
  uncertainty: Uncertainty,
): LeaningsOf {
  const others = new Map(
    groups.flatMap(({ observers }) => observers.map((observer) => [observer, observers])),
  );
  return (observer, positions) => {
    const all = others.get(observer) ?? [observer];
    const combinations = positions.map(
      (position): Combination => ({
        effects: [
          ...severityEffects(observer, position),
          ...all.flatMap((other) => severityEffects(other, position, -1 / all.length)),
        ],
      }),
    );
    const { estimates, covariance } = predictWith(uncertainty, fit, combinations);
    const count = positions.length;
    const usual = positions.map((position) => fit.usualLoss.get(position)!);
    const pointsOf = (share: (at: number) => number) => {
      const shares = usual.map((loss, at) => loss * share(at));
      const variance = shares.reduce(
        (sum, a, i) => sum + shares.reduce((s, b, j) => s + a * b * covariance[i * count + j]!, 0),
        0,
      );
      const loss = shares.reduce((sum, value) => sum + value, 0);
      const effect = shares.reduce((sum, value, at) => sum + value * estimates[at]!, 0);
      return leaning(loss, effect / loss, variance / loss ** 2);
    };
    return {
      whole: pointsOf(() => 1 / count),
      each: positions.map((_, at) => pointsOf((other) => Number(other === at))),
    };
  };
}

/** Where observers are not told to differ at all: exactly 0, since what rounding leaves would be told as a leaning. */
export const evenLeaning: Leaning = { effect: 0, standardError: 0, low: 0, high: 0 };
/** A standard error of the effect below which nothing is told but rounding. */
export const roundingOnly = 1e-9;

/** @param effect in parts of the usual loss, as its variance. */
function leaning(usual: number, effect: number, variance: number): Leaning {
  const standardError = Math.sqrt(Math.max(0, variance));
  if (standardError < roundingOnly) return evenLeaning;
  const points = (value: number) => usual * (1 - lossAtEven(value));
  const { low, high } = interval(evenScale(1 - effect), standardError);
  return {
    effect: usual * effect,
    standardError: usual * standardError,
    low: points(high),
    high: points(low),
  };
}
