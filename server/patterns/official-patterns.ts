import {
  type ComparedGroup,
  type Comparison,
  compareUnits,
  gamesWith,
  groupRows,
  type OthersRate,
  pValueOf,
} from './comparison.ts';
import type { CountRow, SeasonCounts } from './counts.ts';
import { fisherExactTest, type Rate } from './exact-tests.ts';
import { type Family, FamilyBuilder, type Judged } from './family.ts';
import { mannKendall, type Trend } from './mann-kendall.ts';
import { type PatternSettings, weightOf } from './settings.ts';
import { type Interval, wilsonInterval } from './wilson-interval.ts';

/** One game in a week-by-week strip. `expected` is what peers would have missed; null where none compare. */
export interface WeekCount {
  week: number;
  game: string;
  opportunities: number;
  misses: number;
  model: number;
  expected: number | null;
}

/** What every pattern and strength shows, whoever it is about. */
export interface Evidence {
  duty: string;
  /** Null: the whole duty. */
  situationCut: string | null;
  opportunities: number;
  misses: number;
  model: number;
  missRate: number;
  interval: Interval;
  games: number;
  gamesWithMisses: number;
  /** Peers' own counts, unadjusted. */
  peers: Rate;
  /** Chances and misses that the test rests on: seen by observers who saw peers too. */
  comparable: Rate;
  /** Misses peers would have had in the comparable chances, marked by the same observers. */
  expected: number;
  /** `comparable` misses less `expected`. */
  excess: number;
  weight: number;
  /** Weight times excess misses: what the list is sorted by. */
  consequence: number;
  pValue: number;
  /** Benjamini-Hochberg adjusted within its family. */
  adjustedP: number;
  weeks: WeekCount[];
  trend: Trend;
}

export interface OfficialPattern extends Evidence {
  official: string;
  position: string;
  /** Where this is a cut: the same duty outside the cut. Null for a whole duty. */
  elsewhere: (Rate & { expected: number }) | null;
  /** A cut whose misses are not matched elsewhere in the duty: "only at the goal line". */
  onlyHere: boolean;
  /** One per official and duty carries the finding; the others are detail of it. */
  headline: boolean;
}

export type StrengthKind = 'fewer misses' | 'more model plays';

export interface Strength extends Evidence {
  official: string;
  position: string;
  kind: StrengthKind;
}

/** Level at which detail of a finding already made (only here or everywhere) is decided. */
const detailLevel = 0.05;

export function byWeek(rows: readonly CountRow[], stratumOf: (row: CountRow) => string, rate: OthersRate) {
  const games = new Map<string, WeekCount>();
  for (const row of rows) {
    let entry = games.get(row.game);
    if (!entry) {
      entry = { week: row.week, game: row.game, opportunities: 0, misses: 0, model: 0, expected: null };
      games.set(row.game, entry);
    }
    entry.opportunities += row.opportunities;
    entry.misses += row.misses;
    entry.model += row.model;
    const others = rate(stratumOf(row));
    if (others !== undefined) entry.expected = (entry.expected ?? 0) + others * row.opportunities;
  }
  return [...games.values()].sort((a, b) => a.week - b.week || (a.game < b.game ? -1 : 1));
}

/** Builds what is shown of a comparison that was found. `missComparison` holds its misses, whatever was tested. */
export function evidence(
  group: { duty: string; situationCut: string | null },
  judged: Pick<Judged<unknown>, 'pValue' | 'adjustedP'>,
  missComparison: Comparison,
  weeks: WeekCount[],
  settings: PatternSettings,
): Evidence {
  const { own, others, comparable, expected, rows } = missComparison;
  const weight = weightOf(settings, group.duty);
  const excess = comparable.events - expected;
  let model = 0;
  for (const row of rows) model += row.model;
  return {
    duty: group.duty,
    situationCut: group.situationCut,
    opportunities: own.opportunities,
    misses: own.events,
    model,
    missRate: own.events / own.opportunities,
    interval: wilsonInterval(own.events, own.opportunities, settings.confidence),
    games: gamesWith(rows, 'opportunities'),
    gamesWithMisses: gamesWith(rows, 'misses'),
    peers: others,
    comparable,
    expected,
    excess,
    weight,
    consequence: weight * excess,
    pValue: judged.pValue,
    adjustedP: judged.adjustedP,
    weeks,
    trend: mannKendall(weeks.map((week) => week.misses / week.opportunities)),
  };
}

const officialOf = (row: CountRow) => row.official;
const observerOf = (row: CountRow) => row.observer;
const dutyAt = (position: string, duty: string) => `${position}\n${duty}`;
const keyOf = (official: string, position: string, duty: string) => `${official}\n${position}\n${duty}`;

interface Candidate {
  rows: readonly CountRow[];
  duty: string;
  situationCut: string | null;
  position: string;
  compared: ComparedGroup;
  comparison: Comparison;
}

function groupsOfOfficials(counts: SeasonCounts, event: 'misses' | 'model') {
  return groupRows(counts.rows, true).map((group) => ({
    ...group,
    compared: compareUnits(group.rows, officialOf, observerOf, event),
  }));
}

function weeksOf(candidate: Candidate): WeekCount[] {
  const { compared, comparison } = candidate;
  return byWeek(comparison.rows, observerOf, compared.othersRate(comparison.unit));
}

/**
 * Duties that one official misses more often than peers in the position, beyond chance: one-sided exact
 * test stratified by observer, Benjamini and Hochberg over every official, duty and cut of the season, and
 * misses spread over enough games. Sorted by consequence.
 *
 * Promise: where officials do not differ, the chance that a season shows any pattern is at most q.
 */
export function officialPatterns(
  counts: SeasonCounts,
  settings: PatternSettings,
): { patterns: OfficialPattern[]; family: Family } {
  const groups = groupsOfOfficials(counts, 'misses');
  const builder = new FamilyBuilder<Candidate>(settings.falseDiscoveryRate);
  for (const group of groups) {
    for (const comparison of group.compared.comparisons) {
      if (comparison.comparable.opportunities < settings.minimumOpportunities) {
        builder.skip();
        continue;
      }
      const spread = gamesWith(comparison.rows, 'misses') >= settings.minimumGames;
      builder.add({ ...group, comparison }, spread ? pValueOf(comparison, 'more') : 1);
    }
  }
  const { found, family } = builder.judge();

  const wholeRows = new Map<string, readonly CountRow[]>();
  for (const group of groups) {
    if (group.situationCut === null) wholeRows.set(dutyAt(group.position, group.duty), group.rows);
  }
  const patterns = found.map((judged): OfficialPattern => {
    const { candidate } = judged;
    const official = candidate.comparison.unit;
    const whole = wholeRows.get(dutyAt(candidate.position, candidate.duty));
    return {
      official,
      position: candidate.position,
      ...evidence(candidate, judged, candidate.comparison, weeksOf(candidate), settings),
      ...(candidate.situationCut !== null && whole
        ? compareWithElsewhere(candidate, whole)
        : { elsewhere: null, onlyHere: false }),
      headline: false,
    };
  });
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  markHeadlines(patterns);
  return { patterns, family };
}

/**
 * The same duty outside the cut: for each official, game and observer the whole duty's counts less the cut's.
 * The cut stands alone when the official misses more in it than elsewhere (Fisher) and is not above peers
 * elsewhere. This only describes a finding already made; it makes none.
 */
function compareWithElsewhere(
  cut: Candidate,
  whole: readonly CountRow[],
): Pick<OfficialPattern, 'elsewhere' | 'onlyHere'> {
  const cellOf = (row: CountRow) => `${row.official}\n${row.game}\n${row.observer}`;
  const inCut = new Map<string, CountRow>();
  for (const row of cut.rows) inCut.set(cellOf(row), row);
  const rest: CountRow[] = [];
  for (const row of whole) {
    const part = inCut.get(cellOf(row));
    const opportunities = row.opportunities - (part?.opportunities ?? 0);
    const misses = Math.max(0, row.misses - (part?.misses ?? 0));
    if (opportunities > 0) rest.push({ ...row, opportunities, misses: Math.min(misses, opportunities) });
  }
  const official = cut.comparison.unit;
  const elsewhere = compareUnits(rest, officialOf, observerOf, 'misses').comparisons.find(
    (comparison) => comparison.unit === official,
  );
  if (!elsewhere) return { elsewhere: { events: 0, opportunities: 0, expected: 0 }, onlyHere: false };
  const onlyHere =
    fisherExactTest(cut.comparison.own, elsewhere.own, 'more') <= detailLevel &&
    pValueOf(elsewhere, 'more') > detailLevel;
  return { elsewhere: { ...elsewhere.own, expected: elsewhere.expected }, onlyHere };
}

/** Where a cut stands alone it is the finding; else the whole duty; else the weightiest cut. */
function markHeadlines(patterns: OfficialPattern[]): void {
  const byDuty = new Map<string, OfficialPattern[]>();
  for (const pattern of patterns) {
    const key = keyOf(pattern.official, pattern.position, pattern.duty);
    const list = byDuty.get(key);
    if (list) list.push(pattern);
    else byDuty.set(key, [pattern]);
  }
  for (const list of byDuty.values()) {
    const alone = list.find((pattern) => pattern.onlyHere);
    const whole = list.find((pattern) => pattern.situationCut === null);
    (alone ?? whole ?? list[0]!).headline = true;
  }
}

/**
 * The mirror image: duties that one official misses less often than peers, or that observers marked *model*
 * more often, by the same tests with the tails turned, in a family of their own. Most certain first.
 */
export function officialStrengths(
  counts: SeasonCounts,
  settings: PatternSettings,
): { strengths: Strength[]; family: Family } {
  const builder = new FamilyBuilder<Candidate & { kind: StrengthKind; misses: Comparison }>(
    settings.falseDiscoveryRate,
  );
  for (const group of groupRows(counts.rows, true)) {
    const byMisses = compareUnits(group.rows, officialOf, observerOf, 'misses');
    const byModel = compareUnits(group.rows, officialOf, observerOf, 'model');
    for (const [i, misses] of byMisses.comparisons.entries()) {
      const model = byModel.comparisons[i]!;
      if (misses.comparable.opportunities < settings.minimumOpportunities) {
        builder.skip();
        continue;
      }
      const played = gamesWith(misses.rows, 'opportunities') >= settings.minimumGames;
      const shown = gamesWith(model.rows, 'model') >= settings.minimumGames;
      const shared = { ...group, compared: byMisses, misses };
      builder.add(
        { ...shared, comparison: misses, kind: 'fewer misses' },
        played ? pValueOf(misses, 'fewer') : 1,
      );
      builder.add(
        { ...shared, comparison: model, kind: 'more model plays' },
        shown ? pValueOf(model, 'more') : 1,
      );
    }
  }
  const { found, family } = builder.judge();
  const strengths = found.map(
    (judged): Strength => ({
      official: judged.candidate.comparison.unit,
      position: judged.candidate.position,
      kind: judged.candidate.kind,
      ...evidence(
        judged.candidate,
        judged,
        judged.candidate.misses,
        weeksOf({ ...judged.candidate, comparison: judged.candidate.misses }),
        settings,
      ),
    }),
  );
  strengths.sort((a, b) => a.adjustedP - b.adjustedP || a.consequence - b.consequence);
  return { strengths, family };
}
