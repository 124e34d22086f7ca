import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { tell } from '../../messages/tell.ts';
import { StepRefused } from '../states.ts';
import { dueOf } from './report-due.ts';

interface Owed {
  game: string;
  week: number;
  kickoff: Date;
  timeZone: string;
  reportDays: number;
  state: string | null;
  today: string;
}

/**
 * Reminds an observer of a report that is not filed, or came back. Of one game an observer is reminded once a day
 * (UTC): a click too many writes nothing.
 * @returns false when they were reminded today already. @throws StepRefused when they owe none.
 */
export async function remindOfReport(
  client: Queryable,
  acting: PersonActing,
  gameId: string,
  observerId: string,
): Promise<boolean> {
  const { rows } = await client.query<Owed>(
    `SELECT t.title AS game, g.week, g.kickoff, v.time_zone AS "timeZone", c.report_days AS "reportDays", r.state, to_char(now() AT TIME ZONE 'UTC', 'YYYY-MM-DD') AS today
       FROM game g
       JOIN conference c ON c.id = g.conference_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id
       JOIN person p ON p.conference_id = g.conference_id AND p.id = $3 AND p.active
       LEFT JOIN report r ON r.conference_id = g.conference_id AND r.game_id = g.id AND r.observer_id = p.id
      WHERE g.conference_id = $1 AND g.id = $2 AND g.kickoff <= now()
        AND (r.id IS NOT NULL
             OR EXISTS (SELECT FROM observer_assignment a WHERE a.conference_id = $1 AND a.game_id = g.id
                           AND a.observer_id = p.id AND a.answer = 'accepted'))`,
    [acting.conferenceId, gameId, observerId],
  );
  const owed = rows[0];
  if (!owed || (owed.state !== null && owed.state !== 'draft' && owed.state !== 'returned'))
    throw new StepRefused('This observer owes no report on this game.');
  const { game, week, kickoff, timeZone, reportDays, state, today } = owed;
  const told = await tell(client, {
    conferenceId: acting.conferenceId,
    personIds: [observerId],
    kind: 'reminder',
    aboutId: gameId,
    once: `report ${gameId} ${today}`,
    facts: {
      of: 'report',
      ...{ game, week, gameId, timeZone },
      returned: state === 'returned',
      due: dueOf(kickoff, reportDays).toISOString(),
    },
  });
  if (told === 0) return false;
  await appendAudit(client, {
    conferenceId: acting.conferenceId,
    actorId: acting.personId,
    action: 'reminded of the report',
    subjectKind: 'person',
    subjectId: observerId,
    after: { gameId },
  });
  return true;
}
