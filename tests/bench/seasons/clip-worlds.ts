import { countRows } from '../../../server/grading/count-model/count-rows.ts';
import { countFactorOf, fitSeasonCounts } from '../../../server/grading/count-model/season-counts.ts';
import { plainClips, unlikeClips } from './clips.ts';
import { measure, type SeasonMeasures, settingsOf } from './measures.ts';
import { models, modelsWithClips } from './models.ts';
import { drawSeason } from './season.ts';
import { demoLike, type SeasonShape } from './shape.ts';

/** Fewer misses a season, so that reports tell less of strictness. */
const fewMisses: SeasonShape = { ...demoLike, chances: 0.2, spread: { ...demoLike.spread, observer: 0.4 } };

/** Worlds in which all observers mark clips that no model is like: see `unlikeClips`. */
export const clipWorlds = {
  'demo-like': { ...demoLike, clips: unlikeClips },
  'few misses': { ...fewMisses, clips: unlikeClips },
  'few misses, on film others than at games': {
    ...fewMisses,
    clips: { ...unlikeClips, filmByObserver: 0.4 },
  },
  'half of the observers mark half': {
    ...demoLike,
    keennessOfHalf: demoLike.keenness / 2,
    clips: unlikeClips,
  },
  'crews that only clips link': {
    ...demoLike,
    parts: 2,
    spread: { ...demoLike.spread, observer: 0.4 },
    clips: unlikeClips,
  },
} as const satisfies Record<string, SeasonShape>;
export type ClipWorld = keyof typeof clipWorlds;

/** Seasons of a world graded by one model, without its clips and with them, in the order of the seeds. */
export function gradeWithClips(
  world: ClipWorld,
  model: 'linear' | 'counts',
  seeds: readonly number[],
): { without: SeasonMeasures[]; with: SeasonMeasures[] } {
  const graded = seeds.map((seed) => {
    const { truth, ...season } = drawSeason(clipWorlds[world], seed);
    const by = (way: (typeof models)[string]) => measure(way(season, settingsOf(seed)), truth);
    return [by(models[model]!), by(modelsWithClips[model])] as const;
  });
  return { without: graded.map(([one]) => one), with: graded.map(([, other]) => other) };
}

/** As the design had it: twenty observers, 60 games, strictness of 0.5 on the log-odds; so many chances that it is told half as well. */
const asDesigned: SeasonShape = {
  ...demoLike,
  observers: 20,
  weeks: 12,
  chances: 0.1,
  spread: { ...demoLike.spread, observer: 0.5 },
};

/** Root mean square error of strictness beside the observers' mean, on the log-odds, with so many clips of one thing each; 0 for none. */
export function strictnessError(clips: number, seeds: readonly number[]): number {
  let squares = 0;
  for (const seed of seeds) {
    const season = drawSeason({ ...asDesigned, clips: { ...plainClips, clips: Math.max(1, clips) } }, seed);
    const fit = fitSeasonCounts(countRows(season.reports), clips > 0 ? season.clips : []);
    if (!fit.fitted) throw new Error(fit.reason);
    const { levels, effects } = countFactorOf(fit, 'observer');
    const found = new Map(levels.map((level, at) => [level, effects[at]!]));
    const errors = [...season.truth.strictness].map(([who, truth]) => (found.get(who) ?? 0) - truth);
    const mean = errors.reduce((sum, value) => sum + value, 0) / errors.length;
    squares += errors.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (errors.length - 1);
  }
  return Math.sqrt(squares / seeds.length);
}
