import type { Queryable } from '../../database/transaction.ts';
import { effectOf, findings } from '../../duties/finding.ts';
import type { Play } from '../../football/play.ts';
import { type PlayColumns, playOf } from '../../games/play-rows.ts';
import { holdsAll } from '../search-words.ts';

export interface PlayLine {
  readonly id: string;
  readonly gameId: string;
  readonly game: string;
  readonly week: number;
  readonly number: number;
  readonly play: Play;
  readonly filmLink: string | null;
  readonly filmSeconds: number | null;
  /** Marks on it that stand, and those of them that are misses. */
  readonly marks: number;
  readonly missed: number;
}

export const markedChoices = ['with marks', 'with misses'] as const;
type Marked = (typeof markedChoices)[number];

/** What is asked of a season's plays; null: any. */
interface PlaysWanted {
  readonly patterns: readonly string[];
  readonly kind: string | null;
  readonly week: number | null;
  readonly marked: Marked | null;
}

const misses = `(${findings
  .filter((finding) => effectOf(finding) === 'not met')
  .map((finding) => `'${finding}'`)
  .join(', ')})`;

/** SQL: something of all marks o on a play l, by the reports of its game: nothing else leads from a play to them. */
const ofMarks = (what: string, joined = '') =>
  `(SELECT ${what} FROM observation o ${joined}
     WHERE o.conference_id = $1 AND o.report_id = ANY (g.reports) AND o.play_id = l.id AND o.removed_at IS NULL)`;
const marks = ofMarks('count(*)::int');
const missed = ofMarks(`(count(*) FILTER (WHERE o.finding IN ${misses}))::int`);
const words = ofMarks(
  "string_agg(concat_ws(' ', o.comment, o.duty_key, p.given_name, p.family_name), ' ')",
  'JOIN person p ON p.conference_id = $1 AND p.id = o.person_id',
);

// Where many conferences share the tables, the planner takes a season's games for one and their plays for a few. So games
// come first, plays and marks by their keys, and only what a play is chosen and sorted by goes along: no join is left
// that a wrong guess makes slow.
const found = `
  WITH games AS MATERIALIZED (
    SELECT g.id, g.week, g.kickoff, g.key, g.film_link, t.title,
           ARRAY(SELECT r.id FROM report r WHERE r.conference_id = $1 AND r.game_id = g.id) AS reports
      FROM game g JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
     WHERE g.conference_id = $1 AND g.season_id = $2 AND ($5::int IS NULL OR g.week = $5)),
  wanted AS (
    SELECT l.id, l.number, g.id AS game_id, g.week, g.kickoff, g.key AS game_key
      FROM games g
      JOIN play l ON l.conference_id = $1 AND l.game_id = g.id AND l.removed_at IS NULL
     WHERE ($4::text IS NULL OR l.kind = $4)
       AND ($6::text IS NULL OR CASE $6 WHEN 'with marks' THEN ${marks} ELSE ${missed} END > 0)
       AND ($3::text[] = '{}' OR ${holdsAll(
         `concat_ws(' ', g.title, 'week ' || g.week, 'play ' || l.number, 'Q' || l.quarter, l.kind, l.note,
                    jsonb_path_query_array(l.facts, '$.fouls[*].foul')::text, replace(${words}, '-', ' '))`,
         '$3',
       )}))`;

const values = (conferenceId: string, seasonId: string, { patterns, kind, week, marked }: PlaysWanted) => [
  conferenceId,
  seasonId,
  patterns,
  kind,
  week,
  marked,
];

export async function countPlays(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  wanted: PlaysWanted,
): Promise<number> {
  const { rows } = await db.query<{ count: number }>(
    `${found} SELECT count(*)::int AS count FROM wanted`,
    values(conferenceId, seasonId, wanted),
  );
  return rows[0]!.count;
}

type Row = Omit<PlayLine, 'play'> & PlayColumns;

/** Plays of a season in the order in which they were played. */
export async function listPlays(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  wanted: PlaysWanted,
  { limit, offset }: { limit: number; offset: number },
): Promise<PlayLine[]> {
  const { rows } = await db.query<Row>(
    `${found},
     shown AS (
       SELECT * FROM wanted w ORDER BY w.week, w.kickoff, w.game_key, w.number, w.id LIMIT $7 OFFSET $8)
     SELECT l.id, g.id AS "gameId", g.title AS game, g.week, l.number, l.kind, l.spot, l.quarter, l.clock_seconds,
            l.down, l.distance, l.facts, g.film_link AS "filmLink", l.film_seconds AS "filmSeconds",
            ${marks} AS marks, ${missed} AS missed
       FROM shown w
       JOIN play l ON l.conference_id = $1 AND l.id = w.id
       JOIN games g ON g.id = w.game_id
      ORDER BY w.week, w.kickoff, w.game_key, w.number, w.id`,
    [...values(conferenceId, seasonId, wanted), limit, offset],
  );
  return rows.map(({ kind, spot, quarter, clock_seconds, down, distance, facts, ...line }) => ({
    ...line,
    play: playOf({ kind, spot, quarter, clock_seconds, down, distance, facts }),
  }));
}
