import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { type Planted, type SeasonShape, simulateSeason } from './simulated-counts.ts';

/** Share of seasons with any trend named, by family, and of listed misses said to fall. */
export interface TrendsShown {
  world: string;
  seasons: number;
  listed: number;
  conference: number;
  officials: number;
  falling: number;
  misses: number;
}

const eight = (missRate: number, lastRate = missRate): Planted[] =>
  Array.from({ length: 8 }, (_, i) => ({
    official: `c${i}p${i % 3}`,
    duty: `d${i % 4}`,
    situationCut: null,
    missRate,
    lastRate,
  }));

const worlds: [string, Partial<SeasonShape>][] = [
  ['no trend, eight miss 30 %', { planted: eight(0.3) }],
  [
    'no trend, other observers in the second half (sd 1.2)',
    { severitySd: 1.2, observersChange: true, planted: eight(0.3) },
  ],
  ['no trend, games differ (sd 0.5)', { gameSd: 0.5, planted: eight(0.3) }],
  ['eight go from 50 % to 10 %', { planted: eight(0.5, 0.1) }],
  ['everybody improves at one duty (1 on the log-odds)', { drift: -1 }],
];

export function simulateTrends(seasons: number): TrendsShown[] {
  return worlds.map(([world, shape]) => {
    const shown = { listed: 0, conference: 0, officials: 0, falling: 0, misses: 0 };
    for (let seed = 1; seed <= seasons; seed++) {
      const rows = simulateSeason(seed, { positions: 3, duties: 10, cuts: 1, ...shape });
      const { trendFamilies, patterns } = findPatterns(rows);
      for (const family of ['listed', 'conference', 'officials'] as const) {
        if (trendFamilies[family].found > 0) shown[family] += 1 / seasons;
      }
      for (const { situationCut, trend } of patterns) {
        if (situationCut !== null) continue;
        shown.misses++;
        if (trend.direction === 'falling') shown.falling++;
      }
    }
    return { world, seasons, ...shown };
  });
}

export function describeTrends(trends: readonly TrendsShown[]): string[] {
  const percent = (value: number) => `${(100 * value).toFixed(0).padStart(3)}%`;
  return [
    'Share of seasons with any trend named (promised where there is none: at most 10% in each list)',
    ...trends.map(
      ({ world, listed, conference, officials, falling, misses, seasons }) =>
        `  ${world.padEnd(54)} listed ${percent(listed)}  conference ${percent(conference)}  letters ${percent(officials)}  misses said to fall ${falling} of ${misses}  (${seasons} seasons)`,
    ),
  ];
}
