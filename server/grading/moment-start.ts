import type { NormalEquations } from './normal-equations.ts';

/**
 * Where to start: variances that make the sums of squares of each factor's level means equal to what is
 * expected of them (Henderson 1953, "Estimation of variance and covariance components", Biometrics 9(2),
 * method 1), as ratios to the residual's. Negative ones come out as 0.
 */
export function momentRatios(equations: NormalEquations): Float64Array {
  const { factors, rows, yy, first, firstWeight, firstY, restFactor, restWeight, restY } = equations;
  const { meets, meetWeight, crossStart, crossRow, crossWeight } = equations;
  const levels = new Float64Array(factors);
  const squares = new Float64Array(factors);
  const total = new Float64Array(factors);
  const spread = new Float64Array(factors);
  const shared = new Float64Array(factors * factors);
  const add = (k: number, weight: number, y: number) => {
    levels[k]! += 1;
    total[k]! += weight;
    spread[k]! += weight * weight;
    squares[k]! += (y * y) / weight;
  };
  for (let l = 0; l < firstWeight.length; l += 1) add(first, firstWeight[l]!, firstY[l]!);
  for (let c = 0; c < restWeight.length; c += 1) add(restFactor[c]!, restWeight[c]!, restY[c]!);
  for (let l = 0; l < firstWeight.length; l += 1) {
    for (let e = meets.start[l]!; e < meets.start[l + 1]!; e += 1) {
      const c = meets.members[e]!;
      const square = meetWeight[e]! * meetWeight[e]!;
      shared[first * factors + restFactor[c]!]! += square / firstWeight[l]!;
      shared[restFactor[c]! * factors + first]! += square / restWeight[c]!;
    }
  }
  for (let c = 0; c < restWeight.length; c += 1) {
    for (let e = crossStart[c]!; e < crossStart[c + 1]!; e += 1) {
      const row = crossRow[e]!;
      const square = crossWeight[e]! * crossWeight[e]!;
      shared[restFactor[c]! * factors + restFactor[row]!]! += square / restWeight[c]!;
      shared[restFactor[row]! * factors + restFactor[c]!]! += square / restWeight[row]!;
    }
  }

  // Row by row: expectation of the factor's (last: the total) sum of squares in σ_1², ..., σ².
  const size = factors + 1;
  const system: number[][] = [];
  for (let k = 0; k < size; k += 1) {
    const row: number[] = [];
    for (let j = 0; j < factors; j += 1) {
      const own = k === factors || k === j ? total[j]! : shared[k * factors + j]!;
      row.push(own - spread[j]! / total[j]!);
    }
    row.push((k === factors ? rows : levels[k]!) - 1, k === factors ? yy : squares[k]!);
    system.push(row);
  }
  const variances = eliminate(system);
  const residual = variances[factors]! > 0 ? variances[factors]! : yy / rows;
  return Float64Array.from({ length: factors }, (_, k) => {
    const ratio = variances[k]! / residual;
    return Number.isFinite(ratio) && ratio > 0 ? ratio : 0.05 * (levels[k]! / Math.max(1, total[k]!));
  });
}

/** Solves a small linear system given with its right side as last column; pivots that vanish give 0. */
function eliminate(system: number[][]): number[] {
  const size = system.length;
  for (let c = 0; c < size; c += 1) {
    let best = c;
    for (let r = c + 1; r < size; r += 1)
      if (Math.abs(system[r]![c]!) > Math.abs(system[best]![c]!)) best = r;
    [system[c], system[best]] = [system[best]!, system[c]!];
    const pivot = system[c]![c]!;
    if (Math.abs(pivot) < 1e-12) continue;
    for (let r = 0; r < size; r += 1) {
      if (r === c) continue;
      const times = system[r]![c]! / pivot;
      for (let j = c; j <= size; j += 1) system[r]![j]! -= times * system[c]![j]!;
    }
  }
  return system.map((row, c) => (Math.abs(row[c]!) < 1e-12 ? 0 : row[size]! / row[c]!));
}
