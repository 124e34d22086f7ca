import { ComparedGroup, type Comparison, gamesWith, groupRows } from './comparison.ts';
import type { CountRow, SeasonCounts } from './counts.ts';
import { type Evidence, evidenceOf } from './evidence.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { estimateGameVariation, type GameVariation, pValueOf } from './game-variation.ts';
import type { PatternSettings } from './settings.ts';

export interface CrewPattern extends Evidence {
  crew: string;
  /** Officials of the crew with at least one of the misses. */
  officialsWithMisses: number;
}

/** The crew's p-value when the official of the crew with most misses is left out; 1 when nobody else is left. */
function withoutWorst(
  counts: SeasonCounts,
  compared: ComparedGroup,
  unit: number,
  variation: GameVariation,
): number {
  const misses = new Map<string, number>();
  for (const row of compared.rowsOf(unit)) {
    misses.set(row.official, (misses.get(row.official) ?? 0) + row.misses);
  }
  const [worst] = [...misses].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  const crew = compared.nameOf(unit);
  const members = compared.group.members.filter((member) => {
    const row = counts.rows[member]!;
    return row.crew !== crew || row.official !== worst?.[0];
  });
  const rest = new ComparedGroup(
    counts,
    { ...compared.group, members },
    counts.crew,
    counts.observerAndPosition,
  );
  const same = rest.find(crew);
  return same < 0 ? 1 : pValueOf(rest, same, 'misses', 'more', variation).pValue;
}

function officialsWithMisses(rows: readonly CountRow[]): number {
  return new Set(rows.filter((row) => row.misses > 0).map((row) => row.official)).size;
}

/**
 * Duties that one crew misses more often than the other crews, beyond chance, stratified by observer and
 * position (positions differ in how hard a duty is for them). One official's habit is that official's pattern, not
 * the crew's: the crew must stand out without the official who missed most, too, and its p-value is the larger of
 * the two. Rows without a crew are left out.
 */
export function crewPatterns(
  counts: SeasonCounts,
  settings: PatternSettings,
): { patterns: CrewPattern[]; family: Family } {
  const groups = groupRows(counts, 'duty').map((group) => {
    const members = group.members.filter((member) => counts.rows[member]!.crew !== '');
    return new ComparedGroup(counts, { ...group, members }, counts.crew, counts.observerAndPosition);
  });
  const variation = estimateGameVariation(counts, groups, 'misses');
  const builder = new FamilyBuilder<{
    compared: ComparedGroup;
    unit: number;
    misses: Comparison;
    overdispersion: number;
  }>(settings.falseDiscoveryRate);
  for (const compared of groups) {
    for (let unit = 0; unit < compared.size; unit++) {
      const misses = compared.compare(unit, 'misses');
      if (misses.comparable.opportunities < settings.minimumOpportunities) {
        builder.skip();
        continue;
      }
      let tested = { pValue: 1, overdispersion: 1 };
      if (misses.comparable.events > misses.nullMean) {
        const rows = compared.rowsOf(unit);
        if (gamesWith(rows, 'misses') >= settings.minimumGames && officialsWithMisses(rows) >= 2) {
          tested = pValueOf(compared, unit, 'misses', 'more', variation);
          if (tested.pValue <= settings.falseDiscoveryRate) {
            tested.pValue = Math.max(tested.pValue, withoutWorst(counts, compared, unit, variation));
          }
        }
      }
      builder.add({ compared, unit, misses, overdispersion: tested.overdispersion }, tested.pValue);
    }
  }
  const { found, family } = builder.judge();
  const patterns = found.map((judged): CrewPattern => {
    const { compared, unit, misses, overdispersion } = judged.candidate;
    return {
      crew: misses.unit,
      officialsWithMisses: officialsWithMisses(compared.rowsOf(unit)),
      ...evidenceOf(compared, unit, misses, judged, overdispersion, settings),
    };
  });
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  return { patterns, family };
}
