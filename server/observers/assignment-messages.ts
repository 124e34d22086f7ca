import type pg from 'pg';
import { newToken } from '../accounts/token.ts';
import type { Prepare } from '../messages/sending.ts';
import type { Mode } from '../planning/planning-problem.ts';
import { type Answer, calendarOf, organizerOf } from './calendar/calendar.ts';
import { keepAnswerLink } from './calendar/secret-addresses.ts';

interface AssignmentNow {
  conference: string;
  how: Mode;
  answer: 'offered' | 'accepted' | 'declined';
  withdrawn: boolean;
  revision: number;
  changedAt: Date;
  kickoff: Date;
  homeTeam: string;
  awayTeam: string;
  venue: string;
  latitude: number;
  longitude: number;
}

/**
 * What mails about an assignment hold besides: where to answer it without signing in, and its calendar entry. An offer
 * or reminder that was answered or taken back while it waited is not mailed.
 * @param from who the calendar entry is of, as MAIL_FROM names them
 */
export const prepareAssignment =
  (address: string, from: string): Prepare =>
  async (db, { conferenceId, aboutId, kind, facts }) => {
    if (aboutId === null || facts.of === 'report') return {};
    const { rows } = await db.query<AssignmentNow>(
      `SELECT k.name AS conference, a.how, a.answer, a.withdrawn_at IS NOT NULL AS withdrawn, a.revision,
              a.changed_at AS "changedAt", g.kickoff, t.home AS "homeTeam", t.visitor AS "awayTeam", v.name AS venue,
              v.latitude, v.longitude
         FROM observer_assignment a
         JOIN conference k ON k.id = a.conference_id
         JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
         JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
         JOIN game_teams t ON t.conference_id = a.conference_id AND t.game_id = g.id
        WHERE a.conference_id = $1 AND a.id = $2`,
      [conferenceId, aboutId],
    );
    const now = rows[0];
    // A season that was undone took its assignments with it; that one is taken back is told all the same.
    if (!now) return kind === 'withdrawal' ? {} : null;
    const isOpen = now.answer === 'offered';
    const toAnswer = kind === 'offer' || facts.of === 'answer';
    if (kind === 'withdrawal' ? !now.withdrawn : now.answer === 'declined' || (toAnswer && !isOpen))
      return null;
    const token = isOpen ? newToken() : null;
    const link = token === null ? null : `${address}/answer/${token}`;
    return {
      facts: { link },
      ...(kind !== 'reminder' && { icalEvent: calendarEntry(aboutId, now, link, from) }),
      ...(token !== null && {
        sent: (client) => keepAnswerLink(client, conferenceId, aboutId, token),
      }),
    };
  };

/**
 * Published, not requested (RFC 5546, sections 3.2.1 and 3.2.5): no inbox reads replies, so a calendar must offer no
 * buttons that write one. The mail's link answers.
 */
function calendarEntry(id: string, now: AssignmentNow, url: string | null, from: string) {
  const answer: Answer = now.withdrawn ? 'withdrawn' : now.answer;
  const method: 'PUBLISH' | 'CANCEL' = now.withdrawn ? 'CANCEL' : 'PUBLISH';
  const content = calendarOf(
    now.conference,
    [
      {
        ...now,
        ...{ id, answer, url },
        mode: now.how,
        place: { latitude: now.latitude, longitude: now.longitude },
      },
    ],
    organizerOf(now.conference, from),
    method,
  );
  return { method, filename: 'game.ics', content };
}

/** Days that an offer may wait for its answer, and before a kickoff, when a reminder goes out. Once each. */
const daysUnanswered = 3;
const daysBeforeKickoff = 3;

/**
 * Writes the reminders that are due in all conferences. Several servers may do it: each is written once.
 * @returns how many were written.
 */
export async function remindObservers(pool: pg.Pool): Promise<number> {
  const { rowCount } = await pool.query(
    `INSERT INTO message (conference_id, person_id, kind, about_id, facts, once)
     SELECT a.conference_id, a.observer_id, 'reminder', a.id,
            assignment_facts(a.conference_id, a.id)
              || jsonb_build_object('of', CASE a.answer WHEN 'offered' THEN 'answer' ELSE 'game' END),
            concat_ws(' ', CASE a.answer WHEN 'offered' THEN 'answer' ELSE 'game' END, a.id, a.offered_at)
       FROM observer_assignment a
       JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
       JOIN season s ON s.conference_id = g.conference_id AND s.id = g.season_id AND s.state <> 'closed'
       JOIN person p ON p.conference_id = a.conference_id AND p.id = a.observer_id AND p.active
      WHERE g.kickoff > now()
        AND (a.answer = 'offered' AND a.offered_at < now() - make_interval(days => $1)
             OR a.answer = 'accepted' AND g.kickoff < now() + make_interval(days => $2))
     ON CONFLICT (conference_id, person_id, kind, once) WHERE once IS NOT NULL DO NOTHING`,
    [daysUnanswered, daysBeforeKickoff],
  );
  return rowCount ?? 0;
}
