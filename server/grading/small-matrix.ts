/** Inverse and log determinant of a small symmetric positive definite matrix; null when it is not. */
export function invertSmall(
  matrix: Float64Array,
  size: number,
): { inverse: Float64Array; logDeterminant: number } | null {
  const lower = new Float64Array(size * size);
  let logDeterminant = 0;
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let s = matrix[i * size + j]!;
      for (let k = 0; k < j; k += 1) s -= lower[i * size + k]! * lower[j * size + k]!;
      if (i > j) lower[i * size + j] = s / lower[j * size + j]!;
      else {
        if (!(s > 0)) return null;
        logDeterminant += Math.log(s);
        lower[i * size + i] = Math.sqrt(s);
      }
    }
  }
  const inverse = new Float64Array(size * size);
  for (let c = 0; c < size; c += 1) {
    const x = new Float64Array(size);
    for (let i = c; i < size; i += 1) {
      let s = i === c ? 1 : 0;
      for (let k = c; k < i; k += 1) s -= lower[i * size + k]! * x[k]!;
      x[i] = s / lower[i * size + i]!;
    }
    for (let i = size - 1; i >= 0; i -= 1) {
      let s = x[i]!;
      for (let k = i + 1; k < size; k += 1) s -= lower[k * size + i]! * x[k]!;
      x[i] = s / lower[i * size + i]!;
    }
    for (let i = 0; i < size; i += 1) inverse[i * size + c] = x[i]!;
  }
  return { inverse, logDeterminant };
}

/** A small square matrix, row after row, times a vector. */
export function multiplySmall(matrix: Float64Array, vector: Float64Array): Float64Array {
  const size = vector.length;
  return vector.map((_, a) => {
    let total = 0;
    for (let b = 0; b < size; b += 1) total += matrix[a * size + b]! * vector[b]!;
    return total;
  });
}
