import { ComparedGroup, type Comparison, gamesWith, groupRows } from './comparison.ts';
import type { CountRow, SeasonCounts } from './counts.ts';
import { type Evidence, evidenceOf } from './evidence.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { estimateOverdispersion, widenPValue } from './overdispersion.ts';
import type { PatternSettings } from './settings.ts';

export interface CrewPattern extends Evidence {
  crew: string;
  /** Officials of the crew with at least one of the misses. */
  officialsWithMisses: number;
}

function officialsWithMisses(rows: readonly CountRow[]): number {
  return new Set(rows.filter((row) => row.misses > 0).map((row) => row.official)).size;
}

/**
 * Duties that one crew misses more often than the other crews, beyond chance, stratified by observer and
 * position (positions differ in how hard a duty is for them). At least two of the crew must share the
 * misses: one official's habit is that official's pattern. Rows without a crew are left out.
 */
export function crewPatterns(
  counts: SeasonCounts,
  settings: PatternSettings,
): { patterns: CrewPattern[]; family: Family } {
  const builder = new FamilyBuilder<{
    compared: ComparedGroup;
    unit: number;
    misses: Comparison;
    factor: number;
  }>(settings.falseDiscoveryRate);
  for (const group of groupRows(counts, 'duty')) {
    const members = group.members.filter((member) => counts.rows[member]!.crew !== '');
    const compared = new ComparedGroup(
      counts,
      { ...group, members },
      counts.crew,
      counts.observerAndPosition,
    );
    const variation = estimateOverdispersion([compared], 'misses');
    for (let unit = 0; unit < compared.size; unit++) {
      const misses = compared.compare(unit, 'misses');
      if (misses.comparable.opportunities < settings.minimumOpportunities) {
        builder.skip();
        continue;
      }
      let pValue = 1;
      if (misses.comparable.events > Math.floor(misses.nullMean)) {
        const rows = compared.rowsOf(unit);
        if (gamesWith(rows, 'misses') >= settings.minimumGames && officialsWithMisses(rows) >= 2) {
          pValue = widenPValue(compared.exactPValue(unit, 'misses', misses, 'more'), variation);
        }
      }
      builder.add({ compared, unit, misses, factor: variation.factor }, pValue);
    }
  }
  const { found, family } = builder.judge();
  const patterns = found.map((judged): CrewPattern => {
    const { compared, unit, misses, factor } = judged.candidate;
    return {
      crew: misses.unit,
      officialsWithMisses: officialsWithMisses(compared.rowsOf(unit)),
      ...evidenceOf(compared, unit, misses, judged, factor, settings),
    };
  });
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  return { patterns, family };
}
