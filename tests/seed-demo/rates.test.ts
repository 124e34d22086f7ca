// @module-tag long
import { beforeAll, describe, expect, it } from 'vitest';
import type { DemoSeason } from '../../seed-demo/season.ts';
import { demoSeason } from '../support/demo-season.ts';
import { rates, ratesOf } from './rates.ts';

let season: DemoSeason;
beforeAll(() => {
  season = demoSeason();
});

// The ranges are common practice, no source: a coordinator who pages through the demo should not stumble over it.
describe('what a game of the demo looks like', () => {
  it('lies within the range of each rate', () => {
    const found = ratesOf(season);
    for (const { rate, value } of found)
      console.log(`${rate.what}: ${value.toFixed(2)} (${rate.low} to ${rate.high})`);
    const outside = found.filter(({ rate, value }) => !(value >= rate.low && value <= rate.high));
    expect(outside.map(({ rate, value }) => `${rate.what}: ${value}`)).toEqual([]);
  });

  it('would fail for a generator that drifts: each range is narrower than the figure is large', () => {
    for (const { low, high, what } of rates) expect(low < high && Number.isFinite(high), what).toBe(true);
    const halved = new Map(
      [...season.plays].map(([game, log]) => [game, log.filter((_, at) => at % 2 === 0)]),
    );
    const outside = ratesOf({ ...season, plays: halved }).filter(
      ({ rate, value }) => !(value >= rate.low && value <= rate.high),
    );
    expect(outside.length).toBeGreaterThan(15);
  });

  it('lets observers write as much as they have to say', () => {
    const lengths = season.reports.filter(({ state }) => state !== 'draft').map(({ marks }) => marks.length);
    console.log(`marks a report: ${[...lengths].sort((a, b) => a - b).join(' ')}`);
    expect(Math.min(...lengths)).toBeGreaterThan(8);
    expect(Math.max(...lengths)).toBeGreaterThan(2 * Math.min(...lengths));
    expect(Math.max(...lengths)).toBeLessThan(160);
  });
});
