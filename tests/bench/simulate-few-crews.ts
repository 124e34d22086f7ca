import { findPatterns } from '../../server/patterns/find-patterns.ts';
import { type Planted, type SeasonShape, simulateSeason } from './simulated-counts.ts';

/** What a season says where few crews share a baseline and one or two officials miss much: shares of seasons. */
export interface FewCrews {
  world: string;
  seasons: number;
  /** The first and the second planted official found. */
  first: number;
  second: number;
  /** Any false repeat miss, any false strength. */
  falseMisses: number;
  falseStrengths: number;
}

const fourCrews: Partial<SeasonShape> = { crews: 4, gamesPerWeek: 4, positions: 2, cuts: 1 };
const planted = (official: string, missRate: number): Planted => ({
  official,
  duty: 'd1',
  situationCut: null,
  missRate,
});

const worlds: [string, Partial<SeasonShape>][] = [
  ['one misses 30 %', { planted: [planted('c0p1', 0.3)] }],
  ['one misses 30 %, one 15 %', { planted: [planted('c0p1', 0.3), planted('c1p1', 0.15)] }],
  [
    'the same, games differ (sd 0.5)',
    { gameSd: 0.5, planted: [planted('c0p1', 0.3), planted('c1p1', 0.15)] },
  ],
];

/** Additive on the log-odds, observers differ, plays are shared by two who watch: not the form of the tests. */
export function simulateFewCrews(seasons: number): FewCrews[] {
  return worlds.map(([world, shape]) => {
    const share = { first: 0, second: 0, falseMisses: 0, falseStrengths: 0 };
    for (let seed = 1; seed <= seasons; seed++) {
      const { patterns, strengths } = findPatterns(simulateSeason(seed, { ...fourCrews, ...shape }));
      const plan = shape.planted ?? [];
      const at = ({ official, duty }: { official: string; duty: string }) =>
        plan.findIndex((one) => one.official === official && one.duty === duty);
      if (patterns.some((row) => at(row) === 0)) share.first += 1 / seasons;
      if (patterns.some((row) => at(row) === 1)) share.second += 1 / seasons;
      if (patterns.some((row) => at(row) < 0)) share.falseMisses += 1 / seasons;
      if (strengths.length > 0) share.falseStrengths += 1 / seasons;
    }
    return { world, seasons, ...share };
  });
}

export function describeFew(few: readonly FewCrews[]): string[] {
  const percent = (value: number) => `${(100 * value).toFixed(0).padStart(3)}%`;
  return [
    'Four crews, usual miss rate 5%: share of seasons in which it is found, and with anything false',
    ...few.map(
      ({ world, first, second, falseMisses, falseStrengths, seasons }) =>
        `  ${world.padEnd(34)} first ${percent(first)}  second ${percent(second)}  false misses ${percent(falseMisses)}  false strengths ${percent(falseStrengths)}  (${seasons} seasons)`,
    ),
  ];
}
