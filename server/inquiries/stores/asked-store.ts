import type { Queryable } from '../../database/transaction.ts';
import type { Inquiry } from './inquiry-store.ts';

/** The inquiry by which the team asked the same, as when a form is sent twice; one that was sent back may be asked again. */
export async function askedBefore(
  client: Queryable,
  conferenceId: string,
  { gameId, teamId, category, question, film, quarter, clockSeconds }: Inquiry,
  playId: string | null,
): Promise<string | null> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT i.id FROM inquiry i
      WHERE i.conference_id = $1 AND i.game_id = $2 AND i.team_id = $3 AND i.state NOT IN ('draft', 'sent back')
        AND (i.category, i.question, i.film) = ($4, $5, $6)
        AND CASE WHEN $7::uuid IS NULL THEN i.play_id IS NULL AND (i.quarter, i.clock_seconds) = ($8::int, $9::int)
                 ELSE i.play_id = $7 END
      ORDER BY i.number LIMIT 1`,
    [conferenceId, gameId, teamId, category, question, film, playId, quarter, clockSeconds],
  );
  return rows[0]?.id ?? null;
}

/** How many the team has asked about games of that week; those sent back unanswered do not count. */
export async function sentAbout(
  client: Queryable,
  conferenceId: string,
  { teamId, seasonId, week }: { teamId: string; seasonId: string; week: number },
): Promise<number> {
  const { rows } = await client.query<{ sent: number }>(
    `SELECT count(*)::int AS sent FROM inquiry i JOIN game g ON g.conference_id = i.conference_id AND g.id = i.game_id
      WHERE i.conference_id = $1 AND i.team_id = $2 AND i.season_id = $3 AND g.week = $4
        AND i.state <> 'draft' AND (i.state <> 'sent back' OR i.reopened_at IS NOT NULL)`,
    [conferenceId, teamId, seasonId, week],
  );
  return rows[0]!.sent;
}
