import jstat from 'jstat';

const reachOf90 = jstat.jStat.normal.inv(0.95, 0, 1);

/** The 90 % interval of a normal estimate. */
export function interval(center: number, standardError: number): { low: number; high: number } {
  return { low: center - reachOf90 * standardError, high: center + reachOf90 * standardError };
}
