import { type ClipMark, marksApart } from './clip-marks.ts';
import { withClips } from './clip-rows.ts';
import { comparableGroups, observersByOfficial } from './connectedness.ts';
import { groupBy } from './group-by.ts';
import type { PastRow } from './last-season.ts';
import { type FactorEffects, fitMixedModel, type MixedModelFit } from './mixed-model.ts';
import { type ModelRows, withSeasonBefore } from './past-rows.ts';
import type { Combination } from './prediction.ts';
import type { UsableRow } from './season-rows.ts';

/** The random factors of the season model, as its notes name them. */
export const seasonFactors = {
  official: 'official',
  observer: 'observer',
  game: 'game',
  officialInGame: 'official in one game',
  observerInPosition: 'observer in one position',
} as const;

export type SeasonFactor = keyof typeof seasonFactors;

/** Standard deviations in points of a grade. */
export interface SeasonSpread extends Record<SeasonFactor, number> {
  /** What chance adds to a grade of the season's mean weight. */
  residual: number;
}

/** Level of a row in each factor. */
export const levelOf: Readonly<Record<SeasonFactor, (row: UsableRow) => string>> = {
  official: (row) => row.official,
  observer: (row) => row.observer,
  game: (row) => row.game,
  officialInGame: ({ official, game }) => levelOfBoth(official, game),
  observerInPosition: ({ observer, position }) => levelOfBoth(observer, position),
};

const levelOfBoth = (a: string, b: string) => `${a}\n${b}`;

/** Level of a row in one factor. */
export const seasonLevel = (factor: SeasonFactor, row: UsableRow): string => levelOf[factor](row);

/** What a row's grade is made of, chance aside. */
export const seasonCombination = (row: UsableRow): Combination => ({
  fixed: { [row.position]: 1 },
  effects: (Object.keys(seasonFactors) as SeasonFactor[]).map((factor) => ({
    factor: seasonFactors[factor],
    level: levelOf[factor](row),
  })),
});

/** A season's fit. Its effects are in parts of what the position usually loses; positive is a better grade. */
export interface SeasonFit extends MixedModelFit {
  /** Points that a grade of each position usually lies below 100: what makes points of an effect. */
  usualLoss: ReadonlyMap<string, number>;
  /** The observers that an official can be compared by, the same list for all of one comparable group. */
  observersOf: ReadonlyMap<string, readonly string[]>;
}

type SeasonFitResult = SeasonFit | { fitted: false; reason: string };

/**
 * Fits (grade − 100) / usual loss of the position = μ_position + official + observer + game + official × game +
 * observer × position + ε, ε's variance σ²/(weight × usual loss), by restricted maximum likelihood, each variance 0 or
 * more (`mixed-model.ts`). Strictness, skill and chance make more of a difference where more is lost: taken for as many
 * points in every position, intervals are too short in the one and too long in the other. Two reports of one evening
 * share the evening (official × game); taken for independent they would make intervals too short.
 *
 * @param clips marks of clips to take in (`clip-rows.ts`)
 * @param past what the season before showed, to take in (`past-rows.ts`)
 */
export function fitSeason(
  usable: readonly UsableRow[],
  groups = comparableGroups(usable),
  clips: readonly ClipMark[] = [],
  past: readonly PastRow[] = [],
): SeasonFitResult {
  const usualLoss = usualLosses(usable);
  const ofReports = fitMixedModel(seasonRows(usable, usualLoss));
  if (!ofReports.fitted) return ofReports;
  const of = { usualLoss, observersOf: observersByOfficial(groups) };
  if (clips.length === 0 && past.length === 0) return { ...ofReports, ...of };
  const chance = ofReports.residualVariance;
  if (!(chance > 0))
    return {
      fitted: false,
      reason: 'the reports leave nothing to chance that anything could be weighed beside',
    };
  const rows =
    clips.length > 0 ? seasonRowsWithClips(usable, usualLoss, clips, chance) : seasonRows(usable, usualLoss);
  const ofSeason = clips.length > 0 ? fitMixedModel(rows) : ofReports;
  if (!ofSeason.fitted || past.length === 0) return ofSeason.fitted ? { ...ofSeason, ...of } : ofSeason;
  const { residualVariance: residual, factors } = ofSeason;
  // What the season before showed says what officials are like, not how much they differ or what chance is.
  const fit = fitMixedModel({
    ...withSeasonBefore(rows, past, seasonFactors.official, ({ value, variance }) => ({
      response: value,
      weight: residual / variance,
    })),
    known: { residual, factors: factors.map(({ variance }) => variance) },
  });
  return fit.fitted ? { ...fit, ...of } : fit;
}

/** The reports alone, as rows of the mixed model. */
function seasonRows(usable: readonly UsableRow[], usualLoss: ReadonlyMap<string, number>): ModelRows {
  // Of one observer alone, position by position is what the positions' averages already say.
  const alone = usable.every(({ observer }) => observer === usable[0]!.observer);
  const levelIn = { ...levelOf, ...(alone ? { observerInPosition: levelOf.observer } : {}) };
  const rows = usable.map((row) => onScale(usualLoss, row));
  return {
    response: rows.map(({ response }) => response),
    weights: rows.map(({ weight }) => weight),
    fixed: [...usualLoss.keys()].map((position) => ({
      name: position,
      values: usable.map((row) => (row.position === position ? 1 : 0)),
    })),
    factors: Object.entries(seasonFactors).map(([key, name]) => ({
      name,
      levels: usable.map(levelIn[key as SeasonFactor]),
    })),
  };
}

/**
 * Reports and clips together. A mark lies lower by one over what marks of the same thing differ by: like parts of a
 * position's usual loss, that is one unit of the log-odds for one of strictness. It weighs as much beside reports as its own chance
 * beside theirs, whatever the duty's weight: chance is no smaller in a mark of a dear duty.
 *
 * @param chance residual variance of the reports alone
 */
function seasonRowsWithClips(
  usable: readonly UsableRow[],
  usualLoss: ReadonlyMap<string, number>,
  clips: readonly ClipMark[],
  chance: number,
): ModelRows {
  const apart = marksApart(clips);
  return withClips(
    seasonRows(usable, usualLoss),
    clips,
    { response: ({ missed }) => (missed ? -1 / apart : 0), weight: chance * apart },
    {
      [seasonFactors.observer]: ({ observer }) => observer,
      [seasonFactors.observerInPosition]: ({ observer, position }) => levelOfBoth(observer, position),
    },
  );
}

/** Points that each position's grades lie below 100, pooled, and one report's worth of all positions' beside. */
function usualLosses(usable: readonly UsableRow[]): Map<string, number> {
  const sums = (rows: readonly UsableRow[]) => ({
    weight: rows.reduce((sum, row) => sum + row.weight, 0),
    lost: rows.reduce((sum, row) => sum + row.weight * (100 - row.value), 0),
  });
  const all = sums(usable);
  const usual = all.lost > 0 ? all.lost / all.weight : 1;
  const one = all.weight / usable.length;
  return new Map(
    [...groupBy(usable, (row) => row.position)].map(([position, rows]) => {
      const own = sums(rows);
      return [position, (own.lost + one * usual) / (own.weight + one)];
    }),
  );
}

/** A row's grade and weight as the model takes them. */
export function onScale(usualLoss: ReadonlyMap<string, number>, row: UsableRow) {
  const usual = usualLoss.get(row.position)!;
  return { response: (row.value - 100) / usual, weight: row.weight * usual };
}

/** What a grade of this official in this position is, the observers of the season counted each alike. */
export function gradeCombination(fit: SeasonFit, position: string, official: string): Combination {
  const observers = fit.observersOf.get(official) ?? [];
  return {
    fixed: { [position]: 1 },
    effects: [
      { factor: seasonFactors.official, level: official },
      ...observers.flatMap((observer) => severityEffects(observer, position, 1 / observers.length)),
    ],
  };
}

/** How an observer's marks in a position lie above the position's average, `times` over. */
export function severityEffects(observer: string, position: string, times = 1) {
  return [
    { factor: seasonFactors.observer, level: observer, times },
    { factor: seasonFactors.observerInPosition, level: levelOfBoth(observer, position), times },
  ];
}

export function factorOf(fit: MixedModelFit, factor: SeasonFactor): FactorEffects {
  return fit.factors.find(({ name }) => name === seasonFactors[factor])!;
}

/** What the factor adds to each row's grade, in points. */
export function effectOfRow(fit: SeasonFit, factor: SeasonFactor): (row: UsableRow) => number {
  const { levels, effects } = factorOf(fit, factor);
  const of = new Map(levels.map((level, at) => [level, effects[at]!]));
  return (row) => (of.get(levelOf[factor](row)) ?? 0) * fit.usualLoss.get(row.position)!;
}

/** In points of a grade where what is lost is the season's mean. */
export function spreadOf(fit: SeasonFit, usable: readonly UsableRow[]): SeasonSpread {
  const weight = usable.reduce((sum, row) => sum + row.weight, 0);
  const lost = usable.reduce((sum, row) => sum + row.weight * fit.usualLoss.get(row.position)!, 0);
  const deviation = (factor: SeasonFactor) => (lost / weight) * Math.sqrt(factorOf(fit, factor).variance);
  return {
    official: deviation('official'),
    observer: deviation('observer'),
    game: deviation('game'),
    officialInGame: deviation('officialInGame'),
    observerInPosition: deviation('observerInPosition'),
    residual: (lost / weight) * Math.sqrt((fit.residualVariance * usable.length) / lost),
  };
}
