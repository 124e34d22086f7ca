import type { Asking } from '../../database/pipeline.ts';
import { endOfDay } from '../../reports/answer-time.ts';
import { openInquiryStates } from '../../schedule/open-states.ts';
import { testEvent } from '../../webhooks/events.ts';
import type { WaitingFacts } from '../coordinator-facts.ts';
import { instants, listOf } from './from-json.ts';

const ofGame = `g.id AS "gameId", t.title AS game, g.week, g.kickoff`;
const teams = 'JOIN game_teams t ON t.conference_id = g.conference_id AND t.game_id = g.id';
const byObserver = `o.given_name || ' ' || o.family_name AS observer, o.id AS "observerId",
         (SELECT max(m.happened_at) FROM message m
           WHERE m.conference_id = $1 AND m.about_id = g.id AND m.person_id = o.id AND m.kind = 'reminder') AS "remindedAt"`;

const reports = `
  SELECT r.id, r.state, ${ofGame}, ${byObserver}, r.filed_at AS "filedAt", r.accepted_at AS "acceptedAt",
         CASE WHEN r.state = 'returned' THEN
           (SELECT max(e.at) FROM audit_entry e WHERE e.conference_id = $1 AND e.subject_kind = 'report'
               AND e.subject_id = r.id::text AND e.action = 'returned') END AS "returnedAt"
    FROM report r
    JOIN game g ON g.conference_id = $1 AND g.id = r.game_id ${teams}
    JOIN person o ON o.conference_id = $1 AND o.id = r.observer_id
   WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state <> 'released'`;

const unreported = `
  SELECT ${ofGame}, ${byObserver}
    FROM game g ${teams}
    JOIN observer_assignment a ON a.conference_id = $1 AND a.game_id = g.id AND a.answer = 'accepted'
    JOIN person o ON o.conference_id = $1 AND o.id = a.observer_id
   WHERE g.conference_id = $1 AND g.season_id = $2 AND g.kickoff < $3
     AND NOT EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.game_id = g.id
                        AND r.observer_id = a.observer_id)`;

const places = `
  SELECT ${ofGame}, w.wanted, w.standing, w.film AS "filmAllowed",
         ${listOf(`SELECT o.given_name || ' ' || o.family_name AS observer, coalesce(a.decline_reason, '') AS reason,
                          coalesce(a.answered_at, a.changed_at) AS at
                     FROM observer_assignment a JOIN person o ON o.conference_id = $1 AND o.id = a.observer_id
                    WHERE a.conference_id = $1 AND a.game_id = g.id AND a.answer = 'declined'
                      AND a.withdrawn_at IS NULL ORDER BY a.answered_at`)} AS declined
    FROM game g ${teams}
    JOIN LATERAL (
      SELECT coalesce(c.observers_wanted, p.observers_per_game, 1) AS wanted, coalesce(c.film_allowed, true) AS film,
             (SELECT count(*)::int FROM observer_assignment a
               WHERE a.conference_id = $1 AND a.game_id = g.id
                 AND (a.answer = 'accepted' OR a.answer = 'offered' AND (a.how = 'film' OR g.kickoff > $3))) AS standing
        FROM (SELECT 1) one
        LEFT JOIN game_coverage c ON c.conference_id = $1 AND c.game_id = g.id
        LEFT JOIN observer_plan_setting p ON p.conference_id = $1 AND p.season_id = $2) w ON w.standing < w.wanted
   WHERE g.conference_id = $1 AND g.season_id = $2
     AND NOT EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.game_id = g.id)`;

const crews = `
  SELECT ${ofGame} FROM game g ${teams}
   WHERE g.conference_id = $1 AND g.season_id = $2 AND g.kickoff < $3 AND g.crew_confirmed_at IS NULL`;

const replies = `
  SELECT y.id, p.given_name || ' ' || p.family_name AS official, t.title AS game, g.week, l.number AS play,
         y.created_at AS at
    FROM reply y
    JOIN observation o ON o.conference_id = $1 AND o.id = y.observation_id
    JOIN report r ON r.conference_id = $1 AND r.id = o.report_id AND r.season_id = $2
    JOIN play l ON l.conference_id = $1 AND l.id = o.play_id
    JOIN game g ON g.conference_id = $1 AND g.id = r.game_id ${teams}
    JOIN person p ON p.conference_id = $1 AND p.id = y.official_id
   WHERE y.conference_id = $1
     AND NOT EXISTS (SELECT FROM ruling u WHERE u.conference_id = $1 AND u.reply_id = y.id)`;

const inquiries = `
  SELECT i.id, i.number, m.name AS team, t.title AS game, g.week, i.state, coalesce(i.reopened_at, i.received_at) AS at,
         to_char(i.due_on, 'YYYY-MM-DD') AS "dueOn"
    FROM inquiry i
    JOIN game g ON g.conference_id = $1 AND g.id = i.game_id ${teams}
    JOIN team m ON m.conference_id = $1 AND m.id = i.team_id
   WHERE i.conference_id = $1 AND i.season_id = $2
     AND i.state IN ${openInquiryStates}`;

// Of each place what was offered last: what came before it is settled.
const offers = `
  SELECT l.selection_id AS "selectionId", l.game_id AS "gameId", l.game, l.slot, l.answer,
         o.given_name || ' ' || o.family_name AS official,
         CASE WHEN l.answer IS NULL THEN l.time_over ELSE l.answered_at END AS at,
         (SELECT p.given_name || ' ' || p.family_name
            FROM selection_choice c JOIN person p ON p.conference_id = $1 AND p.id = c.official_id
           WHERE c.conference_id = $1 AND c.game_id = l.game_id AND c.slot = l.slot AND l.answer IS NOT NULL) AS chosen
    FROM (SELECT DISTINCT ON (f.game_id, f.slot) f.*, g.name AS game,
                 ${endOfDay('f.answer_by', 'n.time_zone')} AS time_over
            FROM selection s
            JOIN conference n ON n.id = $1
            JOIN selection_offer f ON f.conference_id = $1 AND f.selection_id = s.id
            JOIN selection_game g ON g.conference_id = $1 AND g.id = f.game_id
           WHERE s.conference_id = $1 AND s.season_id = $2 AND s.state = 'offered'
           ORDER BY f.game_id, f.slot, f.offered_at DESC, f.id DESC) l
    JOIN person o ON o.conference_id = $1 AND o.id = l.official_id
   WHERE l.answer IN ('declined', 'withdrawn', 'moved up') OR l.answer IS NULL AND l.time_over < $3`;

const mail = `
  SELECT m.kind, count(*)::int AS count, min(p.given_name || ' ' || p.family_name) AS name, min(m.happened_at) AS since,
         coalesce(max(m.last_error), '') AS error
    FROM message m JOIN person p ON p.conference_id = $1 AND p.id = m.person_id
   WHERE m.conference_id = $1 AND m.mail = 'failed' AND p.active GROUP BY m.kind`;

const addresses = `
  SELECT p.id AS "personId", p.given_name || ' ' || p.family_name AS name, p.email, p.mail_refused_at AS since,
         coalesce(p.mail_refused_because, '') AS error
    FROM person p
   WHERE p.conference_id = $1 AND p.active AND p.mail_refused_at IS NOT NULL
     AND NOT EXISTS (SELECT FROM message m WHERE m.conference_id = $1 AND m.person_id = p.id AND m.mail = 'failed')`;

const webhooks = `
  SELECT w.id, w.address, CASE WHEN w.paused_because = 'gone' THEN w.paused_at END AS "goneAt",
         d.given_up AS "givenUp", d.since, d.error
    FROM webhook w
   CROSS JOIN LATERAL (
     SELECT count(*)::int AS given_up, min(settled_at) AS since,
            coalesce((array_agg(error ORDER BY settled_at DESC))[1], '') AS error
       FROM webhook_delivery WHERE conference_id = $1 AND webhook_id = w.id AND state = 'given up'
        AND event <> '${testEvent}') d
   WHERE w.conference_id = $1 AND (w.paused_because = 'gone' OR d.given_up > 0)`;

/**
 * What waits for the coordinator in a season, in one query that every page asks.
 * @param today in the conference's zone, YYYY-MM-DD
 */
export async function readWaitingFacts(
  asking: Asking,
  conferenceId: string,
  seasonId: string,
  { now, today }: { now: Date; today: string },
): Promise<WaitingFacts> {
  const { rows } = await asking.query<Omit<WaitingFacts, 'seasonId' | 'today'>>({
    name: 'what waits for the coordinator',
    text: `
      SELECT ${listOf(`SELECT number, first_day AS "firstDay", last_day AS "lastDay" FROM season_week
                        WHERE conference_id = $1 AND season_id = $2 ORDER BY number`)} AS weeks,
             ${listOf(`SELECT DISTINCT g.week, (g.kickoff AT TIME ZONE v.time_zone)::date AS day FROM game g
                         JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
                        WHERE g.conference_id = $1 AND g.season_id = $2`)} AS "gameDays",
             (SELECT report_days FROM conference WHERE id = $1) AS "reportDays",
             ${listOf(reports)} AS reports, ${listOf(unreported)} AS unreported, ${listOf(places)} AS places,
             ${listOf(crews)} AS crews, ${listOf(replies)} AS replies,
             ${listOf(inquiries)} AS inquiries, ${listOf(offers)} AS offers, ${listOf(mail)} AS mail,
             ${listOf(addresses)} AS addresses, ${listOf(webhooks)} AS webhooks`,
    values: [conferenceId, seasonId, now],
  });
  const read = rows[0]!;
  return {
    ...read,
    seasonId,
    today,
    reports: read.reports.map((one) =>
      instants(one, 'kickoff', 'filedAt', 'acceptedAt', 'returnedAt', 'remindedAt'),
    ),
    unreported: read.unreported.map((one) => instants(one, 'kickoff', 'remindedAt')),
    places: read.places.map((one) => ({
      ...instants(one, 'kickoff'),
      declined: one.declined.map((each) => instants(each, 'at')),
    })),
    crews: read.crews.map((one) => instants(one, 'kickoff')),
    replies: read.replies.map((one) => instants(one, 'at')),
    inquiries: read.inquiries.map((one) => instants(one, 'at')),
    offers: read.offers.map((one) => instants(one, 'at')),
    mail: read.mail.map((one) => instants(one, 'since')),
    addresses: read.addresses.map((one) => instants(one, 'since')),
    webhooks: read.webhooks.map((one) => instants(one, 'goneAt', 'since')),
  };
}
