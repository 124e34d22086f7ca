import { type Position, positions } from '../../football/positions.ts';
import type { AdjustedGrade } from '../../grading/adjusted-grade.ts';
import type { ClipsTaken } from '../../grading/clip-marks.ts';
import { type GradeKind, nothingCounted } from '../../grading/grade-kinds.ts';
import { groupBy } from '../../grading/group-by.ts';
import type { LastSeasonTaken } from '../../grading/last-season.ts';
import type { Rank } from '../../grading/ranks.ts';
import type { GivenModel, ModelInUse, SeasonModel } from '../../grading/season-choice.ts';
import type { SeasonSettings, SeasonStandings, Standing } from '../../grading/season-model.ts';
import type { Severity } from '../../grading/severity.ts';
import type { Calculator } from '../calculator.ts';
import type { ResultKind } from '../kept-result.ts';
import { clipsInSeverity, clipsOfKind } from './clip-rows.ts';
import {
  countedGames,
  type GradingMaterial,
  type GradingRow,
  gradedGames,
  readGradingMaterial,
} from './grading-rows.ts';
import { type SeasonBefore, seasonBorrowedFrom } from './season-before.ts';

/** One official in one position, as the standings show them. */
export interface StandingLine {
  personId: string;
  position: Position;
  /** Pooled grade before any adjustment; null without a counted opportunity. */
  raw: number | null;
  games: number;
  opportunities: number;
  misses: number;
  adjusted: AdjustedGrade | null;
  rank: Rank | null;
  /** Probability of one of the places; null when unranked, or when another group of the position is not comparable. */
  placeChance: number | null;
  unrankedReason: string | null;
  group: number;
  /** At the end of the week before the latest one with a released report; null when not yet graded then. */
  before: { place: number | null; adjusted: number | null } | null;
}

/** A season's standings as they are now, by one kind of grade. */
export interface CurrentStandings {
  by: GradeKind;
  model: ModelInUse;
  /** The season's input revision that they rest on. */
  inputRevision: number;
  settings: StandingsSettings;
  /** Latest week with a released report; null without any. */
  week: number | null;
  reports: number;
  /** Positions in trade order; within each, ranked first, best first. */
  lines: StandingLine[];
  observers: Severity[];
  spread: SeasonStandings['spread'];
  groups: SeasonStandings['groups'];
  notes: string[];
  /** What was taken in of marks of clips; left out where severity rests on reports alone, as earlier programs kept it. */
  clips?: ClipsTaken | undefined;
  /** What was taken in of the season before; left out where grades go by this season alone. */
  lastSeason?: (LastSeasonTaken & { seasonId: string; name: string }) | undefined;
}

/** What the coordinator sets for who is ranked, and how. */
export interface StandingsSettings {
  minimumGames: number;
  minimumOpportunities: number;
  /** Places for postseason in each position. */
  places: number;
  /** Fixed by the coordinator; left out, the season's own games decide. */
  fixedModel?: SeasonModel | undefined;
  /** Sets of clips whose marks say how strict observers are as well, each with its marks; left out, none are to. */
  calibration?: readonly (readonly [setId: string, marks: number])[] | undefined;
  /** The season before that grades borrow strength from; left out, they go by this one alone. */
  lastSeason?: SeasonBefore | undefined;
}

/** Standings as a kept result: found anew when a report is released, revised or ruled on, or the settings change. */
export function standingsKind(
  calculator: Pick<Calculator, 'grade'>,
  by: GradeKind = 'whole',
  given: GivenModel | null = null,
): ResultKind<StandingsSettings, GradingMaterial, CurrentStandings> {
  return {
    ...standingsGrounds,
    name: [
      standingsGrounds.name,
      ...(by === 'whole' ? [] : ['by', by]),
      ...(given ? [given.because === 'asked' ? 'with' : 'as the whole, with', given.model] : []),
    ].join(' '),
    read: (client, { conferenceId, seasonId }) => readGradingMaterial(client, conferenceId, seasonId),
    compute: (material, { basis, revision }) =>
      gradeMaterial(calculator, material, basis, revision, { by, given }),
  };
}

/** Raise `method` when the way of grading changes results, with clips or without. */
export const standingsGrounds = {
  name: 'standings',
  method: 18,
  basis: `jsonb_strip_nulls(jsonb_build_object('minimumGames', s.minimum_games,
            'minimumOpportunities', s.minimum_opportunities, 'places', s.postseason_places,
            'fixedModel', s.fixed_model, 'calibration', ${clipsInSeverity},
            'lastSeason', ${seasonBorrowedFrom}))`,
};

/**
 * Grades a season: as it stands, and as it stood before its latest week, both by one model. Without one given it is
 * that which the season as it stands speaks for.
 */
export async function gradeMaterial(
  calculator: Pick<Calculator, 'grade'>,
  { reports: rows, games, clips, lastSeason }: GradingMaterial,
  settings: StandingsSettings,
  inputRevision: number,
  { by = 'whole', given = null }: { by?: GradeKind; given?: GivenModel | null } = {},
): Promise<CurrentStandings> {
  const options = gradingSettings(rows, settings);
  const week = rows.reduce((latest, row) => Math.max(latest, row.week), 0);
  const earlier = rows.filter((row) => row.week < week);
  const fixed: GivenModel | null = settings.fixedModel
    ? { model: settings.fixedModel, because: 'fixed' }
    : null;
  const marks = clipsOfKind(clips, by);
  const past = lastSeason && gradedGames(lastSeason, by);
  const now = await calculator.grade(
    gradedGames(rows, by),
    options,
    countedGames(games, by),
    given ?? fixed,
    marks,
    past,
  );
  // Of the week before only grades and places are shown: no draws.
  const before =
    earlier.length > 0
      ? await calculator.grade(
          gradedGames(earlier, by),
          { ...options, draws: 0 },
          countedGames(
            games.filter((row) => row.week < week),
            by,
          ),
          { model: now.model.used, because: 'asked' },
          marks,
          past,
        )
      : null;
  const keyOf = (row: Standing) => `${row.official} ${row.position}`;
  const earlierOf = new Map(before?.standings.map((row) => [keyOf(row), row]));
  const placeChance = placeChances(now.standings);
  const order = (row: Standing) => positions.indexOf(row.position as Position);
  return {
    by,
    model: now.model,
    inputRevision,
    settings,
    week: rows.length > 0 ? week : null,
    reports: new Set(rows.map((row) => row.reportId)).size,
    lines: now.standings
      .toSorted((a, b) => order(a) - order(b))
      .map((row) => lineOf(row, earlierOf.get(keyOf(row)), placeChance(row), by)),
    observers: now.observers,
    spread: now.spread,
    groups: now.groups,
    notes: now.notes,
    clips: now.clips ?? undefined,
    lastSeason:
      now.lastSeason && settings.lastSeason
        ? { ...now.lastSeason, seasonId: settings.lastSeason[0], name: settings.lastSeason[2] }
        : undefined,
  };
}

/** The season's settings as grading takes them. */
export function gradingSettings(
  rows: readonly GradingRow[],
  { places, minimumGames, minimumOpportunities }: StandingsSettings,
): SeasonSettings {
  // The seed is the season's own size, so that a page shown twice shows the same chances.
  const seed = rows.reduce((sum, row) => sum + row.duties, 20_000);
  return { minimumGames, minimumOpportunities, top: places, seed };
}

/** Each one's chance of a place; none where those ranked in the position are of groups that cannot be compared. */
export function placeChances(standings: readonly Standing[]): (standing: Standing) => number | null {
  const rankedGroups = groupBy(
    standings.filter((row) => row.rank !== null),
    (row) => row.position,
  );
  return ({ position, rank }) =>
    new Set(rankedGroups.get(position)?.map((row) => row.group)).size <= 1
      ? (rank?.topProbability ?? null)
      : null;
}

/** A model may reach beyond the ends of the scale; no true grade lies beyond them. */
export function onTheScale(adjusted: AdjustedGrade): AdjustedGrade {
  const { grade, low, high } = adjusted;
  return {
    ...adjusted,
    low: Math.min(grade, Math.max(0, low)),
    high: Math.max(grade, Math.min(100, high)),
  };
}

function lineOf(
  row: Standing,
  before: Standing | undefined,
  placeChance: number | null,
  by: GradeKind,
): StandingLine {
  const { official, position, season, adjusted, rank, unrankedReason, group } = row;
  return {
    personId: official,
    position: position as Position,
    raw: season.pooled.grade,
    games: season.games,
    opportunities: season.opportunities,
    misses: season.pooled.opportunities - season.pooled.met,
    adjusted: adjusted && onTheScale(adjusted),
    rank,
    placeChance,
    unrankedReason: by !== 'whole' && season.pooled.opportunities === 0 ? nothingCounted[by] : unrankedReason,
    group,
    before: before ? { place: before.rank?.place ?? null, adjusted: before.adjusted?.grade ?? null } : null,
  };
}
