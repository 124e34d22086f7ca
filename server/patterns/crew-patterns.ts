import { Baselines, remembered, settle } from './baseline.ts';
import { ComparedGroup, type Comparison } from './comparison.ts';
import { type CountRow, gamesWith, type SeasonCounts } from './counts.ts';
import { type Evidence, evidenceOf } from './evidence.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { estimateGameVariation, type GameVariation, pValueOf } from './game-variation.ts';
import { permutedGames } from './games-of-group.ts';
import { groupRows } from './row-groups.ts';
import type { PatternSettings } from './settings.ts';

export interface CrewPattern extends Evidence {
  crew: string;
  /** Officials of the crew with at least one of the misses. */
  officialsWithMisses: number;
}

interface Candidate {
  compared: ComparedGroup;
  unit: number;
  misses: Comparison;
  overdispersion: number;
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
  const against = rest.without(compared.namesLeftOut);
  return same < 0 ? 1 : pValueOf(against, same, 'misses', 'more', variation).pValue;
}

function officialsWithMisses(rows: readonly CountRow[]): number {
  return new Set(rows.filter((row) => row.misses > 0).map((row) => row.official)).size;
}

/**
 * Duties that one crew misses more often than the other crews, beyond chance, stratified by observer and
 * position (positions differ in how hard a duty is for them). One official's habit is that official's pattern, not
 * the crew's: the crew must stand out without the official who missed most, too; and a crew has few games, so it must
 * stand out when whole games are exchanged between crews as well. Its p-value is the largest of the three. Crews found at a duty leave the baseline of the others (see `settle`). Rows without a crew are left out.
 */
export function crewPatterns(
  counts: SeasonCounts,
  usual: Float64Array,
  settings: PatternSettings,
): { patterns: CrewPattern[]; family: Family } {
  const groups = groupRows(counts, 'duty').map((group) => {
    const members = group.members.filter((member) => counts.rows[member]!.crew !== '');
    return new ComparedGroup(counts, { ...group, members }, counts.crew, counts.observerAndPosition);
  });
  const variation = estimateGameVariation(counts, groups, 'misses', usual);
  const { minimumOpportunities, minimumGames, falseDiscoveryRate } = settings;
  const baselines = new Baselines(groups, 'misses');
  const tested = new Map<ComparedGroup, (Candidate & { pValue: number })[]>();
  const test = (against: ComparedGroup) =>
    Array.from({ length: against.size }, (_, unit) => {
      const { compared, found: misses } = against.compareWithEnough(unit, 'misses', minimumOpportunities);
      const candidate = { compared, unit, misses, overdispersion: 1, pValue: 1 };
      const enough = misses.comparable.opportunities >= minimumOpportunities;
      if (!enough || misses.comparable.events <= misses.nullMean) return candidate;
      const rows = compared.rowsOf(unit);
      if (gamesWith(rows, 'misses') < minimumGames || officialsWithMisses(rows) < 2) return candidate;
      return { ...candidate, ...pValueOf(compared, unit, 'misses', 'more', variation, misses) };
    });
  const ofOthersAndGames = new Map<Candidate, number>();
  const mustAgree = (candidate: Candidate) =>
    remembered(ofOthersAndGames, candidate, ({ compared, unit }) =>
      Math.max(withoutWorst(counts, compared, unit, variation), permutedGames(compared, unit, 'misses')),
    );
  const { result } = settle(groups, (without) => {
    const builder = new FamilyBuilder<Candidate>(falseDiscoveryRate);
    for (const against of baselines.without(without)) {
      for (const candidate of remembered(tested, against, test)) {
        if (candidate.misses.comparable.opportunities < minimumOpportunities) builder.skip();
        else builder.add(candidate, candidate.pValue);
      }
    }
    const { found, family } = builder.judge(mustAgree);
    return {
      found: found.map(({ candidate, ...judged }) => ({ ...candidate, ...judged, event: 'misses' as const })),
      family,
    };
  });
  const patterns = result.found.map((judged): CrewPattern => {
    const { compared, unit, misses, overdispersion } = judged;
    return {
      crew: misses.unit,
      officialsWithMisses: officialsWithMisses(compared.rowsOf(unit)),
      ...evidenceOf(compared, unit, misses, judged, overdispersion, { settings, usual }),
    };
  });
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  return { patterns, family: result.family };
}
