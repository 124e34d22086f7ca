import { Baselines, type LeftOut, remembered, settle } from './baseline.ts';
import { ComparedGroup, type Comparison } from './comparison.ts';
import { gamesWith, prepareCounts, type SeasonCounts } from './counts.ts';
import { type Evidence, evidenceOf } from './evidence.ts';
import { fisherExactTest, type Rate } from './exact-tests.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { estimateGameVariation, type GameVariation, pValueOf, usualEvents } from './game-variation.ts';
import { groupRows } from './row-groups.ts';
import type { PatternSettings } from './settings.ts';

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

/** Level at which detail of a finding already made (only here or everywhere) is decided. */
const detailLevel = 0.05;

/** Every official against peers in the position, duty by duty and cut by cut. */
export interface ComparedOfficials {
  groups: readonly ComparedGroup[];
  missVariation: GameVariation;
  modelVariation: GameVariation;
  /** Usual misses by row number. */
  usual: Float64Array;
}

export function compareOfficials(counts: SeasonCounts, usual: Float64Array): ComparedOfficials {
  const groups = groupRows(counts, 'duty and position').map(
    (group) => new ComparedGroup(counts, group, counts.official, counts.observer),
  );
  return {
    groups,
    missVariation: estimateGameVariation(counts, groups, 'misses', usual),
    modelVariation: estimateGameVariation(counts, groups, 'model', usualEvents(counts, 'model')),
    usual,
  };
}

interface Candidate {
  compared: ComparedGroup;
  unit: number;
  misses: Comparison;
  overdispersion: number;
}

const notFound = { pValue: 1, overdispersion: 1 };

/**
 * Duties that one official misses more often than peers in the position, beyond chance: one-sided exact
 * test stratified by observer, Benjamini and Hochberg over every official, duty and cut of the season, and
 * misses spread over enough games. Peers are those who are not found at the duty themselves (see `settle`); who has
 * too few chances beside them is held against all again, which can only hide. Sorted by consequence.
 *
 * Promise: where officials do not differ, the chance that a season shows any pattern is at most q.
 */
export function officialPatterns(
  counts: SeasonCounts,
  { groups, missVariation, usual }: ComparedOfficials,
  settings: PatternSettings,
): { patterns: OfficialPattern[]; family: Family; leftOut: LeftOut } {
  const { minimumGames, minimumOpportunities } = settings;
  const baselines = new Baselines(groups, 'misses');
  const tested = new Map<ComparedGroup, (Candidate & { pValue: number })[]>();
  const test = (against: ComparedGroup) =>
    Array.from({ length: against.size }, (_, unit) => {
      const { compared, found: misses } = against.compareWithEnough(unit, 'misses', minimumOpportunities);
      const worth =
        misses.comparable.opportunities >= minimumOpportunities &&
        misses.comparable.events > misses.nullMean &&
        gamesWith(compared.rowsOf(unit), 'misses') >= minimumGames;
      return {
        compared,
        unit,
        misses,
        ...(worth ? pValueOf(compared, unit, 'misses', 'more', missVariation, misses) : notFound),
      };
    });
  const { result, leftOut } = settle(groups, (without) => {
    const builder = new FamilyBuilder<Candidate>(settings.falseDiscoveryRate);
    for (const against of baselines.without(without)) {
      for (const { pValue, ...candidate } of remembered(tested, against, test)) {
        if (candidate.misses.comparable.opportunities < minimumOpportunities) builder.skip();
        else builder.add(candidate, pValue);
      }
    }
    const { found, family } = builder.judge();
    return {
      found: found.map(({ candidate, ...judged }) => ({ ...candidate, ...judged, event: 'misses' as const })),
      family,
    };
  });
  const wholes = new Map<string, ComparedGroup>();
  for (const compared of baselines.without(leftOut)) {
    const { position, duty, situationCut } = compared.group;
    if (situationCut === null) wholes.set(`${position}\n${duty}`, compared);
  }
  const patterns = result.found.map((judged): OfficialPattern => {
    const { compared, unit, misses, overdispersion } = judged;
    const { position, duty, situationCut } = compared.group;
    const whole = wholes.get(`${position}\n${duty}`);
    return {
      official: misses.unit,
      position,
      ...evidenceOf(compared, unit, misses, judged, overdispersion, { settings, usual }),
      ...(situationCut !== null && whole
        ? compareWithElsewhere(counts, compared, whole, unit, missVariation)
        : { elsewhere: null, onlyHere: false }),
      headline: false,
    };
  });
  patterns.sort((a, b) => b.consequence - a.consequence || a.pValue - b.pValue);
  markHeadlines(patterns);
  return { patterns, family: result.family, leftOut };
}

/**
 * The same duty outside the cut: for each official and game the whole duty's counts less the cut's.
 * The cut stands alone when the official misses more in it than elsewhere (Fisher) and is not above peers
 * elsewhere. This only describes a finding already made; it makes none.
 */
function compareWithElsewhere(
  counts: SeasonCounts,
  cut: ComparedGroup,
  whole: ComparedGroup,
  unit: number,
  missVariation: GameVariation,
): Pick<OfficialPattern, 'elsewhere' | 'onlyHere'> {
  const cells = new Map<string, { opportunities: number; misses: number }>();
  const cellOf = (member: number) => {
    const row = counts.rows[member]!;
    return `${row.official}\n${row.game}\n${row.observer}`;
  };
  for (const member of cut.group.members) {
    const row = counts.rows[member]!;
    const cell = cells.get(cellOf(member)) ?? { opportunities: 0, misses: 0 };
    cell.opportunities += row.opportunities;
    cell.misses += row.misses;
    cells.set(cellOf(member), cell);
  }
  const rest = whole.group.members.map((member) => {
    const row = counts.rows[member]!;
    const cell = cells.get(cellOf(member));
    const opportunities = Math.max(0, row.opportunities - (cell?.opportunities ?? 0));
    const misses = Math.min(opportunities, Math.max(0, row.misses - (cell?.misses ?? 0)));
    return { ...row, situationCut: null, opportunities, misses, model: 0 };
  });
  const restCounts = prepareCounts(rest);
  const [group] = groupRows(restCounts, 'duty and position');
  const nothing = { elsewhere: { events: 0, opportunities: 0, expected: 0 }, onlyHere: false };
  if (!group) return nothing;
  const everybody = new ComparedGroup(restCounts, group, restCounts.official, restCounts.observer);
  const compared = everybody.without(cut.namesLeftOut);
  const there = compared.find(cut.nameOf(unit));
  if (there < 0) return nothing;
  const elsewhere = compared.compare(there, 'misses');
  const here = cut.compare(unit, 'misses');
  const { pValue: pElsewhere } = pValueOf(compared, there, 'misses', 'more', missVariation);
  return {
    elsewhere: { ...elsewhere.own, expected: elsewhere.expected },
    onlyHere: fisherExactTest(here.own, elsewhere.own, 'more') <= detailLevel && pElsewhere > detailLevel,
  };
}

/** Where a cut stands alone it is the finding; else the whole duty; else the weightiest cut. */
function markHeadlines(patterns: OfficialPattern[]): void {
  const byDuty = new Map<string, OfficialPattern[]>();
  for (const pattern of patterns) {
    const key = `${pattern.official}\n${pattern.position}\n${pattern.duty}`;
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
