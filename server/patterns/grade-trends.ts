import type { SeasonCounts } from './counts.ts';
import { GamesBesideUsual } from './games-of-group.ts';
import { type PatternSettings, weightOf } from './settings.ts';
import { judgeTrends, type Trend, type TrendFamily, trendBesideUsual } from './trend.ts';

/** Whether all that an official misses in a position, by weight, rises or falls over the weeks. */
export interface OfficialTrend {
  official: string;
  position: string;
  trend: Trend;
}

/**
 * The trend that a letter tells of an official's grades: weighted misses of all duties game by game, beside what is
 * usual with the observers who watched. All officials are one family.
 *
 * @param usual usual misses by row number
 */
export function officialTrends(
  counts: SeasonCounts,
  usual: Float64Array,
  settings: PatternSettings,
): { officials: OfficialTrend[]; family: TrendFamily } {
  const byOfficial = new Map<number, { official: string; position: string; games: GamesBesideUsual }>();
  const positions = counts.position.names.length;
  for (const [i, row] of counts.rows.entries()) {
    if (row.situationCut) continue;
    const key = counts.official.of[i]! * positions + counts.position.of[i]!;
    let entry = byOfficial.get(key);
    if (!entry) {
      entry = { official: row.official, position: row.position, games: new GamesBesideUsual() };
      byOfficial.set(key, entry);
    }
    entry.games.add(row, weightOf(settings, row.duty), usual[i]!);
  }
  const entries = [...byOfficial.values()];
  const { trends, family } = judgeTrends(
    entries.map(({ games }) => trendBesideUsual(games.all())),
    settings.falseDiscoveryRate,
  );
  const officials = entries.map(({ official, position }, i) => ({ official, position, trend: trends[i]! }));
  return { officials, family };
}
