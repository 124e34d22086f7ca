import type { Queryable } from '../../database/transaction.ts';
import type { ChancesKept } from '../../duties/report-shares.ts';
import type { Watched } from '../../duties/watched.ts';
import type { Position } from '../../football/positions.ts';

/** SQL of what is kept of duties, summed over rows `alias` of `opportunity_count`. */
export const chancesKept = (alias: string) => `
  coalesce(sum(${alias}.opportunities), 0)::int AS opportunities, coalesce(sum(${alias}.set_aside), 0)::int AS "setAside",
  coalesce(sum(${alias}.unwatched), 0)::int AS unwatched, coalesce(sum(${alias}.likely), 0)::float8 AS likely`;

/** SQL: a duty does not count, though it probably came up where the position was watched. */
export const isLeftOut = (alias: string) =>
  `${alias}.opportunities = 0 AND ${alias}.set_aside + ${alias}.likely >= 1`;

/** A duty left out of a report for a position, because too little of it is decided. */
export interface LeftOut {
  readonly dutyKey: string;
  readonly title: string;
  readonly position: Position;
  /** Chances found, and misses among them, that do not count. */
  readonly chances: number;
  readonly misses: number;
}

interface SharesOfReport {
  /** Null: the observer has not said. */
  readonly watched: Watched | null;
  readonly crew: Position[];
  /** Numbers of the plays at which a range begins or ends. */
  readonly playNumbers: ReadonlyMap<string, number>;
  readonly byPosition: readonly (ChancesKept & { readonly position: Position })[];
  readonly leftOut: LeftOut[];
}

/** What of a report's game was watched and what its log gives; the report is there. */
export async function sharesOfReport(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<SharesOfReport> {
  const head = await db.query<{ watched: Watched | null; crew: Position[]; method: number | null }>(
    `SELECT r.watched, r.counts_method AS method,
            (SELECT coalesce(array_agg(w.position), '{}') FROM working_crew_member w
              WHERE w.conference_id = $1 AND w.game_id = r.game_id) AS crew
       FROM report r WHERE r.conference_id = $1 AND r.id = $2`,
    [conferenceId, reportId],
  );
  const { watched, crew, method } = head.rows[0]!;
  const ends = watched?.stretches.flatMap(({ from, to }) => [from, to]).filter((end) => end !== null) ?? [];
  const numbers = await db.query<{ id: string; number: number }>(
    'SELECT id, number FROM play WHERE conference_id = $1 AND id = ANY ($2::uuid[])',
    [conferenceId, ends],
  );
  const positions = await db.query<ChancesKept & { position: Position }>(
    `SELECT n.position, ${chancesKept('n')} FROM opportunity_count n
      WHERE n.conference_id = $1 AND n.report_id = $2 GROUP BY n.position`,
    [conferenceId, reportId],
  );
  const leftOut = await db.query<LeftOut>(
    `SELECT n.duty_key AS "dutyKey", coalesce(d.title, n.duty_key) AS title, n.position, n.set_aside AS chances,
            n.set_aside_not_met AS misses
       FROM opportunity_count n
       JOIN report r ON r.conference_id = n.conference_id AND r.id = n.report_id
       LEFT JOIN duty d ON d.conference_id = n.conference_id AND d.rubric_version_id = r.rubric_version_id
                       AND d.key = n.duty_key
      WHERE n.conference_id = $1 AND n.report_id = $2 AND ${isLeftOut('n')} ORDER BY 2, n.position`,
    [conferenceId, reportId],
  );
  return {
    watched,
    crew,
    playNumbers: new Map(numbers.rows.map(({ id, number }) => [id, number])),
    // Counts of an earlier version of the program say nothing of shares.
    byPosition: method === null ? [] : positions.rows,
    leftOut: leftOut.rows,
  };
}
