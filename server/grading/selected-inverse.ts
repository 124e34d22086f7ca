import type { CholeskyLayout } from './sparse-cholesky.ts';

const mirrorSquare = 24;

/**
 * Those entries of the inverse of L Lᵀ that lie in the layout of L (its diagonal among them), without the
 * rest of the inverse: Takahashi, Fagan and Chen (1973), "Formation of a sparse bus impedance matrix and
 * its application to short circuit study", by panels from the last to the first. With J a panel's columns,
 * R its rows below and Y = L_RJ L_JJ⁻¹: Z_RJ = −Z_RR Y and Z_JJ = (L_JJ L_JJᵀ)⁻¹ − Yᵀ Z_RJ.
 *
 * @returns the lower triangle, in the same layout (what lies above the diagonal in a panel is not set).
 */
export function selectedInverse(layout: CholeskyLayout, factor: Float64Array): Float64Array {
  const { panels, columnStart, rowStart, valueStart } = layout;
  const inverse = new Float64Array(factor.length);
  let tallest = 0;
  let widest = 0;
  for (let p = 0; p < panels; p += 1) {
    const width = columnStart[p + 1]! - columnStart[p]!;
    widest = Math.max(widest, width);
    tallest = Math.max(tallest, rowStart[p + 1]! - rowStart[p]! - width);
  }
  const around = new Float64Array(tallest * tallest);
  const yColumns = new Float64Array(widest * tallest);
  const corner = new Float64Array(widest * widest);

  for (let p = panels - 1; p >= 0; p -= 1) {
    const width = columnStart[p + 1]! - columnStart[p]!;
    const below = rowStart[p + 1]! - rowStart[p]! - width;
    const base = valueStart[p]!;
    const belowBase = base + width * width;
    divideByTop(factor, base, width, below, yColumns);
    gather(layout, inverse, p, below, around);
    multiplyNegated(around, yColumns, below, width, inverse, belowBase);
    invertTop(factor, base, width, corner);
    for (let k = 0; k < below; k += 1) {
      const row = belowBase + k * width;
      for (let i = 0; i < width; i += 1) {
        const y = yColumns[i * below + k]!;
        for (let j = 0; j <= i; j += 1) corner[i * width + j]! -= y * inverse[row + j]!;
      }
    }
    for (let i = 0; i < width; i += 1) {
      for (let j = 0; j <= i; j += 1) inverse[base + i * width + j] = corner[i * width + j]!;
    }
  }
  return inverse;
}

/** Y = L_RJ L_JJ⁻¹, stored by columns. */
function divideByTop(
  factor: Float64Array,
  base: number,
  width: number,
  below: number,
  yColumns: Float64Array,
): void {
  const y = new Float64Array(width);
  for (let i = 0; i < below; i += 1) {
    const row = base + (width + i) * width;
    for (let c = 0; c < width; c += 1) y[c] = factor[row + c]!;
    for (let c = width - 1; c >= 0; c -= 1) {
      const top = base + c * width;
      const value = y[c]! / factor[top + c]!;
      yColumns[c * below + i] = value;
      for (let k = 0; k < c; k += 1) y[k]! -= value * factor[top + k]!;
    }
  }
}

/** The inverse's entries between the rows below a panel, all known already, as a full square. */
function gather(
  layout: CholeskyLayout,
  inverse: Float64Array,
  panel: number,
  below: number,
  around: Float64Array,
): void {
  const { columnStart, rowStart, rows, valueStart, panelOf } = layout;
  const first = rowStart[panel + 1]! - below;
  const localAt = new Int32Array(below);
  for (let a = 0; a < below; ) {
    const owner = panelOf[rows[first + a]!]!;
    const start = columnStart[owner]!;
    const end = columnStart[owner + 1]!;
    const width = end - start;
    let local = rowStart[owner]!;
    for (let b = a; b < below; b += 1) {
      const row = rows[first + b]!;
      while (rows[local]! < row) local += 1;
      localAt[b] = valueStart[owner]! + (local - rowStart[owner]!) * width - start;
    }
    const from = a;
    while (a < below && rows[first + a]! < end) a += 1;
    for (let b = from; b < below; b += 1) {
      const last = Math.min(a, b + 1);
      for (let c = from; c < last; c += 1) around[b * below + c] = inverse[localAt[b]! + rows[first + c]!]!;
    }
  }
  // Mirrored in squares that fit the first-level cache.
  for (let top = 0; top < below; top += mirrorSquare) {
    for (let left = 0; left <= top; left += mirrorSquare) {
      const bottom = Math.min(below, top + mirrorSquare);
      for (let b = top; b < bottom; b += 1) {
        const right = Math.min(b, left + mirrorSquare);
        for (let c = left; c < right; c += 1) around[c * below + b] = around[b * below + c]!;
      }
    }
  }
}

/** Z_RJ = −Z_RR Y; three by three entries at a time. */
function multiplyNegated(
  around: Float64Array,
  yColumns: Float64Array,
  below: number,
  width: number,
  out: Float64Array,
  outBase: number,
): void {
  let i = 0;
  for (; i + 2 < below; i += 3) {
    const a0 = i * below;
    const o = outBase + i * width;
    let j = 0;
    for (; j + 2 < width; j += 3) {
      let a = a0;
      let b = j * below;
      let s00 = 0;
      let s01 = 0;
      let s02 = 0;
      let s10 = 0;
      let s11 = 0;
      let s12 = 0;
      let s20 = 0;
      let s21 = 0;
      let s22 = 0;
      for (const stop = a + below; a < stop; a += 1, b += 1) {
        const x0 = around[a]!;
        const x1 = around[a + below]!;
        const x2 = around[a + 2 * below]!;
        const y0 = yColumns[b]!;
        s00 += x0 * y0;
        s10 += x1 * y0;
        s20 += x2 * y0;
        const y1 = yColumns[b + below]!;
        s01 += x0 * y1;
        s11 += x1 * y1;
        s21 += x2 * y1;
        const y2 = yColumns[b + 2 * below]!;
        s02 += x0 * y2;
        s12 += x1 * y2;
        s22 += x2 * y2;
      }
      out[o + j] = -s00;
      out[o + j + 1] = -s01;
      out[o + j + 2] = -s02;
      out[o + width + j] = -s10;
      out[o + width + j + 1] = -s11;
      out[o + width + j + 2] = -s12;
      out[o + 2 * width + j] = -s20;
      out[o + 2 * width + j + 1] = -s21;
      out[o + 2 * width + j + 2] = -s22;
    }
    for (; j < width; j += 1) {
      let s0 = 0;
      let s1 = 0;
      let s2 = 0;
      for (let k = 0; k < below; k += 1) {
        const y = yColumns[j * below + k]!;
        s0 += around[a0 + k]! * y;
        s1 += around[a0 + below + k]! * y;
        s2 += around[a0 + 2 * below + k]! * y;
      }
      out[o + j] = -s0;
      out[o + width + j] = -s1;
      out[o + 2 * width + j] = -s2;
    }
  }
  for (; i < below; i += 1) {
    for (let j = 0; j < width; j += 1) {
      let s = 0;
      for (let k = 0; k < below; k += 1) s += around[i * below + k]! * yColumns[j * below + k]!;
      out[outBase + i * width + j] = -s;
    }
  }
}

/** (L_JJ L_JJᵀ)⁻¹, lower triangle, by way of L_JJ⁻¹. */
function invertTop(factor: Float64Array, base: number, width: number, corner: Float64Array): void {
  for (let j = 0; j < width; j += 1) {
    corner[j * width + j] = 1 / factor[base + j * width + j]!;
    for (let i = j + 1; i < width; i += 1) {
      let s = 0;
      for (let k = j; k < i; k += 1) s -= factor[base + i * width + k]! * corner[k * width + j]!;
      corner[i * width + j] = s / factor[base + i * width + i]!;
    }
  }
  for (let i = 0; i < width; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let s = 0;
      for (let k = i; k < width; k += 1) s += corner[k * width + i]! * corner[k * width + j]!;
      corner[i * width + j] = s;
    }
  }
}
