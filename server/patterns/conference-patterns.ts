import { ComparedGroup } from './comparison.ts';
import { type CountRow, gamesWith, type SeasonCounts } from './counts.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { GamesBesideUsual, permutedGames } from './games-of-group.ts';
import { groupRows } from './row-groups.ts';
import { type PatternSettings, weightOf } from './settings.ts';
import { judgeTrends, type Trend, type TrendFamily, trendWithinStrata } from './trend.ts';
import { type Interval, wilsonInterval } from './wilson-interval.ts';

interface ConferenceWeek {
  week: number;
  opportunities: number;
  misses: number;
}

/** One duty over the whole conference: a training topic when it stands high. */
export interface ConferenceDuty {
  duty: string;
  weight: number;
  opportunities: number;
  misses: number;
  missRate: number;
  interval: Interval;
  /** Weight times misses: what the whole staff lost by it. */
  cost: number;
  games: number;
  officials: number;
  officialsWithMisses: number;
  weeks: ConferenceWeek[];
  /** Of the misses game by game, within the games of each observer. */
  trend: Trend;
}

/** A duty that one week's games missed more than the season's other weeks, beyond chance. */
export interface WeekPattern {
  week: number;
  duty: string;
  opportunities: number;
  misses: number;
  /** Misses the other weeks' rates would give, same observers and positions. */
  expected: number;
  weight: number;
  consequence: number;
  pValue: number;
  adjustedP: number;
}

function weekly(rows: readonly CountRow[]): ConferenceWeek[] {
  const weeks = new Map<number, ConferenceWeek>();
  for (const row of rows) {
    let entry = weeks.get(row.week);
    if (!entry) {
      entry = { week: row.week, opportunities: 0, misses: 0 };
      weeks.set(row.week, entry);
    }
    entry.opportunities += row.opportunities;
    entry.misses += row.misses;
  }
  return [...weeks.values()].sort((a, b) => a.week - b.week);
}

/** Games by who watched them: what a trend of the whole conference is stratified by. */
function gamesByObserver(counts: SeasonCounts, members: readonly number[], usual: Float64Array) {
  const strata = new Map<number, GamesBesideUsual>();
  for (const member of members) {
    const observer = counts.observer.of[member]!;
    const games = strata.get(observer) ?? new GamesBesideUsual();
    games.add(counts.rows[member]!, 1, usual[member]!);
    strata.set(observer, games);
  }
  const inOrder = [...strata].sort(([a], [b]) =>
    counts.observer.names[a]! < counts.observer.names[b]! ? -1 : 1,
  );
  return inOrder.map(([, games]) => games.all());
}

/**
 * The conference's own misses, dearest first, each with its weeks: description, not a test. Only its trends are tested,
 * all duties as one family.
 */
export function conferenceDuties(
  counts: SeasonCounts,
  usual: Float64Array,
  settings: PatternSettings,
): { duties: ConferenceDuty[]; family: TrendFamily } {
  const duties: (Omit<ConferenceDuty, 'trend'> & { members: readonly number[] })[] = [];
  for (const group of groupRows(counts, 'duty')) {
    if (group.situationCut !== null) continue;
    let opportunities = 0;
    let misses = 0;
    const officials = new Set<string>();
    const missing = new Set<string>();
    const rows = group.members.map((member) => counts.rows[member]!);
    for (const row of rows) {
      opportunities += row.opportunities;
      misses += row.misses;
      officials.add(row.official);
      if (row.misses > 0) missing.add(row.official);
    }
    const weight = weightOf(settings, group.duty);
    const weeks = weekly(rows);
    duties.push({
      duty: group.duty,
      weight,
      opportunities,
      misses,
      missRate: misses / opportunities,
      interval: wilsonInterval(misses, opportunities, settings.confidence),
      cost: weight * misses,
      games: gamesWith(rows, 'opportunities'),
      officials: officials.size,
      officialsWithMisses: missing.size,
      weeks,
      members: group.members,
    });
  }
  duties.sort((a, b) => b.cost - a.cost || (a.duty < b.duty ? -1 : 1));
  const { trends, family } = judgeTrends(
    duties.map(({ members }) => trendWithinStrata(gamesByObserver(counts, members, usual))),
    settings.falseDiscoveryRate,
  );
  return { duties: duties.map(({ members: _, ...duty }, i) => ({ ...duty, trend: trends[i]! })), family };
}

/**
 * Weeks in which the conference missed a duty more than in its other weeks, stratified by observer and
 * position, in a family of their own (every duty and week). Misses in at least two games of that week. Games differ, so
 * plays are not the unit: p is the larger of the exact test's and that of whole games exchanged over the weeks.
 */
export function weekPatterns(
  counts: SeasonCounts,
  settings: PatternSettings,
): { patterns: WeekPattern[]; family: Family } {
  const groups = groupRows(counts, 'duty')
    .filter((group) => group.situationCut === null)
    .map((group) => new ComparedGroup(counts, group, counts.week, counts.observerAndPosition));
  type Tested = Omit<WeekPattern, 'pValue' | 'adjustedP'> & { compared: ComparedGroup; unit: number };
  const builder = new FamilyBuilder<Tested>(settings.falseDiscoveryRate);
  for (const compared of groups) {
    const { duty } = compared.group;
    const weight = weightOf(settings, duty);
    for (let unit = 0; unit < compared.size; unit++) {
      const comparison = compared.compare(unit, 'misses');
      if (comparison.comparable.opportunities < settings.minimumOpportunities) {
        builder.skip();
        continue;
      }
      const worth =
        comparison.comparable.events > comparison.nullMean && gamesWith(compared.rowsOf(unit), 'misses') >= 2;
      const pValue = worth ? compared.exactPValue(unit, 'misses', 'more', comparison) : 1;
      builder.add(
        {
          compared,
          unit,
          week: Number(comparison.unit),
          duty,
          opportunities: comparison.own.opportunities,
          misses: comparison.own.events,
          expected: comparison.expected,
          weight,
          consequence: weight * (comparison.comparable.events - comparison.expected),
        },
        pValue,
      );
    }
  }
  const { found, family } = builder.judge(({ compared, unit }) => permutedGames(compared, unit, 'misses'));
  const patterns = found.map(({ candidate: { compared: _, unit: __, ...week }, pValue, adjustedP }) => ({
    ...week,
    pValue,
    adjustedP,
  }));
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  return { patterns, family };
}
