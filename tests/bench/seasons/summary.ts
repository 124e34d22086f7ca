import type { SeasonMeasures } from './measures.ts';

type Averaged = Exclude<keyof SeasonMeasures, 'places' | 'rankedTogether' | 'rankedApart'>;

const averaged = [
  'rhoRaw',
  'rho',
  'coverage',
  'severityCoverage',
  'severityError',
  'severityWidth',
  'rankCoverage',
  'rankWidth',
  'bias',
  'errorRaw',
  'error',
  'brier',
  'brierOfEvenChance',
  'choseCounts',
] as const satisfies readonly Averaged[];

/** A mean over seasons and its standard error: seasons are independent, officials of one season are not. */
export interface Estimate {
  mean: number;
  standardError: number;
}

export type Summary = Record<Averaged, Estimate> & {
  seasons: number;
  /** Sums over all seasons. */
  rankedTogether: number;
  rankedApart: number;
  /** Mean of |places said − places had| over tenths of the chance said, weighted by how often it was said. */
  miscalibration: number;
};

export function estimate(values: readonly (number | null)[]): Estimate {
  const known = values.filter((value) => value !== null);
  const mean = known.reduce((sum, value) => sum + value, 0) / known.length;
  const squares = known.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { mean, standardError: Math.sqrt(squares / Math.max(1, known.length - 1) / known.length) };
}

export function summarize(seasons: readonly SeasonMeasures[]): Summary {
  const sum = (of: (season: SeasonMeasures) => number) =>
    seasons.reduce((total, season) => total + of(season), 0);
  const tenths = Array.from({ length: 10 }, (_, at) =>
    [0, 1, 2].map((part) => sum((season) => season.places[at]![part]!)),
  );
  const said = tenths.reduce((total, [count]) => total + count!, 0);
  const off = tenths.reduce((total, [, chances, had]) => total + Math.abs(chances! - had!), 0);
  return {
    ...(Object.fromEntries(
      averaged.map((name) => [name, estimate(seasons.map((season) => season[name]))]),
    ) as Record<Averaged, Estimate>),
    seasons: seasons.length,
    rankedTogether: sum((season) => season.rankedTogether),
    rankedApart: sum((season) => season.rankedApart),
    miscalibration: off / said,
  };
}

const percent = ({ mean, standardError }: Estimate) =>
  `${(100 * mean).toFixed(1)}±${(100 * standardError).toFixed(1)}`;
const plain = ({ mean, standardError }: Estimate) => `${mean.toFixed(3)}±${standardError.toFixed(3)}`;
const points = ({ mean }: Estimate) => mean.toFixed(3);

/** One line of a table; ± is one standard error of the simulation. */
export function describeSummary(model: string, summary: Summary): string {
  return [
    `  ${model.padEnd(10)} rho ${plain(summary.rho)} (raw ${summary.rhoRaw.mean.toFixed(3)})`,
    `grades held ${percent(summary.coverage)} %`,
    `severity ${percent(summary.severityCoverage)} %, error ${plain(summary.severityError)}, width ${points(summary.severityWidth)}`,
    `ranks ${percent(summary.rankCoverage)} % in ${(100 * summary.rankWidth.mean).toFixed(0)} % of the places`,
    `error ${points(summary.error)} (raw ${points(summary.errorRaw)}), bias ${plain(summary.bias)}`,
    `places: Brier ${points(summary.brier)} (even ${points(summary.brierOfEvenChance)}), off by ${summary.miscalibration.toFixed(3)}`,
    `ranked falsely together ${summary.rankedTogether}, apart ${summary.rankedApart}`,
    ...(Number.isNaN(summary.choseCounts.mean) ? [] : [`counts chosen ${percent(summary.choseCounts)} %`]),
  ].join('; ');
}
