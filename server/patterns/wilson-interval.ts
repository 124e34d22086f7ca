import jstat from 'jstat';

export interface Interval {
  low: number;
  high: number;
}

/**
 * Wilson's score interval for a proportion (Wilson 1927; recommended by Newcombe 1998, Statistics in
 * Medicine 17, 857-872, method 3). Agrees with R `prop.test(correct = FALSE)`.
 *
 * @param confidence two-sided, 0.95 by default
 * @returns bounds within 0 to 1; 0 to 1 when there were no opportunities
 */
export function wilsonInterval(events: number, opportunities: number, confidence = 0.95): Interval {
  if (!(opportunities > 0)) return { low: 0, high: 1 };
  const z = jstat.jStat.normal.inv((1 + confidence) / 2, 0, 1);
  const rate = events / opportunities;
  const shrink = 1 + (z * z) / opportunities;
  const centre = (rate + (z * z) / (2 * opportunities)) / shrink;
  const half = ((z / shrink) * Math.sqrt(rate * (1 - rate) * opportunities + (z * z) / 4)) / opportunities;
  return {
    low: events === 0 ? 0 : Math.max(0, centre - half),
    high: events === opportunities ? 1 : Math.min(1, centre + half),
  };
}
