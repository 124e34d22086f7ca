import jstat from 'jstat';

/** Counts of `weights` trials with the logit of their chance, or counts with the log of their mean. */
export type FamilyName = 'binomial' | 'poisson';

/** What rows say at given linear predictors η, one value a row. */
export interface RowTerms {
  mean: Float64Array;
  /** ∂ℓ/∂η, weight × (y − mean). */
  score: Float64Array;
  /** −∂²ℓ/∂η², weight × the family's variance at the mean. */
  information: Float64Array;
  /** ∂(information)/∂η. */
  informationSlope: Float64Array;
  /** −2 × log-likelihood, without the terms that no η changes. */
  deviance: number;
}

export function emptyTerms(rows: number): RowTerms {
  return {
    mean: new Float64Array(rows),
    score: new Float64Array(rows),
    information: new Float64Array(rows),
    informationSlope: new Float64Array(rows),
    deviance: 0,
  };
}

/** Beyond this a chance or mean is as good as 0 (or 1) in double precision, and its information would vanish. */
const furthest = 30;

/** Fills `terms` for a family with its canonical link (McCullagh and Nelder 1989, *Generalized Linear Models*, 2.2). */
export function evaluateRows(
  family: FamilyName,
  response: Float64Array,
  weights: Float64Array,
  predictor: Float64Array,
  terms: RowTerms,
): void {
  terms.deviance =
    family === 'binomial'
      ? binomialRows(response, weights, predictor, terms)
      : poissonRows(response, weights, predictor, terms);
}

function binomialRows(
  y: Float64Array,
  weights: Float64Array,
  predictor: Float64Array,
  out: RowTerms,
): number {
  let deviance = 0;
  for (let row = 0; row < y.length; row += 1) {
    const eta = Math.max(-furthest, Math.min(furthest, predictor[row]!));
    const small = Math.exp(-Math.abs(eta));
    const mean = eta >= 0 ? 1 / (1 + small) : small / (1 + small);
    const weight = weights[row]!;
    const spread = (weight * small) / ((1 + small) * (1 + small));
    out.mean[row] = mean;
    out.score[row] = weight * (y[row]! - mean);
    out.information[row] = spread;
    out.informationSlope[row] = spread * (1 - 2 * mean);
    deviance -= 2 * weight * (y[row]! * eta - Math.max(eta, 0) - Math.log1p(small));
  }
  return deviance;
}

function poissonRows(y: Float64Array, weights: Float64Array, predictor: Float64Array, out: RowTerms): number {
  let deviance = 0;
  for (let row = 0; row < y.length; row += 1) {
    const eta = Math.max(-furthest, Math.min(furthest, predictor[row]!));
    const mean = Math.exp(eta);
    const weight = weights[row]!;
    out.mean[row] = mean;
    out.score[row] = weight * (y[row]! - mean);
    out.information[row] = weight * mean;
    out.informationSlope[row] = weight * mean;
    deviance -= 2 * weight * (y[row]! * eta - mean);
  }
  return deviance;
}

/** −2 × the part of the log-likelihood that no η changes; counts that are not whole go through the gamma function. */
export function constantDeviance(family: FamilyName, response: Float64Array, weights: Float64Array): number {
  const { gammaln } = jstat.jStat;
  let deviance = 0;
  for (let row = 0; row < response.length; row += 1) {
    const y = response[row]!;
    const weight = weights[row]!;
    // One way only to come out so.
    if (y === 0 || y === 1) continue;
    deviance -=
      family === 'binomial'
        ? 2 * (gammaln(weight + 1) - gammaln(weight * y + 1) - gammaln(weight * (1 - y) + 1))
        : -2 * weight * gammaln(y + 1);
  }
  return deviance;
}

/** Where the search for the modes starts: the link of the row's own value, drawn a little inward. */
export function firstPredictor(family: FamilyName, y: number, weight: number): number {
  if (family === 'poisson') return Math.log(y + 0.1);
  const mean = (weight * y + 0.5) / (weight + 1);
  return Math.log(mean / (1 - mean));
}
