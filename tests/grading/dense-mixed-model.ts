/**
 * The mixed model written out with full matrices, straight from the textbook and with no thought of speed:
 * what the sparse solution is held against.
 */
export interface DenseModel {
  response: number[];
  weights: number[];
  fixed: number[][];
  /** Level number of each row, by factor. */
  factors: number[][];
}

type Matrix = number[][];

export function invert(matrix: Matrix): { inverse: Matrix; logDeterminant: number } {
  const size = matrix.length;
  const work = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  let logDeterminant = 0;
  for (let c = 0; c < size; c += 1) {
    let best = c;
    for (let r = c; r < size; r += 1) if (Math.abs(work[r]![c]!) > Math.abs(work[best]![c]!)) best = r;
    [work[c], work[best]] = [work[best]!, work[c]!];
    const pivot = work[c]![c]!;
    logDeterminant += Math.log(Math.abs(pivot));
    work[c] = work[c]!.map((value) => value / pivot);
    for (let r = 0; r < size; r += 1) {
      if (r === c) continue;
      const times = work[r]![c]!;
      if (times !== 0) work[r] = work[r]!.map((value, j) => value - times * work[c]![j]!);
    }
  }
  return { inverse: work.map((row) => row.slice(size)), logDeterminant };
}

export const multiply = (a: Matrix, b: Matrix): Matrix =>
  a.map((row) => b[0]!.map((_, j) => row.reduce((sum, value, k) => sum + value * b[k]![j]!, 0)));
export const transpose = (a: Matrix): Matrix => a[0]!.map((_, j) => a.map((row) => row[j]!));

/** −2 × restricted log-likelihood at given variances (of the factors, then the residual). */
export function denseCriterion(model: DenseModel, variances: readonly number[]): number {
  const { response, weights, fixed, factors } = model;
  const n = response.length;
  const v = response.map((_, i) =>
    response.map((_, j) => {
      let value = i === j ? variances.at(-1)! / weights[i]! : 0;
      for (const [k, codes] of factors.entries()) if (codes[i] === codes[j]) value += variances[k]!;
      return value;
    }),
  );
  const { inverse, logDeterminant } = invert(v);
  const x = transpose(fixed);
  const y = response.map((value) => [value]);
  const xv = multiply(transpose(x), inverse);
  const information = invert(multiply(xv, x));
  const beta = multiply(information.inverse, multiply(xv, y));
  const left = y.map((row, i) => [row[0]! - multiply([x[i]!], beta)[0]![0]!]);
  const square = multiply(transpose(left), multiply(inverse, left))[0]![0]!;
  return (n - fixed.length) * Math.log(2 * Math.PI) + logDeterminant + information.logDeterminant + square;
}

/** Henderson's equations at given variances (all above 0): solution and the inverse, β first, then factors. */
export function denseEquations(model: DenseModel, variances: readonly number[], levels: readonly number[]) {
  const { response, weights, fixed, factors } = model;
  const residual = variances.at(-1)!;
  const design = response.map((_, i) => [
    ...fixed.map((column) => column[i]!),
    ...factors.flatMap((codes, k) => Array.from({ length: levels[k]! }, (_, l) => (codes[i] === l ? 1 : 0))),
  ]);
  const scaled = design.map((row, i) => row.map((value) => (value * weights[i]!) / residual));
  const left = multiply(transpose(scaled), design);
  let at = fixed.length;
  for (const [k, count] of levels.entries()) {
    for (let l = 0; l < count; l += 1, at += 1) left[at]![at]! += 1 / variances[k]!;
  }
  const right = multiply(
    transpose(scaled),
    response.map((value) => [value]),
  );
  const { inverse } = invert(left);
  return { solution: multiply(inverse, right).map((row) => row[0]!), inverse };
}
