import { sampleCorrelation } from 'simple-statistics';

/**
 * Spearman's rank correlation; who is equal shares the mean of their ranks. Null where the first are all equal, and
 * undefined where the second are.
 */
export function rankCorrelation(
  values: readonly number[],
  truths: readonly number[],
): number | null | undefined {
  if (new Set(truths).size < 2) return undefined;
  if (new Set(values).size < 2) return null;
  return sampleCorrelation(midRanks(values), midRanks(truths));
}

const midRanks = (values: readonly number[]): number[] =>
  values.map(
    (value) =>
      values.filter((other) => other < value).length + values.filter((other) => other === value).length / 2,
  );
