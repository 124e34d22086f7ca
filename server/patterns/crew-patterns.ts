import { type Comparison, compareUnits, gamesWith, groupRows, pValueOf } from './comparison.ts';
import type { CountRow, SeasonCounts } from './counts.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { byWeek, type Evidence, evidence } from './official-patterns.ts';
import type { PatternSettings } from './settings.ts';

export interface CrewPattern extends Evidence {
  crew: string;
  /** Officials of the crew with at least one of the misses. */
  officialsWithMisses: number;
}

const crewOf = (row: CountRow) => row.crew;
/** Positions differ in how hard a duty is for them, so a crew is compared position by position. */
const observerAndPosition = (row: CountRow) => `${row.observer}\n${row.position}`;

function officialsWithMisses(comparison: Comparison): number {
  return new Set(comparison.rows.filter((row) => row.misses > 0).map((row) => row.official)).size;
}

/**
 * Duties that one crew misses more often than the other crews, beyond chance, stratified by observer and
 * position. At least two of the crew must share the misses: one official's habit is that official's pattern.
 */
export function crewPatterns(
  counts: SeasonCounts,
  settings: PatternSettings,
): { patterns: CrewPattern[]; family: Family } {
  const inCrews = counts.rows.filter((row) => row.crew !== '');
  const builder = new FamilyBuilder<{
    group: ReturnType<typeof groupRows>[number];
    compared: ReturnType<typeof compareUnits>;
    comparison: Comparison;
  }>(settings.falseDiscoveryRate);
  for (const group of groupRows(inCrews, false)) {
    const compared = compareUnits(group.rows, crewOf, observerAndPosition, 'misses');
    for (const comparison of compared.comparisons) {
      if (comparison.comparable.opportunities < settings.minimumOpportunities) {
        builder.skip();
        continue;
      }
      const spread =
        gamesWith(comparison.rows, 'misses') >= settings.minimumGames && officialsWithMisses(comparison) >= 2;
      builder.add({ group, compared, comparison }, spread ? pValueOf(comparison, 'more') : 1);
    }
  }
  const { found, family } = builder.judge();
  const patterns = found.map((judged): CrewPattern => {
    const { group, compared, comparison } = judged.candidate;
    const weeks = byWeek(comparison.rows, observerAndPosition, compared.othersRate(comparison.unit));
    return {
      crew: comparison.unit,
      officialsWithMisses: officialsWithMisses(comparison),
      ...evidence(group, judged, comparison, weeks, settings),
    };
  });
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  return { patterns, family };
}
