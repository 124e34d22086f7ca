import { groupBy } from '../../grading/group-by.ts';

/** The groups of `groupBy` without their keys: rows of like key together, in the order they came. */
export function gathered<T>(rows: readonly T[], keyOf: (row: T) => string): T[][] {
  return [...groupBy(rows, keyOf).values()];
}
