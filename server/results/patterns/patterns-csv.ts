import { tableCsv } from '../../web/csv-file.ts';
import type { namedPatterns } from './named-patterns.ts';

export const patternTables = ['officials', 'strengths', 'crews', 'conference', 'weeks'] as const;
export type PatternTable = (typeof patternTables)[number];

type Named = Awaited<ReturnType<typeof namedPatterns>>;
type Official = Named['patterns'][number];
type Strength = Named['strengths'][number];
type Crew = Named['crews'][number];
type Training = Named['conference'][number];
type Week = Named['weeks'][number];
type Columns<Row> = Record<string, (row: Row) => string | number>;

const evidence: Columns<Official | Strength | Crew> = {
  duty: (row) => row.title,
  situation: (row) => row.situationCut ?? '',
  opportunities: (row) => row.opportunities,
  misses: (row) => row.misses,
  miss_rate: (row) => row.missRate,
  interval_low: (row) => row.interval.low,
  interval_high: (row) => row.interval.high,
  games: (row) => row.games,
  games_with_misses: (row) => row.gamesWithMisses,
  model_plays: (row) => row.model,
  expected_misses: (row) => row.expected,
  excess_misses: (row) => row.excess,
  weight: (row) => row.weight,
  consequence: (row) => row.consequence,
  p_value: (row) => row.pValue,
  adjusted_p: (row) => row.adjustedP,
  trend: (row) => row.trend.direction,
};

const ofOfficials: Columns<Official> = {
  official: (row) => row.officialName,
  position: (row) => row.position,
  ...evidence,
};

const ofStrengths: Columns<Strength> = {
  official: (row) => row.officialName,
  position: (row) => row.position,
  kind: (row) => row.kind,
  ...evidence,
};

const ofCrews: Columns<Crew> = {
  crew: (row) => row.crewName,
  ...evidence,
  officials_with_misses: (row) => row.officialsWithMisses,
};

const ofTraining: Columns<Training> = {
  duty: (row) => row.title,
  opportunities: (row) => row.opportunities,
  misses: (row) => row.misses,
  miss_rate: (row) => row.missRate,
  weight: (row) => row.weight,
  cost: (row) => row.cost,
  officials: (row) => row.officials,
  officials_with_misses: (row) => row.officialsWithMisses,
  trend: (row) => row.trend.direction,
};

const ofWeeks: Columns<Week> = {
  week: (row) => row.week,
  duty: (row) => row.title,
  opportunities: (row) => row.opportunities,
  misses: (row) => row.misses,
  expected_misses: (row) => row.expected,
  consequence: (row) => row.consequence,
  p_value: (row) => row.pValue,
  adjusted_p: (row) => row.adjustedP,
};

/**
 * One list as a table (RFC 4180), the same columns whether or not anybody is on it. Figures have enough digits to
 * recompute from; a text that a spreadsheet would run as a formula is quoted.
 */
export function patternsCsv(
  table: PatternTable,
  found: Pick<Named, 'patterns' | 'strengths' | 'crews' | 'conference' | 'weeks'>,
): string {
  switch (table) {
    case 'officials':
      return written(ofOfficials, found.patterns);
    case 'strengths':
      return written(ofStrengths, found.strengths);
    case 'crews':
      return written(ofCrews, found.crews);
    case 'conference':
      return written(ofTraining, found.conference);
    case 'weeks':
      return written(ofWeeks, found.weeks);
  }
}

function written<Row>(columns: Columns<Row>, rows: readonly Row[]): string {
  const cells = rows.map((row) => Object.values(columns).map((of) => of(row)));
  return tableCsv(Object.keys(columns), cells);
}
