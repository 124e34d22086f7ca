import { type AdjustedGrade, adjustmentFrom } from './adjusted-grade.ts';
import type { ClipMark, ClipsTaken } from './clip-marks.ts';
import { fitWithClips } from './fit-with-clips.ts';
import type { GradeOptions } from './game-grade.ts';
import type { SharesOf } from './game-shares.ts';
import { groupBy } from './group-by.ts';
import type { HeldOutGame } from './held-out-error.ts';
import { heldOutGrades } from './held-out-grades.ts';
import { borrowing, type LastSeasonTaken } from './last-season.ts';
import { linearShares } from './linear-shares.ts';
import { NormalDraws } from './normal-draws.ts';
import { posteriorRanks, type Rank } from './ranks.ts';
import { fitSeason, type SeasonSpread, seasonFactors, spreadOf } from './season-fit.ts';
import { type Eligibility, gradeSeason, type SeasonGrade } from './season-grade.ts';
import { seasonNotes } from './season-notes.ts';
import { type CountedGame, type GradedGame, usableRows } from './season-rows.ts';
import { leaningsFrom, type Severity, severities } from './severity.ts';
import { variancesKnown, varianceUncertainty } from './variance-uncertainty.ts';

export interface SeasonSettings extends Eligibility, GradeOptions {
  /** Places there are for postseason in each position. */
  top: number;
  /** Seed of the draws behind ranks; the same seed and data give the same figures. */
  seed: number;
  /**
   * Draws behind ranks; see `posteriorRanks`. 0 where only grades and places are asked for: the errors beside them are then
   * those of variances taken for known.
   */
  draws?: number;
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

export interface SeasonStandings {
  /** Positions in the order they first came; within each, ranked first, best first. */
  standings: Standing[];
  /** Strictest first. */
  observers: Severity[];
  /** null without a fit. */
  spread: SeasonSpread | null;
  /** Officials and observers that can be compared; more than one means that not everyone can be. */
  groups: { officials: string[]; observers: string[] }[];
  /** In plain words: why there is no fit, which variances are 0. */
  notes: string[];
  /** What was taken in of marks of clips; null where none were to be. */
  clips: ClipsTaken | null;
  /** What was taken in of the season before; null where this one was to go by itself. */
  lastSeason: LastSeasonTaken | null;
}

/** A season's reports fitted by a model, before anybody is graded. */
export interface FittedSeason {
  /** How far each game's reports lay from what all others predict; nothing without a fit. */
  heldOut(): HeldOutGame[];
  /** @param games what the raw grades and the minimums to be ranked are counted from */
  standings(games: readonly CountedGame[]): SeasonStandings;
  /** What gives each game's part of a grade and of its uncertainty; null without a fit. */
  shares(): SharesOf | null;
}

/**
 * Grades a season: raw and adjusted grades, ranks with their uncertainty, observers' severity.
 *
 * Adjusted grades come from the mixed model of `season-fit.ts`. Ranks are within a position, among the eligible, and
 * never across groups that no report links.
 *
 * @param rows what the model is fitted to
 * @param games what the raw grades and the minimums to be ranked are counted from: every game once, however many
 * reported on it; left out, `rows`
 * @throws RangeError as `gradeOf`.
 */
export function gradeWholeSeason(
  rows: readonly GradedGame[],
  settings: SeasonSettings,
  games: readonly CountedGame[] = rows,
): SeasonStandings {
  return fitLinearSeason(rows, settings).standings(games);
}

/**
 * The first half of `gradeWholeSeason`.
 *
 * @param clips marks of clips that severity is estimated from as well; null where the season goes by reports alone
 * @param lastSeason the reports of the season before, to borrow strength from; null where this one goes by itself
 */
export function fitLinearSeason(
  rows: readonly GradedGame[],
  settings: SeasonSettings,
  clips: readonly ClipMark[] | null = null,
  lastSeason: readonly GradedGame[] | null = null,
): FittedSeason {
  const usable = usableRows(rows, settings);
  const {
    result,
    groups,
    clips: taken,
  } = fitWithClips(usable, clips, (ofGroups, marks) =>
    borrowing(
      fitSeason(usable, ofGroups, marks),
      lastSeason && (() => fitSeason(usableRows(lastSeason, settings))),
      seasonFactors.official,
      (past) => fitSeason(usable, ofGroups, marks, past),
    ),
  );
  const fit = result.fitted ? result : null;
  return {
    heldOut: () => (fit ? heldOutGrades(fit, usable) : []),
    shares: () => fit && linearShares(fit, usable, result.borrowed?.rows),
    standings(games) {
      const uncertainty = fit && settings.draws !== 0 ? varianceUncertainty(fit) : variancesKnown;
      const notes = seasonNotes(result, usable.length, new Set(usable.map((row) => row.position)).size);
      return {
        standings: standingsFrom(
          games,
          settings,
          groups,
          fit && adjustmentFrom(fit, usable, uncertainty),
          notes[0],
        ),
        observers: severities(
          usable,
          fit && leaningsFrom(fit, groups, uncertainty),
          groupNumbers(groups, 'observers'),
        ),
        spread: fit && spreadOf(fit, usable),
        groups,
        notes,
        clips: taken,
        lastSeason: result.borrowed?.taken ?? null,
      };
    },
  };
}

/** Number of the comparable group of each official or observer. */
export function groupNumbers(
  groups: SeasonStandings['groups'],
  of: 'officials' | 'observers',
): Map<string, number> {
  return new Map(groups.flatMap((group, number) => group[of].map((name) => [name, number] as const)));
}

/** An official of one position with the grade before any adjustment. */
interface Graded {
  official: string;
  raw: number;
}

/**
 * Adjusted grades of officials who can be compared with each other in a position, and what ranks are drawn from: one
 * estimate each, on any scale that rises with the grade, with their covariance (square, row by row). Null where the model
 * can say nothing of them.
 */
type Adjusted = (
  position: string,
  members: readonly Graded[],
) => { grades: readonly AdjustedGrade[]; estimates: ArrayLike<number>; covariance: ArrayLike<number> } | null;

/**
 * Raw grades, and where a model was fitted adjusted ones and ranks, group by group: the same for each model.
 *
 * @param adjusted null when no model could be fitted
 * @param reason why not
 */
export function standingsFrom(
  games: readonly CountedGame[],
  settings: SeasonSettings,
  groups: SeasonStandings['groups'],
  adjusted: Adjusted | null,
  reason: string | undefined,
): Standing[] {
  const groupOf = groupNumbers(groups, 'officials');
  const ranking = { top: settings.top, draws: settings.draws, normals: new NormalDraws(settings.seed) };
  const standings: Standing[] = [];
  for (const [position, own] of groupBy(games, (row) => row.position)) {
    const found = [...groupBy(own, (row) => row.official)].map(([official, theirs]): Standing => {
      const season = gradeSeason(
        theirs.map(({ game, counts, eligibleBy }) => ({ game, rows: counts, eligibleBy })),
        settings,
        settings,
      );
      return {
        official,
        position,
        season,
        adjusted: null,
        rank: null,
        unrankedReason: season.unrankedReason ?? (adjusted ? null : reason!),
        group: groupOf.get(official) ?? -1,
      };
    });
    const graded = adjusted ? found.filter(({ season }) => season.pooled.grade !== null) : [];
    for (const members of groupBy(graded, (standing) => standing.group).values()) {
      const given = adjusted!(
        position,
        members.map(({ official, season }) => ({ official, raw: season.pooled.grade! })),
      );
      if (!given) continue;
      const { grades, estimates, covariance } = given;
      for (const [i, standing] of members.entries()) standing.adjusted = grades[i]!;
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
    standings.push(...found.sort(bestFirst));
  }
  return standings;
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
