import jstat from 'jstat';
import { comparableGroups } from './connectedness.ts';
import { type GradeOptions, gradeOf, type WeightedCount } from './game-grade.ts';
import { groupBy } from './group-by.ts';
import { type FactorEffects, fitMixedModel, type MixedModelFit } from './mixed-model.ts';
import { NormalDraws } from './normal-draws.ts';
import { type Combination, levelErrors, predict } from './prediction.ts';
import { posteriorRanks, type Rank } from './ranks.ts';
import { type Eligibility, gradeSeason, type SeasonGrade } from './season-grade.ts';

/** One report's counts for one official: a row of the season model. Two reports of a game are two rows. */
export interface GradedGame {
  official: string;
  position: string;
  game: string;
  observer: string;
  counts: readonly WeightedCount[];
}

export interface SeasonSettings extends Eligibility, GradeOptions {
  /** Places there are for postseason in each position. */
  top: number;
  /** Seed of the draws behind ranks; the same seed and data give the same figures. */
  seed: number;
  /** Draws behind ranks; see `posteriorRanks`. 0 where only the places are asked for. */
  draws?: number;
}

/** A grade with severity of observers and hardness of games taken out. */
export interface AdjustedGrade {
  grade: number;
  standardError: number;
  /** 90% interval. */
  low: number;
  high: number;
  /** 1 − prediction error variance ÷ variance between officials: 0 says nothing, 1 all about the official. */
  reliability: number;
  /** How it differs from the raw grade: raw + `parts` = adjusted. */
  parts: AdjustmentParts;
}

/** An error of 0 comes of too few or too equal grades; it is not certainty. */
export const errorUnknown = ({ standardError }: AdjustedGrade): boolean => standardError < 1e-9;

/** What the adjustment added to a raw grade, in points. */
export interface AdjustmentParts {
  /** For observers stricter (above 0) or more lenient (below 0) than others, weighed over the official's games. */
  observers: number;
  /** For games in which everyone's grades were low (above 0) or high (below 0). */
  games: number;
  /** Toward the position's average, because few opportunities say little. */
  caution: number;
}

/** One official in one position. */
export interface Standing {
  official: string;
  position: string;
  season: SeasonGrade;
  /** null when the model could not be fitted; the reason is in the season's notes. */
  adjusted: AdjustedGrade | null;
  /** Rank among the eligible of the same position and group; null with a reason. */
  rank: Rank | null;
  unrankedReason: string | null;
  /** Number of the comparable group (0 the largest); −1 without a graded game. */
  group: number;
}

/** How far one observer's marks sit from the others' on like performance, in points of a grade. */
export interface Severity {
  observer: string;
  games: number;
  rows: number;
  /** Below 0 strict, above 0 lenient; null when the model could not be fitted. */
  effect: number | null;
  standardError: number;
  low: number;
  high: number;
  group: number;
}

export interface SeasonStandings {
  /** Positions in the order they first came; within each, ranked first, best first. */
  standings: Standing[];
  /** Strictest first. */
  observers: Severity[];
  /** Standard deviations in points: between officials, observers and games; null without a fit. */
  spread: { official: number; observer: number; game: number } | null;
  /** Officials and observers that can be compared; more than one means that not everyone can be. */
  groups: { officials: string[]; observers: string[] }[];
  /** In plain words: why there is no fit, which variances are 0. */
  notes: string[];
}

/**
 * Grades a season: raw and adjusted grades, ranks with their uncertainty, observers' severity.
 *
 * The model is y = μ_position + official + observer + game + ε with ε's variance σ²/(Σ weight ×
 * opportunities), by restricted maximum likelihood (see `mixed-model.ts`). Ranks are within a position, among
 * the eligible, and never across groups that no report links.
 *
 * @throws RangeError as `gradeOf`.
 */
export function gradeWholeSeason(rows: readonly GradedGame[], settings: SeasonSettings): SeasonStandings {
  const usable = rows.flatMap(({ official, position, game, observer, counts }): UsableRow[] => {
    const graded = gradeOf(counts, settings);
    if (graded.grade === null) return [];
    return [{ official, position, game, observer, value: graded.grade, weight: graded.weight }];
  });
  const groups = comparableGroups(usable);
  const groupOf = new Map<string, number>();
  const groupOfObserver = new Map<string, number>();
  for (const [number, group] of groups.entries()) {
    for (const official of group.officials) groupOf.set(official, number);
    for (const observer of group.observers) groupOfObserver.set(observer, number);
  }

  const positions = [...new Set(rows.map((row) => row.position))];
  const usableOf = groupBy(usable, (row) => row.position);
  const gradedPositions = positions.filter((position) => usableOf.has(position));
  const result = fitMixedModel({
    response: usable.map((row) => row.value),
    weights: usable.map((row) => row.weight),
    fixed: gradedPositions.map((position) => ({
      name: position,
      values: usable.map((row) => (row.position === position ? 1 : 0)),
    })),
    factors: [
      { name: 'official', levels: usable.map((row) => row.official) },
      { name: 'observer', levels: usable.map((row) => row.observer) },
      { name: 'game', levels: usable.map((row) => row.game) },
    ],
  });
  const fit = result.fitted ? result : null;
  const notes = result.fitted
    ? result.notes
    : [`no adjusted grades: ${whyNone(usable.length, gradedPositions.length, result.reason)}`];

  const adjust = fit && adjustment(fit, settings);
  const standings: Standing[] = [];
  const rowsOf = groupBy(rows, (row) => row.position);
  for (const position of positions) {
    const byOfficial = groupBy(rowsOf.get(position)!, (row) => row.official);
    const found = [...byOfficial].map(([official, own]): Standing => {
      const season = gradeSeason(
        own.map(({ game, counts }) => ({ game, rows: counts })),
        settings,
        settings,
      );
      return {
        official,
        position,
        season,
        adjusted: null,
        rank: null,
        unrankedReason: season.unrankedReason,
        group: groupOf.get(official) ?? -1,
      };
    });
    if (adjust) adjust(position, found, usableOf.get(position) ?? []);
    else for (const standing of found) standing.unrankedReason ??= notes[0]!;
    standings.push(...found.sort(bestFirst));
  }
  return {
    standings,
    observers: severities(usable, fit, groupOfObserver),
    spread: fit && {
      official: Math.sqrt(fit.factors[0]!.variance),
      observer: Math.sqrt(fit.factors[1]!.variance),
      game: Math.sqrt(fit.factors[2]!.variance),
    },
    groups,
    notes,
  };
}

/** The model's reason, in the words of the trade where it is a plain lack of grades. */
function whyNone(grades: number, positions: number, reason: string): string {
  if (grades === 0) return 'no report has a counted opportunity';
  if (grades > positions) return reason;
  const counted = (count: number, what: string) => (count === 1 ? `one ${what}` : `${count} ${what}s`);
  return `${counted(grades, 'game grade')} in ${counted(positions, 'position')} cannot tell skill from chance`;
}

/** A row with a grade. */
interface UsableRow extends Omit<GradedGame, 'counts'> {
  value: number;
  weight: number;
}

/** What fills in, from a fit, a position's adjusted grades and, group by group, its ranks. */
function adjustment(fit: MixedModelFit, settings: SeasonSettings) {
  const [official, observer, game] = fit.factors;
  const reliabilityOf = byLevel(official!, levelErrors(fit, 'official').reliabilities);
  const observerEffect = byLevel(observer!, observer!.effects);
  const gameEffect = byLevel(game!, game!.effects);
  const ranking = { top: settings.top, draws: settings.draws, normals: new NormalDraws(settings.seed) };

  return (position: string, found: readonly Standing[], usable: readonly UsableRow[]): void => {
    const rowsOf = groupBy(usable, (row) => row.official);
    const graded = found.filter((standing) => standing.season.pooled.grade !== null);
    for (const members of groupBy(graded, (standing) => standing.group).values()) {
      const { estimates, covariance } = predict(
        fit,
        members.map(
          ({ official: level }): Combination => ({
            fixed: { [position]: 1 },
            effects: [{ factor: 'official', level }],
          }),
        ),
      );
      for (const [i, standing] of members.entries()) {
        const standardError = Math.sqrt(covariance[i * members.length + i]!);
        const own = rowsOf.get(standing.official)!;
        const weight = own.reduce((sum, row) => sum + row.weight, 0);
        const over = (effect: (row: UsableRow) => number) =>
          own.reduce((sum, row) => sum + (row.weight / weight) * effect(row), 0);
        const observers = -over((row) => observerEffect.get(row.observer)!);
        const games = -over((row) => gameEffect.get(row.game)!);
        const raw = standing.season.pooled.grade!;
        standing.adjusted = {
          grade: estimates[i]!,
          standardError,
          ...interval(estimates[i]!, standardError),
          reliability: reliabilityOf.get(standing.official)!,
          parts: { observers, games, caution: estimates[i]! - raw - observers - games },
        };
      }
      const eligible = members.flatMap((standing, i) => (standing.unrankedReason === null ? [i] : []));
      const ranks = posteriorRanks(
        {
          estimates: eligible.map((i) => estimates[i]!),
          covariance: eligible.flatMap((i) => eligible.map((j) => covariance[i * members.length + j]!)),
        },
        ranking,
      );
      for (const [at, i] of eligible.entries()) members[i]!.rank = ranks[at]!;
    }
  };
}

/** A factor's values by level. */
function byLevel({ levels }: FactorEffects, values: ArrayLike<number>): Map<string | number, number> {
  return new Map(levels.map((level, index) => [level, values[index]!]));
}

function severities(
  usable: readonly { observer: string; game: string }[],
  fit: MixedModelFit | null,
  groupOf: ReadonlyMap<string, number>,
): Severity[] {
  const observer = fit?.factors[1];
  const effectOf = observer && byLevel(observer, observer.effects);
  const errorOf = observer && byLevel(observer, levelErrors(fit, observer.name).standardErrors);
  return [...groupBy(usable, (row) => row.observer)]
    .map(([observer, own]): Severity => {
      const effect = effectOf?.get(observer) ?? null;
      const standardError = errorOf?.get(observer) ?? 0;
      return {
        observer,
        games: new Set(own.map((row) => row.game)).size,
        rows: own.length,
        effect,
        standardError,
        ...interval(effect ?? 0, standardError),
        group: groupOf.get(observer) ?? -1,
      };
    })
    .sort((a, b) => (a.effect ?? 0) - (b.effect ?? 0) || (a.observer < b.observer ? -1 : 1));
}

function interval(center: number, standardError: number): { low: number; high: number } {
  const reach = jstat.jStat.normal.inv(0.95, 0, 1) * standardError;
  return { low: center - reach, high: center + reach };
}

/** Ranked before unranked, by group, then by adjusted and raw grade, then by name. */
function bestFirst(a: Standing, b: Standing): number {
  return (
    Number(a.rank === null) - Number(b.rank === null) ||
    Number(a.group < 0) - Number(b.group < 0) ||
    a.group - b.group ||
    (b.adjusted?.grade ?? -1) - (a.adjusted?.grade ?? -1) ||
    (b.season.pooled.grade ?? -1) - (a.season.pooled.grade ?? -1) ||
    (a.official < b.official ? -1 : 1)
  );
}
