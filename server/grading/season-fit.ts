import {
  type FactorEffects,
  fitMixedModel,
  type MixedModelFit,
  type MixedModelResult,
} from './mixed-model.ts';
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

/** Level of an observer in one position, in the factor of that name. */
export const observerInPosition: (observer: string, position: string) => string = levelOfBoth;

/**
 * Fits y = μ_position + official + observer + game + official × game + observer × position + ε, ε's variance
 * σ²/weight, by restricted maximum likelihood, each variance 0 or more (`mixed-model.ts`). Two reports of one evening
 * share the evening (official × game); taken for independent they would make intervals too short.
 */
export function fitSeason(usable: readonly UsableRow[]): MixedModelResult {
  // Of one observer alone, position by position is what the positions' averages already say.
  const alone = usable.every(({ observer }) => observer === usable[0]!.observer);
  const levelIn = { ...levelOf, ...(alone ? { observerInPosition: levelOf.observer } : {}) };
  return fitMixedModel({
    response: usable.map((row) => row.value),
    weights: usable.map((row) => row.weight),
    fixed: [...new Set(usable.map((row) => row.position))].map((position) => ({
      name: position,
      values: usable.map((row) => (row.position === position ? 1 : 0)),
    })),
    factors: Object.entries(seasonFactors).map(([key, name]) => ({
      name,
      levels: usable.map(levelIn[key as SeasonFactor]),
    })),
  });
}

export function factorOf(fit: MixedModelFit, factor: SeasonFactor): FactorEffects {
  return fit.factors.find(({ name }) => name === seasonFactors[factor])!;
}

/** What the factor adds to each row's grade. */
export function effectOfRow(fit: MixedModelFit, factor: SeasonFactor): (row: UsableRow) => number {
  const { levels, effects } = factorOf(fit, factor);
  const of = new Map(levels.map((level, at) => [level, effects[at]!]));
  return (row) => of.get(levelOf[factor](row)) ?? 0;
}

export function spreadOf(fit: MixedModelFit, usable: readonly UsableRow[]): SeasonSpread {
  const deviation = (factor: SeasonFactor) => Math.sqrt(factorOf(fit, factor).variance);
  const weight = usable.reduce((sum, row) => sum + row.weight, 0) / usable.length;
  return {
    official: deviation('official'),
    observer: deviation('observer'),
    game: deviation('game'),
    officialInGame: deviation('officialInGame'),
    observerInPosition: deviation('observerInPosition'),
    residual: Math.sqrt(fit.residualVariance / weight),
  };
}
