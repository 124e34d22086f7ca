import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { tell, tellCoordinators } from '../../messages/tell.ts';
import { answerUntil } from '../answer-time.ts';
import type { ReportRow } from './held-report.ts';

// Who is told of a report's steps. Called in the step's transaction, before the trail is written.

export async function tellOfFiling(client: Queryable, acting: Acting, report: ReportRow): Promise<void> {
  const { rows } = await client.query<{ game: string; week: number; observer: string }>(
    `SELECT t.title AS game, g.week, o.given_name || ' ' || o.family_name AS observer
       FROM game g
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
       JOIN person o ON o.conference_id = g.conference_id AND o.id = $3
      WHERE g.conference_id = $1 AND g.id = $2`,
    [acting.conferenceId, report.gameId, report.observerId],
  );
  await tellCoordinators(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    kind: 'filed',
    aboutId: report.id,
    facts: rows[0]!,
    at: acting.at,
  });
}

export async function tellOfReturn(
  client: Queryable,
  acting: Acting,
  report: ReportRow,
  reason: string,
): Promise<void> {
  await tell(client, {
    conferenceId: acting.conferenceId,
    personIds: [report.observerId],
    kind: 'returned',
    aboutId: report.id,
    facts: { ...(await gameOf(client, acting.conferenceId, report.gameId)), reason },
    at: acting.at,
  });
}

/** Tells each official whom the report counts, with the day until which they may answer it, if they may. */
export async function tellOfRelease(client: Queryable, acting: Acting, report: ReportRow): Promise<void> {
  const { conferenceId } = acting;
  const game = await gameOf(client, conferenceId, report.gameId);
  const { rows } = await client.query<{ until: Date | null; personIds: string[] }>(
    `SELECT until, array_agg(person_id) AS "personIds"
       FROM (SELECT o.person_id,
                    CASE WHEN ${answerUntil('o.person_id')} > r.released_at THEN ${answerUntil('o.person_id')} END AS until
               FROM report r
               JOIN (SELECT DISTINCT person_id FROM opportunity_count WHERE conference_id = $1 AND report_id = $2) o
                 ON true
               JOIN person p ON p.conference_id = $1 AND p.id = o.person_id AND p.active
              WHERE r.conference_id = $1 AND r.id = $2) told
      GROUP BY until`,
    [conferenceId, report.id],
  );
  for (const { until, personIds } of rows)
    await tell(client, {
      ...{ conferenceId, personIds, kind: 'released', aboutId: report.id, at: acting.at },
      facts: { ...game, answerUntil: until?.toISOString() ?? null },
    });
}

async function gameOf(
  client: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<{ game: string; week: number }> {
  const { rows } = await client.query<{ game: string; week: number }>(
    `SELECT t.title AS game, g.week FROM game g
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
      WHERE g.conference_id = $1 AND g.id = $2`,
    [conferenceId, gameId],
  );
  return rows[0]!;
}
