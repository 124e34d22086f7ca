import { groupsOf } from '../group-by.ts';
import { exactShare, type Share } from './exact-share.ts';
import { type Population, populationOf, type TwoSamples } from './two-samples.ts';

/** Two reports of one game, laid over the chances that both observers watched and could tell. */
export interface DoubleGame extends TwoSamples {
  readonly game: string;
  /** The observer whose misses `onlyFirst` are. */
  readonly first: string;
  readonly second: string;
  /** Chances that the first observer marked as missed and the second, who marked them too, as done. */
  readonly firstAgainst: number;
  readonly secondAgainst: number;
}

/** How an observer compares with those who watched the same games; as far as the interval allows. */
type Compared = 'more' | 'less' | 'not told apart';

/** What the double games of one observer tell of them. */
export interface ObserverDetection {
  readonly observer: string;
  readonly games: number;
  /** Of the misses that the others noted, those that this observer noted too: the share that they see. */
  readonly seen: Share | null;
  /** Of the misses noted by one of the two only, those noted by this observer. */
  readonly alone: Share | null;
  /** Finds more of what is there than those beside them, or less. */
  readonly keen: Compared;
  /** Of what both marked and judged differently, what this observer marked as missed. */
  readonly against: Share | null;
  /** Points of a grade by which severity goes beyond what keenness makes; below 0 strict. null: not known. */
  readonly beyondKeenness: { readonly points: number; readonly low: number; readonly high: number } | null;
  /** Marks more as missed of what both saw, or less. */
  readonly strict: Compared;
  /** All misses in these games, by the two-sample estimate. */
  readonly misses: Population;
}

export interface Detection {
  readonly games: number;
  readonly both: number;
  readonly one: number;
  /** Judged differently by two who both marked it; in none of the other numbers. */
  readonly differed: number;
  /** The share of all misses that an observer notes on average; its interval is that of `misses`. */
  readonly seen: AverageShare | null;
  readonly misses: Population;
  /** Only those with a double game. */
  readonly observers: readonly ObserverDetection[];
}

interface AverageShare {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** An observer's severity by the grading model: how far, in points, their marks sit from the others', and its error. */
interface ModelSeverity {
  readonly points: number;
  readonly standardError: number;
}

/** What the grading model says beside: points that misses cost in an average report, and each observer's severity. */
export interface GradingSide {
  readonly averageLoss: number;
  /** Whether observers multiply misses by that model, as keenness does; else they add points. */
  readonly multiplies?: boolean;
  readonly severity: ReadonlyMap<string, ModelSeverity>;
}

/**
 * Keenness and strictness of observers from their double games. Keen: notes more of what is there; told by the
 * misses that only one of two noted. Strict: takes more of what both saw for a miss; told by chances that both marked
 * and judged differently, and by how far the severity of the grading model goes beyond what keenness makes of it (who
 * notes half as many again lowers grades by half as many points again, and is not strict for that).
 */
export function detectionOf(pairs: readonly DoubleGame[], grading?: GradingSide, coverage = 0.95): Detection {
  // The two of a pair in one order throughout, so that their games make one stratum.
  const ordered = pairs.map((pair) => (pair.first <= pair.second ? pair : turned(pair)));
  const one = total(pairs, 'onlyFirst') + total(pairs, 'onlySecond');
  const misses = populationOf(strataOf(ordered), coverage);
  const seen = averageShare(2 * total(pairs, 'both') + one, misses);
  const observers = [...new Set(pairs.flatMap(({ first, second }) => [first, second]))].sort();
  return {
    games: new Set(pairs.map(({ game }) => game)).size,
    both: total(pairs, 'both'),
    one,
    differed: total(pairs, 'firstAgainst') + total(pairs, 'secondAgainst'),
    seen,
    misses,
    observers: observers.map((observer) => {
      const own = pairs
        .filter(({ first, second }) => first === observer || second === observer)
        .map((pair) => (pair.first === observer ? pair : turned(pair)));
      return observerDetection(observer, own, seen, grading, coverage);
    }),
  };
}

/** @param noted by either of the two, what both noted twice */
function averageShare(noted: number, misses: Population): AverageShare | null {
  if (noted === 0) return null;
  const of = (all: number) => noted / (2 * all);
  return {
    value: of(misses.estimate),
    low: misses.high === null ? 0 : of(misses.high),
    high: of(misses.low),
  };
}

/** @param own the observer's double games, with them as the first */
function observerDetection(
  observer: string,
  own: readonly DoubleGame[],
  average: AverageShare | null,
  grading: GradingSide | undefined,
  coverage: number,
): ObserverDetection {
  const [both, onlyOwn, onlyOther] = [total(own, 'both'), total(own, 'onlyFirst'), total(own, 'onlySecond')];
  const [ownAgainst, otherAgainst] = [total(own, 'firstAgainst'), total(own, 'secondAgainst')];
  const seen = exactShare(both, both + onlyOther, coverage);
  const alone = exactShare(onlyOwn, onlyOwn + onlyOther, coverage);
  const against = exactShare(ownAgainst, ownAgainst + otherAgainst, coverage);
  const beyondKeenness = beyond(seen, average, grading?.severity.get(observer), grading);
  const byMarks = comparedWithHalf(against);
  const byModel: Compared =
    beyondKeenness === null || (beyondKeenness.low <= 0 && beyondKeenness.high >= 0)
      ? 'not told apart'
      : beyondKeenness.high < 0
        ? 'more'
        : 'less';
  return {
    observer,
    games: new Set(own.map(({ game }) => game)).size,
    seen,
    alone,
    keen: comparedWithHalf(alone),
    against,
    beyondKeenness,
    // Two kinds of evidence: where they contradict each other nothing is said.
    strict:
      byMarks === 'not told apart'
        ? byModel
        : byModel === 'not told apart' || byModel === byMarks
          ? byMarks
          : 'not told apart',
    misses: populationOf(strataOf(own), coverage),
  };
}

/** Two like observers share what only one of them does by halves, however many misses there are. */
function comparedWithHalf(share: Share | null): Compared {
  if (share === null || (share.low <= 0.5 && share.high >= 0.5)) return 'not told apart';
  return share.low > 0.5 ? 'more' : 'less';
}

/** Severity with what keenness alone makes of it taken off, with a 90 % interval as the model's own. */
function beyond(
  seen: Share | null,
  average: AverageShare | null,
  severity: ModelSeverity | undefined,
  grading: GradingSide | undefined,
): ObserverDetection['beyondKeenness'] {
  if (!seen || !average || average.value === 0 || !severity || !grading) return null;
  const { averageLoss } = grading;
  if (grading.multiplies) return beyondShare(seen, average, severity, averageLoss);
  const pointsOfShare = averageLoss / average.value;
  const points = severity.points + pointsOfShare * (seen.value - average.value);
  const shareError = (seen.high - seen.low) / (2 * 1.96);
  const reach = 1.645 * Math.hypot(severity.standardError, pointsOfShare * shareError);
  return { points, low: points - reach, high: points + reach };
}

/**
 * The same where an observer's misses are a multiple of an ordinary observer's: the multiple divided by that of the
 * share they see is what is left to strictness. Errors are of the logarithms; back in points of the average loss.
 */
function beyondShare(
  seen: Share,
  average: AverageShare,
  { points, standardError }: ModelSeverity,
  averageLoss: number,
): ObserverDetection['beyondKeenness'] {
  const marked = averageLoss - points;
  // Nothing marked, or nothing seen of what others noted, has no multiple.
  if (!(marked > 0 && averageLoss > 0 && seen.value > 0)) return null;
  const multiple = Math.log(marked / averageLoss) - Math.log(seen.value / average.value);
  const shareError = (seen.high - seen.low) / (2 * 1.96 * seen.value);
  const reach = 1.645 * Math.hypot(standardError / marked, shareError);
  const inPoints = (logarithm: number) => averageLoss * (1 - Math.exp(logarithm));
  return {
    points: inPoints(multiple),
    low: inPoints(multiple + reach),
    high: inPoints(multiple - reach),
  };
}

const strataOf = (pairs: readonly DoubleGame[]): TwoSamples[] =>
  groupsOf(pairs, ({ first, second }) => `${first} ${second}`).map((games) => ({
    both: total(games, 'both'),
    onlyFirst: total(games, 'onlyFirst'),
    onlySecond: total(games, 'onlySecond'),
  }));

type Counted = 'both' | 'onlyFirst' | 'onlySecond' | 'firstAgainst' | 'secondAgainst';

const total = (pairs: readonly DoubleGame[], of: Counted) => pairs.reduce((sum, pair) => sum + pair[of], 0);

const turned = ({
  game,
  first,
  second,
  both,
  onlyFirst,
  onlySecond,
  firstAgainst,
  secondAgainst,
}: DoubleGame) => ({
  game,
  first: second,
  second: first,
  both,
  onlyFirst: onlySecond,
  onlySecond: onlyFirst,
  firstAgainst: secondAgainst,
  secondAgainst: firstAgainst,
});
