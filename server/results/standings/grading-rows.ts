import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import type { WeightedCount } from '../../grading/game-grade.ts';
import { type ByKind, byKind, countsIn, type GradeKind, gradeKinds } from '../../grading/grade-kinds.ts';
import { groupsOf } from '../../grading/group-by.ts';
import type { CountedGame, GradedGame } from '../../grading/season-rows.ts';
import { dutyCountOf } from './duty-count.ts';
import { costWith, type JudgedCalls, judgedCalls } from './judged-calls.ts';
import type { ReportCount, SeasonCount } from './season-counts.ts';

/** What one official's grade in one game rests on, however many observers reported on it. */
export interface GameRow extends Omit<CountedGame, 'counts' | 'eligibleBy'> {
  /** What each kind of grade counts. */
  counts: ByKind<WeightedCount[]>;
  position: Position;
  week: number;
  /** How many duties were counted. */
  duties: number;
}

/** The same of one released report: a row of the season model. */
export interface GradingRow extends GameRow {
  observer: string;
  reportId: string;
}

/** All that a season is graded by: the model takes reports one by one, what people read counts each game once. */
export interface GradingMaterial {
  readonly reports: readonly GradingRow[];
  readonly games: readonly GameRow[];
}

/** Reports as one kind of grade takes them. */
export const gradedGames = (rows: readonly GradingRow[], kind: GradeKind): GradedGame[] =>
  rows.map((row) => ({ ...countedGame(row, kind), observer: row.observer }));

/** Games as one kind of grade takes them. */
export const countedGames = (rows: readonly GameRow[], kind: GradeKind): CountedGame[] =>
  rows.map((row) => countedGame(row, kind));

/** All that was watched stands beside what one kind counts, for the minimums to be ranked. */
function countedGame({ official, position, game, counts }: GameRow, kind: GradeKind): CountedGame {
  return {
    official,
    position,
    game,
    counts: counts[kind],
    ...(kind === 'whole' ? {} : { eligibleBy: counts.whole }),
  };
}

/** The sums of one weight and of calls or mechanics. */
type WeightSums<Row> = Omit<Row, 'counts'> &
  Pick<WeightedCount, 'weight' | 'opportunities'> & {
    gradedAs: 'mechanics' | 'call';
    notMet: number;
    judged: JudgedCalls | null;
  };

const sums = `count(*)::int AS duties, sum(c.opportunities - c.not_counted)::int AS opportunities,
              sum(c.not_met)::int AS not_met, sum(c.cost_none)::int AS cost_none,
              sum(c.cost_yards)::int AS cost_yards, sum(c.cost_possession)::int AS cost_possession,
              sum(c.cost_score)::int AS cost_score`;

const columns = `w.person_id AS official, w.position, w.game_id AS game, g.week, w.weight, w.graded_as AS "gradedAs",
              w.duties, w.opportunities, w.not_met AS "notMet", ${judgedCalls('w', 'v')} AS judged
         FROM weighed w
         JOIN game g ON g.conference_id = $1 AND g.id = w.game_id
         JOIN rubric_version v ON v.conference_id = $1 AND v.id = w.rubric_version_id`;

/**
 * Reads a season's released reports for grading: by official, position, week and report. Duties of like weight are
 * added up in the database, since a grade only asks for the sums: a ninth of the rows of `readSeasonCounts`. A cap on
 * categories, which no setting asks for yet, would need them here.
 */
export async function readGradingRows(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<GradingRow[]> {
  const { rows } = await db.query<WeightSums<GradingRow>>({
    name: 'grading-rows',
    text: `
      WITH weighed AS (
        SELECT c.person_id, c.position, r.id AS report_id, r.observer_id, r.game_id, r.rubric_version_id, d.weight,
               d.graded_as, ${sums}
          FROM report r
          JOIN opportunity_count c ON c.conference_id = r.conference_id AND c.report_id = r.id
          JOIN duty d ON d.conference_id = r.conference_id AND d.rubric_version_id = r.rubric_version_id
                     AND d.key = c.duty_key
         WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND c.opportunities > 0
         GROUP BY c.person_id, c.position, r.id, r.observer_id, r.game_id, r.rubric_version_id, d.weight,
                  d.graded_as)
      SELECT w.observer_id AS observer, w.report_id AS "reportId", ${columns}
       ORDER BY w.person_id, w.position, g.week, w.report_id, w.weight, w.graded_as`,
    values: [conferenceId, seasonId],
  });
  return byRow(rows, (row) => row.reportId);
}

/** The same of games, each counted once over its released reports. */
async function readGameRows(db: Queryable, conferenceId: string, seasonId: string): Promise<GameRow[]> {
  const { rows } = await db.query<WeightSums<GameRow>>({
    name: 'game-rows',
    text: `
      WITH weighed AS (
        SELECT c.person_id, c.position, c.game_id, c.rubric_version_id, d.weight, d.graded_as, ${sums}
          FROM game s
          JOIN game_count c ON c.conference_id = s.conference_id AND c.game_id = s.id
          JOIN duty d ON d.conference_id = c.conference_id AND d.rubric_version_id = c.rubric_version_id
                     AND d.key = c.duty_key
         WHERE s.conference_id = $1 AND s.season_id = $2
         GROUP BY c.person_id, c.position, c.game_id, c.rubric_version_id, d.weight, d.graded_as)
      SELECT ${columns}
       ORDER BY w.person_id, w.position, g.week, w.game_id, w.weight, w.graded_as`,
    values: [conferenceId, seasonId],
  });
  return byRow(rows, (row) => row.game);
}

export async function readGradingMaterial(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<GradingMaterial> {
  return {
    reports: await readGradingRows(db, conferenceId, seasonId),
    games: await readGameRows(db, conferenceId, seasonId),
  };
}

/** Sums of one official, position and report (or game) come one after the other, and are one row. */
function byRow<Row extends GameRow>(found: readonly WeightSums<Row>[], idOf: (row: Row) => string): Row[] {
  const rows: Row[] = [];
  for (const { weight, gradedAs, opportunities, notMet, judged, duties, ...of } of found) {
    const next = { ...of, duties: 0, counts: byKind((): WeightedCount[] => []) } as unknown as Row;
    let row = rows.at(-1);
    if (
      !row ||
      idOf(row) !== idOf(next) ||
      row.official !== next.official ||
      row.position !== next.position
    ) {
      row = next;
      rows.push(row);
    }
    row.duties += duties;
    const cost = costWith(notMet, judged);
    for (const kind of gradeKinds) {
      if (countsIn(kind, gradedAs)) {
        addTo(row.counts[kind], { weight, opportunities, met: opportunities - notMet, cost });
      }
    }
  }
  return rows;
}

/** Calls and mechanics of like weight come one after the other, and are one count of the whole. */
function addTo(counts: WeightedCount[], { weight, opportunities, met, cost = 0 }: WeightedCount): void {
  const last = counts.at(-1);
  if (last?.weight !== weight) {
    counts.push({ weight, opportunities, met, cost });
    return;
  }
  last.opportunities += opportunities;
  last.met += met;
  last.cost = (last.cost ?? 0) + cost;
}

/** Counts by duty, as a season's reports and its games have them. */
export interface CountsByDuty {
  readonly reports: readonly ReportCount[];
  readonly games: readonly SeasonCount[];
}

/** The same as `readGradingMaterial` from counts by duty, whose weights may have been changed. */
export function gradingMaterialOf({ reports, games }: CountsByDuty): GradingMaterial {
  return {
    reports: groupsOf(reports, (row) => `${row.reportId} ${row.personId} ${row.position}`).map((rows) => ({
      ...gameRowOf(rows),
      observer: rows[0]!.observerId,
      reportId: rows[0]!.reportId,
    })),
    games: groupsOf(games, (row) => `${row.gameId} ${row.personId} ${row.position}`).map(gameRowOf),
  };
}

function gameRowOf(rows: readonly (ReportCount | SeasonCount)[]): GameRow {
  return {
    official: rows[0]!.personId,
    position: rows[0]!.position,
    game: rows[0]!.gameId,
    week: rows[0]!.week,
    duties: rows.length,
    counts: byKind((kind) => rows.filter((row) => countsIn(kind, row.gradedAs)).map(dutyCountOf)),
  };
}
