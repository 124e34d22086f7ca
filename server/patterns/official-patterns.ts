import { ComparedGroup, type Comparison, gamesWith, groupRows } from './comparison.ts';
import type { SeasonCounts } from './counts.ts';
import { prepareCounts } from './counts.ts';
import { type Evidence, evidenceOf } from './evidence.ts';
import { fisherExactTest, type Rate } from './exact-tests.ts';
import { type Family, FamilyBuilder } from './family.ts';
import { estimateGameVariation, type GameVariation, pValueOf } from './game-variation.ts';
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

export type StrengthKind = 'fewer misses' | 'more model plays';

export interface Strength extends Evidence {
  official: string;
  position: string;
  kind: StrengthKind;
  /** Peers' model plays of their chances, unadjusted. */
  peersModel: Rate;
}

/** Level at which detail of a finding already made (only here or everywhere) is decided. */
const detailLevel = 0.05;

/** Every official against peers in the position, duty by duty and cut by cut. */
export interface ComparedOfficials {
  groups: readonly ComparedGroup[];
  missVariation: GameVariation;
  modelVariation: GameVariation;
}

export function compareOfficials(counts: SeasonCounts): ComparedOfficials {
  const groups = groupRows(counts, 'duty and position').map(
    (group) => new ComparedGroup(counts, group, counts.official, counts.observer),
  );
  return {
    groups,
    missVariation: estimateGameVariation(counts, groups, 'misses'),
    modelVariation: estimateGameVariation(counts, groups, 'model'),
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
 * misses spread over enough games. Sorted by consequence.
 *
 * Promise: where officials do not differ, the chance that a season shows any pattern is at most q.
 */
export function officialPatterns(
  counts: SeasonCounts,
  { groups, missVariation }: ComparedOfficials,
  settings: PatternSettings,
): { patterns: OfficialPattern[]; family: Family } {
  const builder = new FamilyBuilder<Candidate>(settings.falseDiscoveryRate);
  for (const compared of groups) {
    for (let unit = 0; unit < compared.size; unit++) {
      const misses = compared.compare(unit, 'misses');
      if (misses.comparable.opportunities < settings.minimumOpportunities) {
        builder.skip();
        continue;
      }
      const worth =
        misses.comparable.events > misses.nullMean &&
        gamesWith(compared.rowsOf(unit), 'misses') >= settings.minimumGames;
      const { pValue, overdispersion } = worth
        ? pValueOf(compared, unit, 'misses', 'more', missVariation)
        : notFound;
      builder.add({ compared, unit, misses, overdispersion }, pValue);
    }
  }
  const { found, family } = builder.judge();
  const wholes = new Map<string, ComparedGroup>();
  for (const compared of groups) {
    const { position, duty, situationCut } = compared.group;
    if (situationCut === null) wholes.set(`${position}\n${duty}`, compared);
  }
  const patterns = found.map((judged): OfficialPattern => {
    const { compared, unit, misses, overdispersion } = judged.candidate;
    const { position, duty, situationCut } = compared.group;
    const whole = wholes.get(`${position}\n${duty}`);
    return {
      official: misses.unit,
      position,
      ...evidenceOf(compared, unit, misses, judged, overdispersion, settings),
      ...(situationCut !== null && whole
        ? compareWithElsewhere(counts, compared, whole, unit, missVariation)
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
  const compared = new ComparedGroup(restCounts, group, restCounts.official, restCounts.observer);
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

/**
 * The mirror image: duties that one official misses less often than peers, or that observers marked *model*
 * more often, by the same tests with the tails turned, in a family of their own. Most certain first.
 */
export function officialStrengths(
  { groups, missVariation, modelVariation }: ComparedOfficials,
  settings: PatternSettings,
): { strengths: Strength[]; family: Family } {
  const { minimumGames, minimumOpportunities } = settings;
  const builder = new FamilyBuilder<Candidate & { kind: StrengthKind; model: Comparison }>(
    settings.falseDiscoveryRate,
  );
  for (const compared of groups) {
    for (let unit = 0; unit < compared.size; unit++) {
      const misses = compared.compare(unit, 'misses');
      if (misses.comparable.opportunities < minimumOpportunities) {
        builder.skip();
        continue;
      }
      const model = compared.compare(unit, 'model');
      const rows = compared.rowsOf(unit);
      const fewer =
        misses.comparable.events < misses.nullMean && gamesWith(rows, 'opportunities') >= minimumGames
          ? pValueOf(compared, unit, 'misses', 'fewer', missVariation)
          : notFound;
      const more =
        model.comparable.events > model.nullMean && gamesWith(rows, 'model') >= minimumGames
          ? pValueOf(compared, unit, 'model', 'more', modelVariation)
          : notFound;
      const shared = { compared, unit, misses, model };
      builder.add({ ...shared, kind: 'fewer misses', overdispersion: fewer.overdispersion }, fewer.pValue);
      builder.add({ ...shared, kind: 'more model plays', overdispersion: more.overdispersion }, more.pValue);
    }
  }
  const { found, family } = builder.judge();
  const strengths = found.map((judged): Strength => {
    const { compared, unit, misses, model, kind, overdispersion } = judged.candidate;
    return {
      official: misses.unit,
      position: compared.group.position,
      kind,
      peersModel: model.others,
      ...evidenceOf(compared, unit, misses, judged, overdispersion, settings),
    };
  });
  strengths.sort((a, b) => a.adjustedP - b.adjustedP || a.consequence - b.consequence);
  return { strengths, family };
}
