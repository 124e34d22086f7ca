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
export type Marked = (typeof markedChoices)[number];

/** What is asked of a season's plays; null: any. */
export interface PlaysWanted {
  readonly patterns: readonly string[];
  readonly kind: string | null;
  readonly week: number | null;
  readonly marked: Marked | null;
}

const misses = `(${findings
  .filter((finding) => effectOf(finding) === 'not met')
  .map((finding) => `'${finding}'`)
  .join(', ')})`;

// Marks are found by season first: nothing else leads from a play to them.
const found = `
  WITH marks AS (
    SELECT o.play_id, count(*)::int AS marks, (count(*) FILTER (WHERE o.finding IN ${misses}))::int AS missed,
           string_agg(concat_ws(' ', o.comment, o.duty_key, p.given_name, p.family_name), ' ') AS words
      FROM observation o
      JOIN report r ON r.conference_id = $1 AND r.id = o.report_id AND r.season_id = $2
      JOIN person p ON p.conference_id = $1 AND p.id = o.person_id
     WHERE o.conference_id = $1 AND o.removed_at IS NULL GROUP BY o.play_id),
  wanted AS (
    SELECT l.*, g.week, g.kickoff, g.key AS game_key, g.film_link, t.title, coalesce(m.marks, 0) AS marks,
           coalesce(m.missed, 0) AS missed
      FROM play l
      JOIN game g ON g.conference_id = $1 AND g.id = l.game_id AND g.season_id = $2
      JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
      LEFT JOIN marks m ON m.play_id = l.id
     WHERE l.conference_id = $1 AND l.removed_at IS NULL
       AND ($4::text IS NULL OR l.kind = $4) AND ($5::int IS NULL OR g.week = $5)
       AND ($6::text IS NULL OR CASE $6 WHEN 'with marks' THEN m.marks > 0 ELSE m.missed > 0 END)
       AND ($3::text[] = '{}' OR ${holdsAll(
         `concat_ws(' ', t.title, 'week ' || g.week, 'play ' || l.number, 'Q' || l.quarter, l.kind, l.note,
                    jsonb_path_query_array(l.facts, '$.fouls[*].foul')::text, replace(m.words, '-', ' '))`,
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
    `${found}
     SELECT w.id, w.game_id AS "gameId", w.title AS game, w.week, w.number, w.kind, w.spot, w.quarter,
            w.clock_seconds, w.down, w.distance, w.facts, w.film_link AS "filmLink",
            w.film_seconds AS "filmSeconds", w.marks, w.missed
       FROM wanted w ORDER BY w.week, w.kickoff, w.game_key, w.number, w.id LIMIT $7 OFFSET $8`,
    [...values(conferenceId, seasonId, wanted), limit, offset],
  );
  return rows.map(({ kind, spot, quarter, clock_seconds, down, distance, facts, ...line }) => ({
    ...line,
    play: playOf({ kind, spot, quarter, clock_seconds, down, distance, facts }),
  }));
}
