import { expect, it } from 'vitest';
import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { demoCounts } from '../bench/demo-counts.ts';

// The demo's generator plants repeat misses and keeps them in its truth. Not all can be found: two are mended after
// week 6, and some officials had few chances in released reports. What could be found must be.
it('finds the repeat misses planted in the demo season, and little else', () => {
  const { rows, truth, weights } = demoCounts();
  const { patterns } = findPatterns(rows, { weights });
  // Planted on the official, on the official late in halves only, or on the whole crew they worked in.
  const isPlanted = ({ official, duty }: (typeof patterns)[number]) =>
    [...truth.planted, ...truth.plantedInSituation].some(
      (miss) => miss.email === official && miss.dutyKey === duty,
    ) ||
    truth.plantedInCrew.some(
      (slip) =>
        slip.dutyKey === duty && rows.some((row) => row.official === official && row.crew === slip.crew),
    );
  const found = truth.planted.filter((miss) =>
    patterns.some((pattern) => pattern.official === miss.email && pattern.duty === miss.dutyKey),
  );
  const allSeason = truth.planted.filter((miss) => miss.untilWeek === null);
  console.log(`planted misses found: ${found.length} of ${truth.planted.length}`);
  expect(found.length).toBeGreaterThanOrEqual(Math.ceil(0.6 * allSeason.length));
  // Officials of the demo differ in skill, so a pattern nobody planted is not false; yet the planted stand out.
  const others = new Set(patterns.filter((p) => !isPlanted(p)).map((p) => `${p.official} ${p.duty}`));
  expect(others.size).toBeLessThanOrEqual(2);
  expect(isPlanted(patterns[0]!)).toBe(true);
});
