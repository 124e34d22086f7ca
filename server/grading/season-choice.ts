import { gradeSeasonByCounts } from './count-model/season-by-counts.ts';
import { heldOutError } from './held-out-error.ts';
import { gradeWholeSeason, type SeasonSettings, type SeasonStandings } from './season-model.ts';
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
  /** Whether it is the one that the season's own reports speak for. */
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
 * Misses marked of an official in a report season, on average, below which the linear model stays: simulated seasons
 * (`npm run simulate`) show the counts' intervals too short with so few.
 */
export const leastMisses = 20;

/**
 * Grades a season by the model asked for, or by that which predicts its games better, each game from all others, where
 * there are misses enough for the model of counts.
 */
export function gradeSeason(
  rows: readonly GradedGame[],
  settings: SeasonSettings,
  games: readonly CountedGame[] = rows,
  model: SeasonModel | null = null,
): ModelledStandings {
  if (model === 'counts') return asked(gradeSeasonByCounts(rows, settings, games), 'counts');
  if (model === 'linear') return asked(gradeWholeSeason(rows, settings, games), 'linear');
  const misses = missesOfAnOfficial(rows);
  if (misses < leastMisses) {
    const few = `the reports hold ${misses.toFixed(0)} misses of an official on average; counting misses wants ${leastMisses} or more`;
    return {
      ...gradeWholeSeason(rows, settings, games),
      model: { used: 'linear', chosen: true, why: few, heldOut: null },
    };
  }
  const linear = gradeWholeSeason(rows, { ...settings, heldOut: true }, games);
  const counts = gradeSeasonByCounts(rows, { ...settings, heldOut: true }, games);
  const heldOut = { linear: heldOutError(linear.heldOut ?? []), counts: heldOutError(counts.heldOut ?? []) };
  const used =
    heldOut.counts !== null && (heldOut.linear === null || heldOut.counts < heldOut.linear)
      ? ('counts' as const)
      : ('linear' as const);
  return {
    ...withoutHeldOut(used === 'counts' ? counts : linear),
    model: { used, chosen: true, why: reason(heldOut), heldOut },
  };
}

function asked(standings: SeasonStandings, used: SeasonModel): ModelledStandings {
  return {
    ...standings,
    model: { used, chosen: false, why: 'shown because it was asked for', heldOut: null },
  };
}

const withoutHeldOut = ({ heldOut: _, ...standings }: SeasonStandings): SeasonStandings => standings;

function reason({ linear, counts }: NonNullable<ModelInUse['heldOut']>): string {
  if (counts === null) return 'counting misses gives no grades here';
  if (linear === null) return 'adding points gives no grades here';
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
