import type { CountRow } from '../counts.ts';

/** How strictly observers (or pairs of them) mark, all duties and positions of a season together. */
export interface Severity {
  /** Log of their misses over those that the usual rates would give, drawn toward 0 where they saw little. */
  factors: Readonly<Record<string, number>>;
  /** Variance, on the log scale, of what is left in one duty and position: severity there, and who was seen. */
  variance: number;
}

/** Values of `variance` that are told apart. */
const variances = [0.02, 0.05, 0.1, 0.2, 0.4, 0.8];
/** Points of a standard normal distribution, evenly spaced, with their masses. */
const points = Array.from({ length: 11 }, (_, i) => (i - 5) * 0.7);
const density = points.map((z) => Math.exp((-z * z) / 2));
const whole = density.reduce((a, b) => a + b, 0);
const pointMasses = density.map((mass) => mass / whole);

interface Cell {
  observer: string;
  misses: number;
  usual: number;
}

/** Misses of each duty, position and observer beside what the pooled rate of duty and position gives. */
function cellsOf(rows: readonly CountRow[]): Cell[] {
  const groups = new Map<string, CountRow[]>();
  for (const row of rows) {
    const key = `${row.duty}\n${row.position}`;
    const group = groups.get(key);
    if (group) group.push(row);
    else groups.set(key, [row]);
  }
  const cells: Cell[] = [];
  for (const group of groups.values()) {
    let misses = 0;
    let opportunities = 0;
    for (const row of group) {
      misses += row.misses;
      opportunities += row.opportunities;
    }
    if (misses === 0) continue;
    const byObserver = new Map<string, Cell>();
    for (const row of group) {
      let cell = byObserver.get(row.observer);
      if (!cell) {
        cell = { observer: row.observer, misses: 0, usual: 0 };
        byObserver.set(row.observer, cell);
        cells.push(cell);
      }
      cell.misses += row.misses;
      cell.usual += (row.opportunities * misses) / opportunities;
    }
  }
  return cells;
}

/** Log-likelihood of Poisson counts whose means vary by a factor with the variance given, on the log scale. */
function likelihoodOf(cells: readonly Cell[], factors: Readonly<Record<string, number>>, variance: number) {
  const deviation = Math.sqrt(variance);
  const steps = points.map((z) => Math.exp(deviation * z - variance / 2));
  let sum = 0;
  for (const { observer, misses, usual } of cells) {
    const mean = usual * Math.exp(factors[observer]!);
    let likelihood = 0;
    for (const [i, step] of steps.entries()) {
      likelihood += pointMasses[i]! * Math.exp(mean - mean * step) * step ** misses;
    }
    sum += Math.log(Math.max(likelihood, Number.MIN_VALUE));
  }
  return sum;
}

/** @param rows a season's counts of whole duties */
export function severityOf(rows: readonly CountRow[]): Severity {
  const cells = cellsOf(rows);
  const seen = new Map<string, { misses: number; usual: number }>();
  for (const { observer, misses, usual } of cells) {
    const sum = seen.get(observer) ?? { misses: 0, usual: 0 };
    sum.misses += misses;
    sum.usual += usual;
    seen.set(observer, sum);
  }
  // Variance of the factors by moments, beyond what counting gives: a count of mean m and factor f has m + m² var(f).
  let excess = 0;
  let squares = 0;
  for (const { misses, usual } of seen.values()) {
    excess += (misses - usual) ** 2 - usual;
    squares += usual ** 2;
  }
  const spread = squares > 0 ? Math.max(0, excess / squares) : 0;
  const factors = Object.fromEntries(
    [...seen].map(([observer, { misses, usual }]) => [
      observer,
      spread > 0 ? Math.log((misses + 1 / spread) / (usual + 1 / spread)) : 0,
    ]),
  );
  let best = variances[0]!;
  let most = Number.NEGATIVE_INFINITY;
  for (const variance of variances) {
    const likelihood = likelihoodOf(cells, factors, variance);
    if (likelihood > most) {
      most = likelihood;
      best = variance;
    }
  }
  return { factors, variance: best };
}
