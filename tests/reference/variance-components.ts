/**
 * Published data that the mixed model is held against; transcribed as they stand in R package lme4 1.1-31.
 */

/** Davies and Goldsmith (1972), Statistical Methods in Research and Production: yield of dyestuff, g. */
export const dyestuff: Record<string, number[]> = {
  A: [1545, 1440, 1440, 1520, 1580],
  B: [1540, 1555, 1490, 1560, 1495],
  C: [1595, 1550, 1605, 1510, 1560],
  D: [1445, 1440, 1595, 1465, 1545],
  E: [1595, 1630, 1515, 1635, 1625],
  F: [1520, 1455, 1450, 1480, 1445],
};

/** Box and Tiao (1973), Bayesian Inference in Statistical Analysis, table 5.1.4: no batch effect to be seen. */
export const dyestuff2: Record<string, number[]> = {
  A: [7.298, 3.846, 2.434, 9.566, 7.99],
  B: [5.22, 6.556, 0.608, 11.788, -0.892],
  C: [0.11, 10.386, 13.434, 5.51, 8.166],
  D: [2.212, 4.852, 7.092, 9.288, 4.98],
  E: [0.282, 9.014, 4.458, 9.446, 7.198],
  F: [1.722, 4.782, 8.106, 0.758, 3.758],
};

/** Davies and Goldsmith (1972): diameter, mm, for penicillin samples A to F on plates a to x. */
export const penicillin: Record<string, number[]> = {
  a: [27, 23, 26, 23, 23, 21],
  b: [27, 23, 26, 23, 23, 21],
  c: [25, 21, 25, 24, 24, 20],
  d: [26, 23, 25, 23, 23, 20],
  e: [25, 22, 26, 22, 23, 20],
  f: [24, 22, 25, 23, 22, 19],
  g: [24, 20, 23, 21, 22, 19],
  h: [26, 22, 26, 24, 24, 21],
  i: [24, 21, 24, 22, 22, 20],
  j: [24, 21, 24, 23, 22, 19],
  k: [26, 23, 26, 24, 24, 21],
  l: [25, 22, 26, 24, 24, 20],
  m: [26, 24, 26, 24, 25, 22],
  n: [26, 23, 26, 23, 23, 20],
  o: [26, 23, 25, 24, 24, 22],
  p: [25, 22, 25, 23, 23, 20],
  q: [25, 21, 24, 23, 23, 20],
  r: [25, 22, 24, 23, 23, 19],
  s: [24, 21, 23, 21, 21, 19],
  t: [26, 23, 26, 24, 24, 21],
  u: [25, 21, 24, 22, 22, 18],
  v: [25, 22, 25, 22, 22, 20],
  w: [24, 21, 24, 22, 24, 19],
  x: [24, 21, 24, 22, 21, 18],
};

/** Columns of a table of groups: the value of each row and the group it is in. */
export function longForm(table: Record<string, number[]>): {
  values: number[];
  group: string[];
  index: number[];
} {
  const rows = Object.entries(table).flatMap(([group, values]) =>
    values.map((value, index) => ({ value, group, index })),
  );
  return {
    values: rows.map((row) => row.value),
    group: rows.map((row) => row.group),
    index: rows.map((row) => row.index),
  };
}
