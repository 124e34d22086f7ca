import type { ClipMark } from './clip-marks.ts';
import { fitSeasonByCounts } from './count-model/season-by-counts.ts';
import { heldOutError } from './held-out-error.ts';
import {
  type FittedSeason,
  fitLinearSeason,
  type SeasonSettings,
  type SeasonStandings,
} from './season-model.ts';
import type { CountedGame, GradedGame } from './season-rows.ts';

/**
 * Linear: observers and games add points to a grade. Counts: they multiply misses (on the log-odds). Where they differ
 * is told by the season itself.
 */
export const seasonModels = ['linear', 'counts'] as const;
export type SeasonModel = (typeof seasonModels)[number];

/** The model that standings are by, and why. */
export interface ModelInUse {
  used: SeasonModel;
  /** Whether it is the season's own, everywhere used; false where another was asked for to look at. */
  chosen: boolean;
  /** In plain words. */
  why: string;
  /** Error, in points, of grades predicted from all other games; null where none could be predicted. */
  heldOut: { linear: number | null; counts: number | null } | null;
}

export interface ModelledStandings extends SeasonStandings {
  model: ModelInUse;
}

/**
 * Misses marked of an official in a report season, on average, below which the linear model stays. With 5 and with 14 the
 * counts' intervals hold what they promise and rank better (`npm run simulate`, heavy ties and a third of the misses in
 * all). With fewer nothing was tried.
 */
export const leastMisses = 4;

/** A model given beforehand: one to look at, that which the whole grade of the season is by, or the coordinator's own. */
export interface GivenModel {
  model: SeasonModel;
  because: 'asked' | 'season' | 'fixed';
}

/**
 * Grades a season by the model given, or by that which predicts its games better, each game from all others, where
 * there are misses enough for the model of counts. A kind of grade with fewer is by the linear one even where the
 * season is not. One that the coordinator fixed is used in any case; what the season's reports speak for is said.
 *
 * @param clips marks of clips that severity is estimated from as well; null where the season goes by reports alone
 * @param lastSeason the reports of the season before, to borrow strength from; null where this one goes by itself
 */
export function gradeSeason(
  rows: readonly GradedGame[],
  settings: SeasonSettings,
  games: readonly CountedGame[] = rows,
  given: GivenModel | null = null,
  clips: readonly ClipMark[] | null = null,
  lastSeason: readonly GradedGame[] | null = null,
): ModelledStandings {
  if (given?.because === 'asked') {
    return graded(fits[given.model](rows, settings, clips, lastSeason), games, {
      used: given.model,
      chosen: false,
      why: 'shown because it was asked for',
      heldOut: null,
    });
  }
  const misses = missesOfAnOfficial(rows);
  if (misses < leastMisses) {
    const few = `the reports hold ${Math.floor(10 * misses) / 10} misses of an official on average; counting misses wants ${leastMisses} or more`;
    const used = given?.because === 'fixed' ? given.model : 'linear';
    const why = given?.because === 'fixed' ? fixedWords(used, 'linear', few) : few;
    return graded(fits[used](rows, settings, clips, lastSeason), games, {
      used,
      chosen: true,
      why,
      heldOut: null,
    });
  }
  if (given?.because === 'season') {
    const why = 'that is how the whole grade of this season is found';
    return graded(fits[given.model](rows, settings, clips, lastSeason), games, {
      used: given.model,
      chosen: true,
      why,
      heldOut: null,
    });
  }
  const linear = fits.linear(rows, settings, clips, lastSeason);
  const counts = fits.counts(rows, settings, clips, lastSeason);
  const heldOut = { linear: heldOutError(linear.heldOut()), counts: heldOutError(counts.heldOut()) };
  const byCounts = heldOut.counts !== null && (heldOut.linear === null || heldOut.counts < heldOut.linear);
  const foretold = byCounts ? 'counts' : 'linear';
  const used = given?.model ?? foretold;
  return graded(used === 'counts' ? counts : linear, games, {
    used,
    chosen: true,
    why: given ? fixedWords(used, foretold, reason(heldOut)) : reason(heldOut),
    heldOut,
  });
}

const fits = { linear: fitLinearSeason, counts: fitSeasonByCounts };

function graded(season: FittedSeason, games: readonly CountedGame[], model: ModelInUse): ModelledStandings {
  return { ...season.standings(games), model };
}

function fixedWords(fixed: SeasonModel, otherwise: SeasonModel, reason: string): string {
  const own = otherwise === fixed ? 'the same' : modelDoing[otherwise];
  return `the coordinator fixed it for this season. By the season's own reports it would be ${own}: ${reason}`;
}

/** What each model does, in two words. */
export const modelDoing: Readonly<Record<SeasonModel, string>> = {
  linear: 'adding points',
  counts: 'counting misses',
};

function reason({ linear, counts }: NonNullable<ModelInUse['heldOut']>): string {
  const none = (model: SeasonModel) => `by ${modelDoing[model]} no game can be foretold from the others`;
  if (counts === null) return none('counts');
  if (linear === null) return none('linear');
  const [better, worse] = counts < linear ? [counts, linear] : [linear, counts];
  const points = (value: number) => value.toFixed(3);
  return `of two ways it foretells games better. Each game foretold from all the others, it was ${points(better)} points off, the other way ${points(worse)}`;
}

/** Mean over officials of the misses in their reports. */
function missesOfAnOfficial(rows: readonly GradedGame[]): number {
  const of = new Map<string, number>();
  for (const { official, counts } of rows) {
    const misses = counts.reduce((sum, { opportunities, met }) => sum + opportunities - met, 0);
    of.set(official, (of.get(official) ?? 0) + misses);
  }
  return of.size === 0 ? 0 : [...of.values()].reduce((sum, misses) => sum + misses, 0) / of.size;
}
