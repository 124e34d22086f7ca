import { type Position, positions } from '../../football/positions.ts';
import { groupBy } from '../../grading/group-by.ts';
import type { Rank } from '../../grading/ranks.ts';
import type { AdjustedGrade, SeasonStandings, Severity, Standing } from '../../grading/season-model.ts';
import type { Calculator } from '../calculator.ts';
import type { ResultKind } from '../kept-result.ts';
import { type GradingRow, readGradingRows } from './grading-rows.ts';

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

/** A season's standings as they are now. */
export interface CurrentStandings {
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
}

/** What the coordinator sets for who is ranked. */
export interface StandingsSettings {
  minimumGames: number;
  minimumOpportunities: number;
  /** Places for postseason in each position. */
  places: number;
}

/** Standings as a kept result: found anew when a report is released, revised or ruled on, or the settings change. */
export function standingsKind(
  calculator: Pick<Calculator, 'grade'>,
): ResultKind<StandingsSettings, GradingRow[], CurrentStandings> {
  return {
    ...standingsGrounds,
    read: (client, { conferenceId, seasonId }) => readGradingRows(client, conferenceId, seasonId),
    compute: (rows, { basis, revision }) => gradeRows(calculator, rows, basis, revision),
  };
}

/** Raise `method` when the way of grading changes results. */
export const standingsGrounds = {
  name: 'standings',
  method: 2,
  basis: `jsonb_build_object('minimumGames', s.minimum_games, 'minimumOpportunities', s.minimum_opportunities,
                             'places', s.postseason_places)`,
};

/** Grades a season: as it stands, and as it stood before its latest week. */
export async function gradeRows(
  calculator: Pick<Calculator, 'grade'>,
  rows: readonly GradingRow[],
  settings: StandingsSettings,
  inputRevision: number,
): Promise<CurrentStandings> {
  const { places, ...eligibility } = settings;
  // The seed is the season's own size, so that a page shown twice shows the same chances.
  const seed = rows.reduce((sum, row) => sum + row.duties, 20_000);
  const options = { ...eligibility, top: places, seed };
  const week = rows.reduce((latest, row) => Math.max(latest, row.week), 0);
  const earlier = rows.filter((row) => row.week < week);
  const [now, before] = await Promise.all([
    calculator.grade(rows, options),
    // Of the week before only grades and places are shown: no draws.
    earlier.length > 0 ? calculator.grade(earlier, { ...options, draws: 0 }) : null,
  ]);
  const keyOf = (row: Standing) => `${row.official} ${row.position}`;
  const earlierOf = new Map(before?.standings.map((row) => [keyOf(row), row]));
  const rankedGroups = groupBy(
    now.standings.filter((row) => row.rank !== null),
    (row) => row.position,
  );
  const comparable = (position: string) =>
    new Set(rankedGroups.get(position)?.map((row) => row.group)).size <= 1;
  const order = (row: Standing) => positions.indexOf(row.position as Position);
  return {
    inputRevision,
    settings,
    week: rows.length > 0 ? week : null,
    reports: new Set(rows.map((row) => row.reportId)).size,
    lines: now.standings
      .toSorted((a, b) => order(a) - order(b))
      .map((row) => lineOf(row, earlierOf.get(keyOf(row)), comparable(row.position))),
    observers: now.observers,
    spread: now.spread,
    groups: now.groups,
    notes: now.notes,
  };
}

/** The interval is a normal one and knows nothing of the ends of the scale; no true grade lies beyond them. */
function onTheScale(adjusted: AdjustedGrade): AdjustedGrade {
  const { grade, low, high } = adjusted;
  return {
    ...adjusted,
    low: Math.min(grade, Math.max(0, low)),
    high: Math.max(grade, Math.min(100, high)),
  };
}

function lineOf(row: Standing, before: Standing | undefined, comparable: boolean): StandingLine {
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
    placeChance: comparable ? (rank?.topProbability ?? null) : null,
    unrankedReason,
    group,
    before: before ? { place: before.rank?.place ?? null, adjusted: before.adjusted?.grade ?? null } : null,
  };
}
