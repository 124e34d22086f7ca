import { Draws } from '../../../seed-demo/draws.ts';
import { fitSeasonByCounts } from '../../../server/grading/count-model/season-by-counts.ts';
import { fitLinearSeason } from '../../../server/grading/season-model.ts';
import type { GradedGame } from '../../../server/grading/season-rows.ts';
import { measure, type SeasonMeasures, settingsOf } from './measures.ts';
import { drawSeason } from './season.ts';
import { demoLike, type SeasonShape, type YearShape } from './shape.ts';

const usual: YearShape = { usualChange: 0.12, bigChange: 0.6, changed: 0.15, newcomers: 0.2, worse: 0.2 };
const early: SeasonShape = { ...demoLike, weeks: 5 };
const fewMisses: SeasonShape = { ...demoLike, chances: 0.2 };

/**
 * Two seasons in a row. Most officials stay as they were and some change much, which no normal correlation is like; a
 * fifth are newcomers; all were a little worse a year earlier; strictness of observers is drawn anew.
 */
export const yearWorlds = {
  'demo-like': { now: demoLike, before: demoLike, year: usual },
  'after five weeks': { now: early, before: demoLike, year: usual },
  'few misses': { now: fewMisses, before: fewMisses, year: usual },
  'nobody as before': { now: early, before: demoLike, year: { ...usual, newcomers: 1 } },
  'half changed much': { now: early, before: demoLike, year: { ...usual, changed: 0.5 } },
  'severity sd 0.6 then': {
    now: early,
    before: { ...demoLike, spread: { ...demoLike.spread, observer: 0.6 } },
    year: usual,
  },
} as const satisfies Record<string, { now: SeasonShape; before: SeasonShape; year: YearShape }>;
export type YearWorld = keyof typeof yearWorlds;

const fits = { linear: fitLinearSeason, counts: fitSeasonByCounts };

/** Seasons of a world graded by one model, by themselves and with the season before. */
export function gradeWithSeasonBefore(
  world: YearWorld,
  model: keyof typeof fits,
  seeds: readonly number[],
): { alone: SeasonMeasures[]; with: SeasonMeasures[]; correlations: number[] } {
  const { now, before, year } = yearWorlds[world];
  const graded = seeds.map((seed) => {
    const { reports, games, truth } = drawSeason(now, seed);
    const past = drawSeason({ ...before, yearBefore: { seed, ...year } }, seed + 50_000);
    const by = (lastSeason: readonly GradedGame[] | null) =>
      fits[model](reports, settingsOf(seed), null, lastSeason).standings(games);
    const both = by(namedApart(past.reports, seed, year));
    return {
      alone: measure(by(null), truth),
      with: measure(both, truth),
      correlation: both.lastSeason!.correlation,
    };
  });
  return {
    alone: graded.map((one) => one.alone),
    with: graded.map((one) => one.with),
    correlations: graded.map((one) => one.correlation),
  };
}

/** Who left has a name of their own, where the year is one with newcomers; in the world of nobody as before they keep it. */
function namedApart(reports: readonly GradedGame[], seed: number, { newcomers }: YearShape): GradedGame[] {
  if (newcomers === 1) return [...reports];
  return reports.map((row) => {
    const own = new Draws(seed, 'a year before').branch(row.official);
    own.unit();
    own.normal(0, 1);
    return own.unit() < newcomers ? { ...row, official: `${row.official} who left` } : row;
  });
}
