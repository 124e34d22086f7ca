import {
  fitSeasonByCounts,
  gradeSeasonByCounts,
} from '../../../server/grading/count-model/season-by-counts.ts';
import { gradeSeason } from '../../../server/grading/season-choice.ts';
import {
  fitLinearSeason,
  gradeWholeSeason,
  type SeasonSettings,
  type SeasonStandings,
} from '../../../server/grading/season-model.ts';
import type { KnownSeason } from './season.ts';

/** What grades a season: it sees counts, never the truth. */
export type SeasonModel = (season: Omit<KnownSeason, 'truth'>, settings: SeasonSettings) => SeasonStandings;

/** The models that can be held against seasons of known truth. */
export const models: Readonly<Record<string, SeasonModel>> = {
  linear: ({ reports, games }, settings) => gradeWholeSeason(reports, settings, games),
  counts: ({ reports, games }, settings) => gradeSeasonByCounts(reports, settings, games),
  /** The one of the two that the season itself chooses, as it does where the coordinator asked for none. */
  chosen: ({ reports, games }, settings) => gradeSeason(reports, settings, games),
};

/** Those that take in the marks of clips. */
export const modelsWithClips: Readonly<Record<'linear' | 'counts', SeasonModel>> = {
  linear: ({ reports, games, clips }, settings) => fitLinearSeason(reports, settings, clips).standings(games),
  counts: ({ reports, games, clips }, settings) =>
    fitSeasonByCounts(reports, settings, clips).standings(games),
};
