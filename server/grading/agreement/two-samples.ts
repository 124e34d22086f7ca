import jstat from 'jstat';

/** What two observers of the same plays found, each without knowing of the other. */
export interface TwoSamples {
  readonly both: number;
  readonly onlyFirst: number;
  readonly onlySecond: number;
}

/** How many there are in all, found or not. */
export interface Population {
  /** Found by either. */
  readonly found: number;
  /** Chapman's estimate of all. */
  readonly estimate: number;
  /** The square root of Seber's variance. */
  readonly standardError: number;
  /** Never below `found`. */
  readonly low: number;
  /** null: nothing was found by both, so nothing says how many there may be. */
  readonly high: number | null;
  readonly coverage: number;
}

/**
 * Chapman's estimate of a population from two samples: Chapman (1951), "Some properties of the hypergeometric
 * distribution with applications to zoological sample censuses", University of California Publications in Statistics
 * 1; its variance: Seber (1970), "The effects of trap response on tag recapture estimates", Biometrics 26 (both in
 * Seber 1982, *The Estimation of Animal Abundance*, 2nd ed., p. 60).
 */
export function chapman(samples: TwoSamples): { estimate: number; variance: number } {
  check(samples);
  const { both, onlyFirst, onlySecond } = samples;
  const first = both + onlyFirst;
  const second = both + onlySecond;
  return {
    estimate: ((first + 1) * (second + 1)) / (both + 1) - 1,
    variance: ((first + 1) * (second + 1) * onlyFirst * onlySecond) / ((both + 1) ** 2 * (both + 2)),
  };
}

/**
 * How many there are over several pairs of observers, each a stratum of its own: two pairs of different keenness
 * laid into one table would be taken for something that they are not. Estimates and variances add up.
 *
 * The two samples are taken to be independent within a stratum. What is hard to see is missed by both, so in truth
 * there are rather more: the estimate is a lower bound.
 *
 * Both intervals speak of what neither found, so that they cannot fall below what was found, as estimate ± error can.
 * Of one pair: `scoreInterval`. Of several, whose unfound nobody can share out among them: `logarithmicInterval`.
 */
export function populationOf(strata: readonly TwoSamples[], coverage = 0.95): Population {
  const parts = strata.map(chapman);
  const found = sum(strata, foundIn);
  const estimate = sum(parts, (part) => part.estimate);
  const variance = sum(parts, (part) => part.variance);
  const told = strata.filter((one) => foundIn(one) > 0);
  const z = jstat.jStat.normal.inv((1 + coverage) / 2, 0, 1);
  const [low, high] =
    told.length === 0
      ? [0, 0]
      : sum(told, ({ both }) => both) === 0
        ? [0, null]
        : told.length === 1
          ? scoreInterval(told[0]!, z)
          : logarithmicInterval(told, estimate - found, z);
  return {
    found,
    estimate,
    standardError: Math.sqrt(variance),
    low: Math.min(estimate, found + low),
    high: high === null ? null : Math.max(estimate, found + high),
    coverage,
  };
}

/**
 * Least and most of what neither of two found, by inverting a score test as Wilson's interval does for a share. Given
 * how many each found, the number found by both is hypergeometric (Chapman 1951). A number in all is within the
 * interval when it lets expect what was found by both, to z standard deviations and half a case for continuity. It
 * holds with few cases, where estimate ± error does not.
 */
function scoreInterval(samples: TwoSamples, z: number): readonly [low: number, high: number] {
  const { both } = samples;
  const first = both + samples.onlyFirst;
  const second = both + samples.onlySecond;
  const found = foundIn(samples);
  /** By how much, beyond what chance gives, more (or fewer) were found by both than so many unfound let expect. */
  const surplus = (unfound: number, sign: 1 | -1): number => {
    const all = found + unfound;
    const variance =
      all > 1 ? (first * second * (all - first) * (all - second)) / (all * all * (all - 1)) : 0;
    return sign * (both - (first * second) / all) - 0.5 - z * Math.sqrt(variance);
  };
  const tooFew = (unfound: number) => surplus(unfound, -1) > 0;
  return [
    tooFew(0) ? boundary(tooFew) : 0,
    // Expectation and variance both go to 0 as the population grows, so there always is a bound.
    boundary((unfound) => surplus(unfound, 1) <= 0),
  ];
}

/**
 * Least and most of what neither found over several pairs: the logarithmic interval around Chapman's estimate of it
 * (Chao 1987, "Estimating the population size for capture-recapture data with unequal catchability", Biometrics 43),
 * with Seber's variance. Half a case is added to what only one found, and to the whole, so that a pair of which one
 * found nothing of their own does not pass for certainty.
 */
function logarithmicInterval(
  strata: readonly TwoSamples[],
  unfound: number,
  z: number,
): readonly [low: number, high: number] {
  const variance = sum(
    strata,
    ({ both, onlyFirst, onlySecond }) =>
      ((both + onlyFirst + 1) * (both + onlySecond + 1) * (onlyFirst + 0.5) * (onlySecond + 0.5)) /
      ((both + 1) ** 2 * (both + 2)),
  );
  const centre = unfound + 0.5;
  const factor = Math.exp(z * Math.sqrt(Math.log1p((variance + 0.25) / centre ** 2)));
  return [Math.max(0, centre / factor - 0.5), centre * factor - 0.5];
}

/** The largest number from 0 for which `within` holds, which it does up to there and never again; 0 if nowhere. */
function boundary(within: (value: number) => boolean): number {
  let beyond = 1;
  while (within(beyond)) beyond *= 2;
  let low = 0;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + beyond) / 2;
    if (within(middle)) low = middle;
    else beyond = middle;
  }
  return low;
}

const foundIn = ({ both, onlyFirst, onlySecond }: TwoSamples) => both + onlyFirst + onlySecond;

const sum = <T>(rows: readonly T[], of: (row: T) => number) => rows.reduce((all, row) => all + of(row), 0);

function check({ both, onlyFirst, onlySecond }: TwoSamples): void {
  for (const [name, count] of Object.entries({ both, onlyFirst, onlySecond })) {
    if (!Number.isInteger(count) || count < 0)
      throw new RangeError(`${name} is ${count}; it must be a count`);
  }
}
