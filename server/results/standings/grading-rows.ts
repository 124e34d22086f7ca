import type { Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import type { WeightedCount } from '../../grading/game-grade.ts';
import { type ByKind, byKind, countsIn, type GradeKind, gradeKinds } from '../../grading/grade-kinds.ts';
import { groupsOf } from '../../grading/group-by.ts';
import type { CountedGame, GradedGame } from '../../grading/season-rows.ts';
import { type ClipRow, readClipRows } from './clip-rows.ts';
import { dutyCountOf } from './duty-count.ts';
import { costWith, type JudgedCalls, judgedCalls } from './judged-calls.ts';
import { readSeasonBorrowedFrom } from './season-before.ts';
import type { ReportCount, SeasonCount } from './season-counts.ts';

/** What one official's grade in one game rests on, however many observers reported on it. */
interface GameRow extends Omit<CountedGame, 'counts' | 'eligibleBy'> {
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
  /** Marks of clips that severity rests on as well; null where it rests on reports alone. */
  readonly clips: readonly ClipRow[] | null;
  /** Reports of the season before that grades borrow strength from; null where they go by this season alone. */
  readonly lastSeason: readonly GradingRow[] | null;
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

/**
 * The planner takes the conference of a row and its report or game for independent, so among many conferences it expects
 * one row where there are thousands, and may look through all duties for each count. Hence shapes that leave it no
 * choice: counts are read by their key, report by report (OFFSET 0 keeps the part whole), and what a duty weighs is
 * looked up in one object of the season's rubric versions.
 */
const weights = `weights AS MATERIALIZED (
        SELECT jsonb_object_agg(v.id || ' ' || d.key, d.weight || ' ' || d.graded_as) AS by_duty
          FROM rubric_version v
         CROSS JOIN LATERAL (SELECT key, weight, graded_as FROM duty
                              WHERE conference_id = $1 AND rubric_version_id = v.id OFFSET 0) d
         WHERE v.conference_id = $1 AND v.season_id = $2)`;
const weightOf = (version: string) => `(SELECT by_duty FROM weights) ->> (${version} || ' ' || c.duty_key)`;

/** Of the sums `w` with their `weight` from above, and of their report or game `of`. */
const columns = (version: string) => `w.person_id AS official, w.position, of.week,
              split_part(w.weight, ' ', 1)::float8 AS weight, split_part(w.weight, ' ', 2) AS "gradedAs",
              w.duties, w.opportunities, w.not_met AS "notMet",
              ${judgedCalls('w', `(SELECT v FROM rubric_version v WHERE v.conference_id = $1 AND v.id = ${version})`)} AS judged`;

/**
 * Reads a season's released reports for grading: by official, position, week and report. Duties of like weight are
 * added up in the database, since a grade only asks for the sums: a ninth of the rows of `readSeasonCounts`. A cap on
 * categories, which no setting asks for yet, would need them here.
 */
async function readGradingRows(db: Queryable, conferenceId: string, seasonId: string): Promise<GradingRow[]> {
  const { rows } = await db.query<WeightSums<GradingRow>>({
    name: 'grading-rows',
    text: `
      WITH ${weights},
      released AS MATERIALIZED (
        SELECT r.id, r.observer_id, r.game_id, r.rubric_version_id, g.week
          FROM report r JOIN game g ON g.conference_id = r.conference_id AND g.id = r.game_id
         WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released')
      SELECT of.observer_id AS observer, of.id AS "reportId", of.game_id AS game, ${columns('of.rubric_version_id')}
        FROM released of
       CROSS JOIN LATERAL (
         SELECT c.person_id, c.position, ${weightOf('of.rubric_version_id')} AS weight, ${sums}
           FROM (SELECT * FROM opportunity_count
                  WHERE conference_id = $1 AND report_id = of.id AND opportunities > 0 OFFSET 0) c
          GROUP BY 1, 2, 3) w
       ORDER BY w.person_id, w.position, of.week, of.id, weight, "gradedAs"`,
    values: [conferenceId, seasonId],
  });
  return byRow(rows, (row) => row.reportId);
}

/** The same of games, each counted once over its released reports. */
async function readGameRows(db: Queryable, conferenceId: string, seasonId: string): Promise<GameRow[]> {
  const { rows } = await db.query<WeightSums<GameRow>>({
    name: 'game-rows',
    text: `
      WITH ${weights}
      SELECT of.id AS game, ${columns('w.rubric_version_id')}
        FROM (SELECT id, week FROM game WHERE conference_id = $1 AND season_id = $2 OFFSET 0) of
       CROSS JOIN LATERAL (
         SELECT c.person_id, c.position, c.rubric_version_id, ${weightOf('c.rubric_version_id')} AS weight, ${sums}
           FROM (SELECT * FROM game_count WHERE conference_id = $1 AND game_id = of.id OFFSET 0) c
          GROUP BY 1, 2, 3, 4) w
       ORDER BY w.person_id, w.position, of.week, of.id, weight, "gradedAs"`,
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
    clips: await readClipRows(db, conferenceId, seasonId),
    lastSeason: await readLastSeason(db, conferenceId, seasonId),
  };
}

/** Reports of the season before, where this one's grades borrow strength from it. */
export async function readLastSeason(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<GradingMaterial['lastSeason']> {
  const from = await readSeasonBorrowedFrom(db, conferenceId, seasonId);
  return from && (await readGradingRows(db, conferenceId, from[0]));
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

/** What grades rest on beside the season's own reports. */
export type Beside = Pick<GradingMaterial, 'clips' | 'lastSeason'>;
const besideNothing: Beside = { clips: null, lastSeason: null };

/** The same as `readGradingMaterial` from counts by duty, whose weights may have been changed. */
export function gradingMaterialOf(
  { reports, games }: CountsByDuty,
  { clips, lastSeason }: Beside = besideNothing,
): GradingMaterial {
  return {
    reports: groupsOf(reports, (row) => `${row.reportId} ${row.personId} ${row.position}`).map((rows) => ({
      ...gameRowOf(rows),
      observer: rows[0]!.observerId,
      reportId: rows[0]!.reportId,
    })),
    games: groupsOf(games, (row) => `${row.gameId} ${row.personId} ${row.position}`).map(gameRowOf),
    clips,
    lastSeason,
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
