import { invertSmall, multiplySmall } from '../grading/small-matrix.ts';
import { comparableItems } from './comparable-items.ts';
import type { Scored } from './scored.ts';
import { rightGiven } from './symmetric-functions.ts';

export interface Difficulty {
  /** In logits; those told sum to 0. Higher is harder. */
  readonly value: number;
  readonly se: number;
}

export interface RaschFit {
  /** By the number of the item; null where the answers tell no difficulty, with the reason in `reasons`. */
  readonly difficulties: readonly (Difficulty | null)[];
  readonly reasons: readonly (string | null)[];
  /** Natural logarithm of the conditional likelihood at its maximum. */
  readonly logLikelihood: number;
  /** People who tell of it: some of the items right and some wrong. */
  readonly telling: number;
}

type RaschFound = RaschFit | { readonly reason: string };

/**
 * Difficulties by conditional maximum likelihood (Rasch 1960; Andersen 1970, "Asymptotic properties of conditional
 * maximum-likelihood estimators"): how able people are is conditioned away, so that nothing of how they spread is assumed.
 * People who were asked different questions are taken by the set that each was asked.
 *
 * @param people answers of each person, all as long as `items`
 * @returns a reason where fewer than two items can be told from each other
 */
export function fitRasch(people: readonly Scored[], items: number): RaschFound {
  for (const [person, answers] of people.entries())
    if (answers.length !== items)
      throw new RangeError(`person ${person} has ${answers.length} answers to ${items} items`);
  const kept = comparableItems(people, items);
  if (kept.length < 2)
    return {
      reason:
        'no two questions can be told apart: somebody must have one right and the other wrong, and somebody the other way round',
    };
  const sums = conditionedSums(people, kept);
  const { values, logLikelihood, information } = maximise(sums, kept.length);
  const errors = standardErrors(information);
  const difficulties = new Array<Difficulty | null>(items).fill(null);
  for (const [at, item] of kept.entries()) difficulties[item] = { value: values[at]!, se: errors[at]! };
  return {
    difficulties,
    reasons: difficulties.map((told, item) => (told ? null : whyUntold(people, item))),
    logLikelihood,
    telling: sums.telling,
  };
}

function whyUntold(people: readonly Scored[], item: number): string {
  const given = people.flatMap((answers) => answers[item] ?? []);
  if (given.length === 0) return 'asked of nobody';
  if (given.every((one) => one === 1)) return 'all had it right';
  if (given.every((one) => one === 0)) return 'all had it wrong';
  return 'nobody links it with the other questions';
}

interface Sums {
  /** How often each item was right, among people who tell. */
  readonly right: Float64Array;
  readonly groups: readonly { readonly items: readonly number[]; readonly scores: Map<number, number> }[];
  readonly telling: number;
}

/** People by the set of items they were asked and how many they had right: all that the likelihood depends on. */
function conditionedSums(people: readonly Scored[], kept: readonly number[]): Sums {
  const right = new Float64Array(kept.length);
  const groups = new Map<string, { items: number[]; scores: Map<number, number> }>();
  let telling = 0;
  for (const answers of people) {
    const items = kept.flatMap((item, at) => (answers[item] === null ? [] : [at]));
    const score = items.filter((at) => answers[kept[at]!] === 1).length;
    if (score === 0 || score === items.length) continue;
    telling += 1;
    for (const at of items) right[at]! += answers[kept[at]!]!;
    const key = items.join(' ');
    const group = groups.get(key) ?? { items, scores: new Map<number, number>() };
    groups.set(key, group);
    group.scores.set(score, (group.scores.get(score) ?? 0) + 1);
  }
  return { right, groups: [...groups.values()], telling };
}

const mostSteps = 100;
const smallEnough = 1e-10;

/** Newton's steps, halved until the likelihood grows: it is concave, so that its maximum is the only one. */
function maximise(sums: Sums, items: number) {
  let values: Float64Array = new Float64Array(items);
  let here = derivatives(sums, values);
  for (let step = 0; step < mostSteps; step += 1) {
    const whole = multiplySmall(inversePinned(here.information), here.slope);
    if (Math.max(...whole.map(Math.abs)) < smallEnough) break;
    let part = 1;
    let next = moved(values, whole, part);
    let there = derivatives(sums, next);
    while (!(there.logLikelihood >= here.logLikelihood - 1e-9) && part > 1e-6) {
      part /= 2;
      next = moved(values, whole, part);
      there = derivatives(sums, next);
    }
    values = next;
    here = there;
  }
  return { values, ...here };
}

function moved(values: Float64Array, step: Float64Array, part: number): Float64Array {
  const next = values.map((value, at) => value + part * step[at]!);
  const mean = next.reduce((sum, value) => sum + value, 0) / next.length;
  return next.map((value) => value - mean);
}

/** Log-likelihood, its slope and information in the difficulties. */
function derivatives({ right, groups }: Sums, values: Float64Array) {
  const items = values.length;
  const slope = Float64Array.from(right, (sum) => -sum);
  const information = Array.from({ length: items }, () => new Float64Array(items));
  let logLikelihood = -values.reduce((sum, value, at) => sum + value * right[at]!, 0);
  for (const group of groups) {
    const scores = [...group.scores.keys()];
    const given = rightGiven(
      group.items.map((at) => Math.exp(-values[at]!)),
      scores,
    );
    for (const [order, { log, one, both }] of given.entries()) {
      const people = group.scores.get(scores[order]!)!;
      logLikelihood -= people * log;
      for (const [a, at] of group.items.entries()) {
        slope[at]! += people * one[a]!;
        const row = information[at]!;
        for (const [b, other] of group.items.entries())
          row[other]! += people * (both[a]![b]! - one[a]! * one[b]!);
      }
    }
  }
  return { logLikelihood, slope, information };
}

/** The inverse, row after row, of the information with its one direction of nothing (all difficulties moved alike) filled in. */
function inversePinned(information: readonly Float64Array[]): Float64Array {
  const items = information.length;
  const size = filledIn(information);
  const filled = Float64Array.from(
    { length: items * items },
    (_, at) => information[Math.floor(at / items)]![at % items]! + size,
  );
  // Positive definite, as `comparableItems` leaves only items that hang together.
  return invertSmall(filled, items)!.inverse;
}

const filledIn = (information: readonly Float64Array[]) =>
  information.reduce((sum, row, at) => sum + row[at]!, 0) / information.length ** 2;

/** Where difficulties sum to 0, the inverse of the pinned information less what was filled in. */
function standardErrors(information: readonly Float64Array[]): number[] {
  const items = information.length;
  const inverse = inversePinned(information);
  const size = filledIn(information);
  return Array.from(information, (_, at) =>
    Math.sqrt(Math.max(0, inverse[at * items + at]! - 1 / (size * items ** 2))),
  );
}
