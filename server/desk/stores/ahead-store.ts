import type { Queryable } from '../../database/transaction.ts';

/** How many games a season has, and the next week with games to come. */
export async function readAhead(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  now: Date,
): Promise<{
  games: number;
  coming: { week: number; games: number; kickoff: Date; timeZone: string } | null;
}> {
  const { rows } = await db.query<{ week: number; kickoff: Date; timeZone: string }>(
    `SELECT g.week, g.kickoff, v.time_zone AS "timeZone"
       FROM game g JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
      WHERE g.conference_id = $1 AND g.season_id = $2
      ORDER BY g.kickoff, g.key`,
    [conferenceId, seasonId],
  );
  const next = rows.find(({ kickoff }) => kickoff > now);
  return {
    games: rows.length,
    coming: next
      ? {
          week: next.week,
          games: rows.filter(({ week, kickoff }) => week === next.week && kickoff > now).length,
          kickoff: next.kickoff,
          timeZone: next.timeZone,
        }
      : null,
  };
}
