import { uniformInt } from 'pure-rand/distribution/uniformInt';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** An agreement coefficient with its interval, or why there is none. */
export type Agreement =
  | { value: number; low: number; high: number; coverage: number; method: string }
  | { value: null; reason: string };

/**
 * Percentile interval by resampling units with replacement (Efron 1979). Resamples on which the coefficient
 * is not defined are left out.
 *
 * @param coefficient takes the numbers of the units in a resample.
 */
export function bootstrapInterval(
  units: number,
  coefficient: (sample: Int32Array) => number | null,
  coverage: number,
  seed: number,
): { low: number; high: number; method: string } | null {
  const resamples = 2000;
  const source = xoroshiro128plus(seed);
  const sample = new Int32Array(units);
  const values: number[] = [];
  for (let r = 0; r < resamples; r += 1) {
    for (let u = 0; u < units; u += 1) sample[u] = uniformInt(source, 0, units - 1);
    const value = coefficient(sample);
    if (value !== null) values.push(value);
  }
  if (values.length < resamples / 2) return null;
  values.sort((a, b) => a - b);
  const tail = (1 - coverage) / 2;
  return {
    low: values[Math.floor(tail * values.length)]!,
    high: values[Math.min(values.length - 1, Math.ceil((1 - tail) * values.length) - 1)]!,
    method: `percentile bootstrap over units, ${resamples} resamples`,
  };
}
