import { type Agreement, bootstrapInterval } from './agreement.ts';

type Level = 'nominal' | 'ordinal' | 'interval';

/**
 * Krippendorff's alpha: any number of observers, cells may be missing. Krippendorff (2011), "Computing
 * Krippendorff's Alpha-Reliability": 1 − observed ÷ expected disagreement over all pairable values.
 * Interval: bootstrap over units.
 *
 * @param units for each unit the value that each observer gave it, null where there is none.
 */
export function krippendorffAlpha(
  units: readonly (readonly (number | null)[])[],
  level: Level,
  options: { coverage?: number; seed?: number } = {},
): Agreement {
  const pairable = units
    .map((unit) => unit.filter((value) => value !== null))
    .filter((unit) => unit.length >= 2);
  if (pairable.length === 0) return { value: null, reason: 'no unit was judged by two observers' };
  const distinct = [...new Set(pairable.flat())].sort((a, b) => a - b);
  if (distinct.length < 2) return { value: null, reason: 'only one value was ever given' };
  const code = new Map(distinct.map((value, i) => [value, i]));
  const coded = pairable.map((unit) => unit.map((value) => code.get(value)!));

  const coefficient = (sample: ArrayLike<number>) => alpha(coded, sample, distinct, level);
  const value = coefficient(coded.map((_, u) => u));
  if (value === null) return { value: null, reason: 'only one value was ever given' };
  const coverage = options.coverage ?? 0.95;
  const interval = bootstrapInterval(coded.length, coefficient, coverage, options.seed ?? 1);
  if (!interval) return { value: null, reason: 'too few units that differ to give an interval' };
  return { value, coverage, ...interval };
}

function alpha(
  coded: readonly (readonly number[])[],
  sample: ArrayLike<number>,
  distinct: readonly number[],
  level: Level,
): number | null {
  const size = distinct.length;
  // Coincidences: each ordered pair of values inside a unit, weighed 1 / (values in the unit − 1).
  const coincidence = new Float64Array(size * size);
  for (let s = 0; s < sample.length; s += 1) {
    const unit = coded[sample[s]!]!;
    for (let a = 0; a < unit.length; a += 1) {
      for (let b = 0; b < unit.length; b += 1) {
        if (a !== b) coincidence[unit[a]! * size + unit[b]!]! += 1 / (unit.length - 1);
      }
    }
  }
  const totals = distinct.map((_, c) => {
    let sum = 0;
    for (let k = 0; k < size; k += 1) sum += coincidence[c * size + k]!;
    return sum;
  });
  const all = totals.reduce((sum, value) => sum + value, 0);
  let observed = 0;
  let expected = 0;
  for (let c = 0; c < size; c += 1) {
    let between = 0;
    for (let k = c + 1; k < size; k += 1) {
      // Ordinal distance: how many values lie between, the two ends counted half.
      const ordinal = totals[c]! / 2 + between + totals[k]! / 2;
      const distance =
        level === 'nominal' ? 1 : level === 'interval' ? (distinct[k]! - distinct[c]!) ** 2 : ordinal ** 2;
      observed += coincidence[c * size + k]! * distance;
      expected += totals[c]! * totals[k]! * distance;
      between += totals[k]!;
    }
  }
  return expected > 0 ? 1 - ((all - 1) * observed) / expected : null;
}
