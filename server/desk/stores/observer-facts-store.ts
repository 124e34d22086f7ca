import type { Asking } from '../../database/pipeline.ts';
import { milesBetween } from '../../planning/distance.ts';
import type { AssignmentFact, ObserverFacts } from '../observer-desk.ts';
import { unansweredAvailability } from './availability-asked.ts';
import { instants, listOf } from './from-json.ts';

const assignments = `
  SELECT a.id, a.game_id AS "gameId", t.title AS game, g.week, g.kickoff, v.time_zone AS "timeZone", v.name AS venue,
         a.how, a.answer, a.offered_at AS "offeredAt", r.id AS "reportId", r.state,
         r.returned_reason AS "returnedReason",
         CASE WHEN r.state = 'returned' THEN
           (SELECT max(e.at) FROM audit_entry e WHERE e.conference_id = $1 AND e.subject_kind = 'report'
               AND e.subject_id = r.id::text AND e.action = 'returned') END AS "returnedAt",
         v.latitude, v.longitude, p.home_latitude AS "homeLatitude", p.home_longitude AS "homeLongitude"
    FROM observer_assignment a
    JOIN person p ON p.conference_id = $1 AND p.id = a.observer_id
    JOIN game g ON g.conference_id = $1 AND g.id = a.game_id AND g.season_id = $2
    JOIN game_teams t ON t.conference_id = $1 AND t.game_id = g.id
    JOIN venue v ON v.conference_id = $1 AND v.id = g.venue_id
    LEFT JOIN report r ON r.conference_id = $1 AND r.game_id = a.game_id AND r.observer_id = a.observer_id
   WHERE a.conference_id = $1 AND a.observer_id = $3 AND (a.answer <> 'declined' OR r.id IS NOT NULL)`;

type Row = Omit<AssignmentFact, 'miles'> &
  Record<'latitude' | 'longitude', number> &
  Record<'homeLatitude' | 'homeLongitude', number | null>;

/** What an observer's desk is worked out from, in one query that each of their pages asks. */
export async function readObserverFacts(
  asking: Asking,
  conferenceId: string,
  seasonId: string,
  personId: string,
): Promise<ObserverFacts> {
  const { rows } = await asking.query<{
    reportDays: number;
    assignments: Row[];
    availability: NonNullable<ObserverFacts['availability']>[];
  }>({
    name: 'what waits for an observer',
    text: `SELECT (SELECT report_days FROM conference WHERE id = $1) AS "reportDays",
                  ${listOf(assignments)} AS assignments, ${listOf(unansweredAvailability)} AS availability`,
    values: [conferenceId, seasonId, personId],
  });
  const [asked] = rows[0]!.availability;
  return {
    reportDays: rows[0]!.reportDays,
    assignments: rows[0]!.assignments.map(withDistance),
    availability: asked ? instants(asked, 'askedAt') : null,
  };
}

function withDistance({ latitude, longitude, homeLatitude, homeLongitude, ...row }: Row): AssignmentFact {
  const home =
    homeLatitude === null || homeLongitude === null
      ? null
      : { latitude: homeLatitude, longitude: homeLongitude };
  return {
    ...instants(row, 'kickoff', 'offeredAt', 'returnedAt'),
    miles: row.how === 'in person' && home ? milesBetween(home, { latitude, longitude }) : null,
  };
}
