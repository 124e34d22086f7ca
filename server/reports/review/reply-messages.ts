import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { tell, tellCoordinators } from '../../messages/tell.ts';
import { answerUntil } from '../answer-time.ts';

interface AboutReply {
  official: string;
  officialId: string;
  game: string;
  week: number;
  play: number;
}

async function aboutReply(client: Queryable, conferenceId: string, replyId: string): Promise<AboutReply> {
  const { rows } = await client.query<AboutReply>(
    `SELECT p.given_name || ' ' || p.family_name AS official, p.id AS "officialId", t.title AS game, g.week,
            l.number AS play
       FROM reply y
       JOIN person p ON p.conference_id = y.conference_id AND p.id = y.official_id
       JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
       JOIN play l ON l.conference_id = o.conference_id AND l.id = o.play_id
       JOIN game g ON g.conference_id = l.conference_id AND g.id = l.game_id
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
      WHERE y.conference_id = $1 AND y.id = $2`,
    [conferenceId, replyId],
  );
  return rows[0]!;
}

export async function tellOfReply(client: Queryable, acting: PersonActing, replyId: string): Promise<void> {
  const { officialId: _, ...facts } = await aboutReply(client, acting.conferenceId, replyId);
  await tellCoordinators(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    kind: 'reply',
    aboutId: replyId,
    facts,
    at: acting.at,
  });
}

export async function tellOfRuling(
  client: Queryable,
  acting: PersonActing,
  replyId: string,
  ruling: 'stands' | 'changed' | 'withdrawn',
): Promise<void> {
  const { officialId, official: _, ...game } = await aboutReply(client, acting.conferenceId, replyId);
  await tell(client, {
    conferenceId: acting.conferenceId,
    personIds: [officialId],
    kind: 'ruling',
    aboutId: replyId,
    facts: { ...game, ruling },
    at: acting.at,
  });
}

/** Days before the time to answer ends when an official with marks that they have not answered is told. */
const daysBeforeClosing = 2;

/**
 * Tells officials whose time to answer a report ends soon, once for each day on which it ends, and not those whose
 * time was no longer from the start. Several servers may do it.
 * @returns how many were told.
 */
export async function tellOfClosingWindows(pool: pg.Pool): Promise<number> {
  const { rowCount } = await pool.query(
    `INSERT INTO message (conference_id, person_id, kind, about_id, facts, once)
     SELECT w.conference_id, w.person_id, 'window closing', w.id,
            jsonb_build_object('game', t.title, 'week', g.week, 'answerUntil', w.until, 'unanswered', w.unanswered),
            w.id || ' ' || (w.until AT TIME ZONE c.time_zone)::date
       FROM (SELECT r.conference_id, r.id, r.game_id, r.released_at, o.person_id, count(*)::int AS unanswered,
                    ${answerUntil('o.person_id')} AS until
               FROM report r
               JOIN season s ON s.conference_id = r.conference_id AND s.id = r.season_id AND s.state <> 'closed'
               JOIN observation o ON o.conference_id = r.conference_id AND o.report_id = r.id AND o.removed_at IS NULL
                AND NOT EXISTS (SELECT FROM reply y WHERE y.conference_id = o.conference_id AND y.observation_id = o.id)
              WHERE r.state = 'released' AND r.released_at > now() - interval '400 days'
              GROUP BY r.conference_id, r.id, o.person_id) w
       JOIN person p ON p.conference_id = w.conference_id AND p.id = w.person_id AND p.active
       JOIN conference c ON c.id = w.conference_id
       JOIN game g ON g.conference_id = w.conference_id AND g.id = w.game_id
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
      WHERE w.until > now() AND w.until < now() + make_interval(days => $1)
        AND w.until > w.released_at + make_interval(days => $1)
     ON CONFLICT (conference_id, person_id, kind, once) WHERE once IS NOT NULL DO NOTHING`,
    [daysBeforeClosing],
  );
  return rowCount ?? 0;
}
