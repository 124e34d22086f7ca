import { ComparedGroup, gamesWith, groupRows } from './comparison.ts';
import type { CountRow, SeasonCounts } from './counts.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { estimateGameVariation, pValueOf } from './game-variation.ts';
import { mannKendall, type Trend } from './mann-kendall.ts';
import { type PatternSettings, weightOf } from './settings.ts';
import { type Interval, wilsonInterval } from './wilson-interval.ts';

export interface ConferenceWeek {
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
  /** Of the weekly miss rates. */
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

/** The conference's own misses, dearest first, each with its weeks. Description, not a test. */
export function conferenceDuties(counts: SeasonCounts, settings: PatternSettings): ConferenceDuty[] {
  const duties: ConferenceDuty[] = [];
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
      trend: mannKendall(weeks.map((week) => week.misses / week.opportunities)),
    });
  }
  return duties.sort((a, b) => b.cost - a.cost || (a.duty < b.duty ? -1 : 1));
}

/**
 * Weeks in which the conference missed a duty more than in its other weeks, stratified by observer and
 * position, in a family of their own (every duty and week). Misses in at least two games of that week.
 */
export function weekPatterns(
  counts: SeasonCounts,
  settings: PatternSettings,
): { patterns: WeekPattern[]; family: Family } {
  const groups = groupRows(counts, 'duty')
    .filter((group) => group.situationCut === null)
    .map((group) => new ComparedGroup(counts, group, counts.week, counts.observerAndPosition));
  const variation = estimateGameVariation(counts, groups, 'misses');
  const builder = new FamilyBuilder<WeekPattern>(settings.falseDiscoveryRate);
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
      const pValue = worth ? pValueOf(compared, unit, 'misses', 'more', variation).pValue : 1;
      builder.add(
        {
          week: Number(comparison.unit),
          duty,
          opportunities: comparison.own.opportunities,
          misses: comparison.own.events,
          expected: comparison.expected,
          weight,
          consequence: weight * (comparison.comparable.events - comparison.expected),
          pValue: 1,
          adjustedP: 1,
        },
        pValue,
      );
    }
  }
  const { found, family } = builder.judge();
  const patterns = found.map(({ candidate, pValue, adjustedP }) => ({ ...candidate, pValue, adjustedP }));
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  return { patterns, family };
}
