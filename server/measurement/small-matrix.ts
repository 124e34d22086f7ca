/** Solves a full symmetric positive definite system by Cholesky. @throws RangeError where it is not positive definite */
export function solve(matrix: readonly Float64Array[], right: Float64Array): Float64Array {
  return back(factor(matrix), right);
}

/** The inverse of a full symmetric positive definite matrix, row by row. */
export function inverse(matrix: readonly Float64Array[]): Float64Array[] {
  const lower = factor(matrix);
  return matrix.map((_, at) =>
    back(
      lower,
      Float64Array.from(matrix, (__, row) => Number(row === at)),
    ),
  );
}

function factor(matrix: readonly Float64Array[]): Float64Array[] {
  const lower = matrix.map((row) => new Float64Array(row.length));
  for (let row = 0; row < matrix.length; row += 1)
    for (let column = 0; column <= row; column += 1) {
      let rest = matrix[row]![column]!;
      for (let at = 0; at < column; at += 1) rest -= lower[row]![at]! * lower[column]![at]!;
      if (row === column) {
        if (!(rest > 0)) throw new RangeError('the matrix is not positive definite');
        lower[row]![row] = Math.sqrt(rest);
      } else lower[row]![column] = rest / lower[column]![column]!;
    }
  return lower;
}

function back(lower: readonly Float64Array[], right: Float64Array): Float64Array {
  const found = right.slice();
  const items = found.length;
  for (let row = 0; row < items; row += 1) {
    for (let at = 0; at < row; at += 1) found[row]! -= lower[row]![at]! * found[at]!;
    found[row]! /= lower[row]![row]!;
  }
  for (let row = items - 1; row >= 0; row -= 1) {
    for (let at = row + 1; at < items; at += 1) found[row]! -= lower[at]![row]! * found[at]!;
    found[row]! /= lower[row]![row]!;
  }
  return found;
}
