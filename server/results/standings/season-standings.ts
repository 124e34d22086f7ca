import type pg from 'pg';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { type Position, positions } from '../../football/positions.ts';
import { groupBy } from '../../grading/group-by.ts';
import type { Rank } from '../../grading/ranks.ts';
import type { AdjustedGrade, SeasonStandings, Severity, Standing } from '../../grading/season-model.ts';
import type { Grader } from './grader.ts';
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

const kind = 'standings';
/** Moves when the way of grading changes, so that results kept by an earlier program are found anew. */
const method = 2;
const underway = new Map<string, Promise<CurrentStandings>>();

/**
 * The standings of a season, never stale: kept with the revision of their input, which moves whenever a report
 * is released, revised or ruled on, and found anew when it or the settings moved. Requests that come while they
 * are being found wait for the same result, in this process and in others.
 */
export function currentStandings(
  pool: pg.Pool,
  grader: Grader,
  conferenceId: string,
  seasonId: string,
): Promise<CurrentStandings> {
  const key = `${conferenceId} ${seasonId}`;
  const waiting = underway.get(key);
  // Whoever joins may have caused a newer revision than the one being graded: look again afterwards.
  if (waiting) return waiting.catch(() => {}).then(() => keptOrFound(pool, grader, conferenceId, seasonId));
  const found = keptOrFound(pool, grader, conferenceId, seasonId).finally(() => underway.delete(key));
  underway.set(key, found);
  return found;
}

async function keptOrFound(
  pool: pg.Pool,
  grader: Grader,
  conferenceId: string,
  seasonId: string,
): Promise<CurrentStandings> {
  const kept = await readKept(pool, conferenceId, seasonId);
  if (kept) return kept;
  return inTransaction(pool, async (client) => {
    // One at a time for a season, over all processes; whoever waited finds it done.
    await client.query('SELECT pg_advisory_xact_lock(hashtextextended($1, 0))', [`${kind} ${seasonId}`]);
    const meanwhile = await readKept(client, conferenceId, seasonId);
    if (meanwhile) return meanwhile;
    const { input, rows } = await readInput(client, conferenceId, seasonId);
    const standings = await gradeRows(grader, rows, input.settings, input.revision);
    await client.query(
      `INSERT INTO standings_result (conference_id, season_id, kind, input_revision, result)
       SELECT conference_id, id, $3, $4, $5 FROM season WHERE conference_id = $1 AND id = $2
       ON CONFLICT (conference_id, season_id, kind) DO UPDATE
         SET input_revision = EXCLUDED.input_revision, result = EXCLUDED.result, computed_at = now()`,
      [conferenceId, seasonId, kind, input.revision, JSON.stringify({ method, standings })],
    );
    return standings;
  });
}

interface Input {
  revision: number;
  settings: StandingsSettings;
}

/** The kept result, when it rests on what the season is now. */
async function readKept(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<CurrentStandings | null> {
  const { rows } = await db.query<{ result: { method: number; standings: CurrentStandings } }>({
    name: 'kept-standings',
    text: `SELECT k.result FROM standings_result k
             JOIN season s ON s.conference_id = k.conference_id AND s.id = k.season_id
            WHERE k.conference_id = $1 AND k.season_id = $2 AND k.kind = $3
              AND k.input_revision = s.input_revision
              AND k.result->'standings'->'settings' = jsonb_build_object('minimumGames', s.minimum_games,
                    'minimumOpportunities', s.minimum_opportunities, 'places', s.postseason_places)`,
    values: [conferenceId, seasonId, kind],
  });
  const kept = rows[0]?.result;
  return kept?.method === method ? kept.standings : null;
}

async function readSeason(db: Queryable, conferenceId: string, seasonId: string): Promise<Input> {
  const { rows } = await db.query<{ revision: string } & StandingsSettings>(
    `SELECT input_revision AS revision, minimum_games AS "minimumGames",
            minimum_opportunities AS "minimumOpportunities", postseason_places AS places
       FROM season WHERE conference_id = $1 AND id = $2`,
    [conferenceId, seasonId],
  );
  const row = rows[0];
  if (!row) throw new RangeError(`no season ${seasonId}`);
  const { minimumGames, minimumOpportunities, places } = row;
  return { revision: Number(row.revision), settings: { minimumGames, minimumOpportunities, places } };
}

/** Rows and the revision they belong to: read again when the season moved in between. */
async function readInput(client: pg.PoolClient, conferenceId: string, seasonId: string) {
  for (;;) {
    const input = await readSeason(client, conferenceId, seasonId);
    const rows = await readGradingRows(client, conferenceId, seasonId);
    const after = await readSeason(client, conferenceId, seasonId);
    if (after.revision === input.revision) return { input: after, rows };
  }
}

/** Grades a season: as it stands, and as it stood before its latest week. */
export async function gradeRows(
  grader: Pick<Grader, 'grade'>,
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
    grader.grade(rows, options),
    // Of the week before only grades and places are shown: no draws.
    earlier.length > 0 ? grader.grade(earlier, { ...options, draws: 0 }) : null,
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
