import { type Cliques, minimumDegree } from './minimum-degree.ts';

/**
 * Layout of the Cholesky factor of a sparse symmetric positive definite matrix, found once from which
 * entries can be other than 0 and used for any values there.
 *
 * Unknowns are renumbered (`rank`) and their columns grouped in *panels* of neighbours that share their
 * rows, each stored as a dense block, row by row: panel p has columns `columnStart[p]` up to
 * `columnStart[p + 1]`, its rows are `rows[rowStart[p]]`... (its own columns first, all ascending), and the
 * entry at local row i and local column j is `values[valueStart[p] + i × width + j]`.
 */
export interface CholeskyLayout {
  size: number;
  /** Unknown at each place of the elimination order. */
  order: Int32Array;
  /** Place of each unknown in the elimination order. */
  rank: Int32Array;
  panels: number;
  columnStart: Int32Array;
  rowStart: Int32Array;
  rows: Int32Array;
  valueStart: Int32Array;
  /** Panel that each column is in. */
  panelOf: Int32Array;
}

/** Widest panel: a panel of this width and a few hundred rows stays in a second-level cache. */
const widestPanel = 48;

/**
 * Plans the factorisation of a matrix whose entries off the diagonal all lie inside the given cliques.
 */
export function planCholesky(size: number, cliques: Cliques): CholeskyLayout {
  const { order: found, ties, denseFrom } = minimumDegree(size, cliques);
  const step = new Int32Array(size);
  for (let k = 0; k < size; k += 1) step[found[k]!] = k;

  // Elimination tree: a column's parent is the first of those it ties together.
  const parent = new Int32Array(size).fill(-1);
  const below = new Int32Array(size);
  for (let k = 0; k < size; k += 1) {
    const tied = ties[found[k]!];
    if (k >= denseFrom || !tied) {
      below[k] = size - k - 1;
      parent[k] = k + 1 < size ? k + 1 : -1;
      continue;
    }
    below[k] = tied.length;
    let first = size;
    for (const i of tied) if (step[i]! < first) first = step[i]!;
    parent[k] = first < size ? first : -1;
  }

  // Children before parents and next to them, so that a panel's columns are neighbours.
  const postorder = childrenFirst(parent);
  const order = new Int32Array(size);
  const rank = new Int32Array(size);
  const place = new Int32Array(size);
  for (let k = 0; k < size; k += 1) {
    place[postorder[k]!] = k;
    order[k] = found[postorder[k]!]!;
    rank[order[k]!] = k;
  }

  // Groups of columns with the same rows below; a group joins its parent when few zeros are stored for it.
  const groups: { start: number; end: number; rows: number; filled: number }[] = [];
  for (let k = 0; k < size; k += 1) {
    let group = { start: k, end: k + 1, rows: 1 + below[postorder[k]!]!, filled: 1 + below[postorder[k]!]! };
    for (let last = groups.at(-1); last; last = groups.at(-1)) {
      const up = parent[postorder[last.end - 1]!]!;
      if (up < 0 || place[up]! >= group.end) break;
      const width = group.end - last.start;
      const rows = group.rows + group.start - last.start;
      const stored = width * rows - (width * (width - 1)) / 2;
      const filled = last.filled + group.filled;
      if (stored - filled > (width <= 8 ? 0.4 : 0.12) * stored) break;
      group = { start: last.start, end: group.end, rows, filled };
      groups.pop();
    }
    groups.push(group);
  }

  const columnStart: number[] = [];
  const rowStart = [0];
  const rows: number[] = [];
  const valueStart = [0];
  const panelOf = new Int32Array(size);
  for (const group of groups) {
    const parts = Math.max(1, Math.ceil((group.end - group.start) / widestPanel));
    const last = order[group.end - 1]!;
    const outside =
      ties[last] && step[last]! < denseFrom
        ? Int32Array.from(ties[last], (i) => rank[i]!).sort()
        : Int32Array.from({ length: size - group.end }, (_, i) => group.end + i);
    for (let part = 0; part < parts; part += 1) {
      const start = group.start + Math.round((part * (group.end - group.start)) / parts);
      const end = group.start + Math.round(((part + 1) * (group.end - group.start)) / parts);
      panelOf.fill(columnStart.length, start, end);
      columnStart.push(start);
      for (let row = start; row < group.end; row += 1) rows.push(row);
      for (const row of outside) rows.push(row);
      valueStart.push(valueStart.at(-1)! + (end - start) * (rows.length - rowStart.at(-1)!));
      rowStart.push(rows.length);
    }
  }
  return {
    size,
    order,
    rank,
    panels: columnStart.length,
    columnStart: Int32Array.from([...columnStart, size]),
    rowStart: Int32Array.from(rowStart),
    rows: Int32Array.from(rows),
    valueStart: Int32Array.from(valueStart),
    panelOf,
  };
}

/** Postorder of a forest whose parents have higher numbers: among siblings, and among trees, lower first. */
function childrenFirst(parent: Int32Array): Int32Array {
  const size = parent.length;
  const firstChild = new Int32Array(size).fill(-1);
  const sibling = new Int32Array(size).fill(-1);
  const roots: number[] = [];
  for (let k = size - 1; k >= 0; k -= 1) {
    const up = parent[k]!;
    if (up < 0) roots.push(k);
    else {
      sibling[k] = firstChild[up]!;
      firstChild[up] = k;
    }
  }
  const result = new Int32Array(size);
  let count = 0;
  // So the dense end of the order, a chain under the last root, stays together and last.
  for (const root of roots.reverse()) {
    const stack = [root];
    while (stack.length > 0) {
      const node = stack.at(-1)!;
      const child = firstChild[node]!;
      if (child < 0) {
        result[count++] = node;
        stack.pop();
      } else {
        firstChild[node] = sibling[child]!;
        stack.push(child);
      }
    }
  }
  return result;
}

/**
 * Factors in place: on entry `values` holds the lower triangle of the matrix in the layout, on return its
 * Cholesky factor L (what lies above the diagonal inside a panel is not used).
 *
 * @returns the log determinant of the matrix, or null when it is not positive definite.
 */
export function factorize(layout: CholeskyLayout, values: Float64Array): number | null {
  const { panels, columnStart, rowStart, rows, valueStart, panelOf, size } = layout;
  // Panels that still have updates to give wait at the panel of their next row.
  const waiting = new Int32Array(panels).fill(-1);
  const nextWaiting = new Int32Array(panels).fill(-1);
  const nextRow = new Int32Array(panels);
  const localRow = new Int32Array(size);
  let logDeterminant = 0;

  for (let p = 0; p < panels; p += 1) {
    const start = columnStart[p]!;
    const end = columnStart[p + 1]!;
    const width = end - start;
    const firstRow = rowStart[p]!;
    const height = rowStart[p + 1]! - firstRow;
    const base = valueStart[p]!;
    for (let i = 0; i < height; i += 1) localRow[rows[firstRow + i]!] = base + i * width - start;

    for (let source = waiting[p]!; source >= 0; ) {
      const following = nextWaiting[source]!;
      const from = nextRow[source]!;
      const sourceEnd = rowStart[source + 1]!;
      let until = from;
      while (until < sourceEnd && rows[until]! < end) until += 1;
      const sourceWidth = columnStart[source + 1]! - columnStart[source]!;
      const sourceBase = valueStart[source]! - rowStart[source]! * sourceWidth;
      subtractProducts(values, rows, localRow, sourceBase, sourceWidth, from, until, sourceEnd);
      if (until < sourceEnd) {
        nextRow[source] = until;
        const target = panelOf[rows[until]!]!;
        nextWaiting[source] = waiting[target]!;
        waiting[target] = source;
      }
      source = following;
    }

    const log = factorPanel(values, base, width, height);
    if (log === null) return null;
    logDeterminant += log;
    if (height > width) {
      nextRow[p] = firstRow + width;
      const target = panelOf[rows[firstRow + width]!]!;
      nextWaiting[p] = waiting[target]!;
      waiting[target] = p;
    }
  }
  return logDeterminant;
}

/**
 * The inner loop of the factorisation: target(i, j) −= Σ_k source(i, k) × source(j, k) for source rows i in
 * [from, last) and j in [from, until), i ≥ j. Three by three entries at a time, so that each number read is
 * used three times.
 */
function subtractProducts(
  values: Float64Array,
  rows: Int32Array,
  localRow: Int32Array,
  sourceBase: number,
  width: number,
  from: number,
  until: number,
  last: number,
): void {
  let j = from;
  for (; j + 2 < until; j += 3) {
    const c0 = rows[j]!;
    const c1 = rows[j + 1]!;
    const c2 = rows[j + 2]!;
    const jBase = sourceBase + j * width;
    let i = j;
    for (; i + 2 < last; i += 3) {
      let a = sourceBase + i * width;
      let b = jBase;
      let s00 = 0;
      let s01 = 0;
      let s02 = 0;
      let s10 = 0;
      let s11 = 0;
      let s12 = 0;
      let s20 = 0;
      let s21 = 0;
      let s22 = 0;
      for (const stop = a + width; a < stop; a += 1, b += 1) {
        const a0 = values[a]!;
        const a1 = values[a + width]!;
        const a2 = values[a + 2 * width]!;
        const b0 = values[b]!;
        s00 += a0 * b0;
        s10 += a1 * b0;
        s20 += a2 * b0;
        const b1 = values[b + width]!;
        s01 += a0 * b1;
        s11 += a1 * b1;
        s21 += a2 * b1;
        const b2 = values[b + 2 * width]!;
        s02 += a0 * b2;
        s12 += a1 * b2;
        s22 += a2 * b2;
      }
      // Entries above the diagonal of the first tile land where nothing reads them.
      const r0 = localRow[rows[i]!]!;
      values[r0 + c0]! -= s00;
      values[r0 + c1]! -= s01;
      values[r0 + c2]! -= s02;
      const r1 = localRow[rows[i + 1]!]!;
      values[r1 + c0]! -= s10;
      values[r1 + c1]! -= s11;
      values[r1 + c2]! -= s12;
      const r2 = localRow[rows[i + 2]!]!;
      values[r2 + c0]! -= s20;
      values[r2 + c1]! -= s21;
      values[r2 + c2]! -= s22;
    }
    for (; i < last; i += 1) {
      const a = sourceBase + i * width;
      let s0 = 0;
      let s1 = 0;
      let s2 = 0;
      for (let k = 0; k < width; k += 1) {
        const a0 = values[a + k]!;
        s0 += a0 * values[jBase + k]!;
        s1 += a0 * values[jBase + width + k]!;
        s2 += a0 * values[jBase + 2 * width + k]!;
      }
      const r = localRow[rows[i]!]!;
      values[r + c0]! -= s0;
      values[r + c1]! -= s1;
      values[r + c2]! -= s2;
    }
  }
  for (; j < until; j += 1) {
    const c = rows[j]!;
    const b = sourceBase + j * width;
    for (let i = j; i < last; i += 1) {
      const a = sourceBase + i * width;
      let s = 0;
      for (let k = 0; k < width; k += 1) s += values[a + k]! * values[b + k]!;
      values[localRow[rows[i]!]! + c]! -= s;
    }
  }
}

/** Cholesky of a panel's square top, then its other rows by forward substitution, all in place. */
function factorPanel(values: Float64Array, base: number, width: number, height: number): number | null {
  let logDeterminant = 0;
  for (let j = 0; j < width; j += 1) {
    const row = base + j * width;
    let pivot = values[row + j]!;
    for (let k = 0; k < j; k += 1) pivot -= values[row + k]! * values[row + k]!;
    if (!(pivot > 0)) return null;
    logDeterminant += Math.log(pivot);
    const root = Math.sqrt(pivot);
    values[row + j] = root;
    const inverse = 1 / root;
    let i = j + 1;
    for (; i + 3 < height; i += 4) {
      const r0 = base + i * width;
      const r1 = r0 + width;
      const r2 = r1 + width;
      const r3 = r2 + width;
      let s0 = values[r0 + j]!;
      let s1 = values[r1 + j]!;
      let s2 = values[r2 + j]!;
      let s3 = values[r3 + j]!;
      for (let k = 0; k < j; k += 1) {
        const b = values[row + k]!;
        s0 -= values[r0 + k]! * b;
        s1 -= values[r1 + k]! * b;
        s2 -= values[r2 + k]! * b;
        s3 -= values[r3 + k]! * b;
      }
      values[r0 + j] = s0 * inverse;
      values[r1 + j] = s1 * inverse;
      values[r2 + j] = s2 * inverse;
      values[r3 + j] = s3 * inverse;
    }
    for (; i < height; i += 1) {
      const r = base + i * width;
      let s = values[r + j]!;
      for (let k = 0; k < j; k += 1) s -= values[r + k]! * values[row + k]!;
      values[r + j] = s * inverse;
    }
  }
  return logDeterminant;
}

/** Solves L Lᵀ x = b in place; `b` is in elimination order. */
export function solve(layout: CholeskyLayout, values: Float64Array, b: Float64Array): void {
  const { panels, columnStart, rowStart, rows, valueStart } = layout;
  solveForward(layout, values, b, 0, panels);
  for (let p = panels - 1; p >= 0; p -= 1) {
    const start = columnStart[p]!;
    const width = columnStart[p + 1]! - start;
    const firstRow = rowStart[p]!;
    const height = rowStart[p + 1]! - firstRow;
    const base = valueStart[p]!;
    for (let i = height - 1; i >= width; i -= 1) {
      const x = b[rows[firstRow + i]!]!;
      const at = base + i * width;
      for (let k = 0; k < width; k += 1) b[start + k]! -= values[at + k]! * x;
    }
    for (let i = width - 1; i >= 0; i -= 1) {
      const at = base + i * width;
      const x = b[start + i]! / values[at + i]!;
      b[start + i] = x;
      for (let k = 0; k < i; k += 1) b[start + k]! -= values[at + k]! * x;
    }
  }
}

/**
 * Solves L y = b in place for the panels from `from` up to `until`, outside of which b must be 0; `b` starts with
 * the first column of panel `from`.
 */
export function solveForward(
  layout: CholeskyLayout,
  values: Float64Array,
  b: Float64Array,
  from: number,
  until: number,
): void {
  const { columnStart, rowStart, rows, valueStart } = layout;
  const offset = columnStart[from]!;
  for (let p = from; p < until; p += 1) {
    const start = columnStart[p]! - offset;
    const width = columnStart[p + 1]! - columnStart[p]!;
    const firstRow = rowStart[p]!;
    const height = rowStart[p + 1]! - firstRow;
    let at = valueStart[p]!;
    let first = 0;
    while (first < width && b[start + first] === 0) first += 1;
    if (first === width) continue;
    for (let i = 0; i < width; i += 1, at += width) {
      let s = b[start + i]!;
      for (let k = 0; k < i; k += 1) s -= values[at + k]! * b[start + k]!;
      b[start + i] = s / values[at + i]!;
    }
    for (let i = width; i < height; i += 1, at += width) {
      let s = 0;
      for (let k = 0; k < width; k += 1) s += values[at + k]! * b[start + k]!;
      b[rows[firstRow + i]! - offset]! -= s;
    }
  }
}

/**
 * The panels that a right-hand side with entries at `columns` reaches: from that of the first column up to the
 * end of the elimination trees that hold them. Unknowns that nothing ties together are in trees of their own, each
 * of neighbouring panels, so a small component of a large system is a short stretch.
 */
export function reachedPanels(
  layout: CholeskyLayout,
  columns: Iterable<number>,
): { from: number; until: number } {
  const { panels, columnStart, rowStart, rows, panelOf } = layout;
  let from = panels;
  let until = 0;
  for (const column of columns) {
    let panel = panelOf[column]!;
    from = Math.min(from, panel);
    // From a panel to that of its first row below: its parent in the tree.
    for (;;) {
      const below = rowStart[panel]! + columnStart[panel + 1]! - columnStart[panel]!;
      if (below === rowStart[panel + 1]!) break;
      panel = panelOf[rows[below]!]!;
    }
    until = Math.max(until, panel + 1);
  }
  return { from: Math.min(from, until), until };
}
