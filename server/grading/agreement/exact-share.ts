import jstat from 'jstat';

/** Some of a number, as a share with its interval. */
export interface Share {
  readonly of: number;
  readonly some: number;
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/**
 * A share with the exact interval of Clopper and Pearson (1934), Biometrika 26(4): it holds the true share at least as
 * often as promised, however few there are. Agrees with R `binom.test`.
 *
 * @returns null of none
 */
export function exactShare(some: number, of: number, coverage = 0.95): Share | null {
  if (!(of > 0)) return null;
  const tail = (1 - coverage) / 2;
  const quantile = (p: number, a: number, b: number) => jstat.jStat.beta.inv(p, a, b);
  return {
    of,
    some,
    value: some / of,
    low: some === 0 ? 0 : quantile(tail, some, of - some + 1),
    high: some === of ? 1 : quantile(1 - tail, some + 1, of - some),
  };
}
