import type { Queryable } from '../database/transaction.ts';
import { distanceInWords, milesBetween } from '../planning/distance.ts';
import type { Mode } from '../planning/planning-problem.ts';
import { inWords } from '../planning/rules.ts';
import { type CalendarAssignment, calendarOf, organizerOf } from './calendar/calendar.ts';

/** An observer's assignment as their own page and calendar show it. */
export interface OwnAssignment {
  readonly id: string;
  readonly seasonId: string;
  readonly game: string;
  readonly homeTeam: string;
  readonly awayTeam: string;
  readonly week: number;
  readonly kickoff: Date;
  readonly timeZone: string;
  readonly venue: string;
  readonly place: { readonly latitude: number; readonly longitude: number };
  readonly mode: Mode;
  readonly how: string;
  readonly distance: string | null;
  readonly answer: 'offered' | 'accepted' | 'declined';
  readonly withdrawn: boolean;
  readonly reportState: string | null;
  readonly revision: number;
  readonly changedAt: Date;
}

/** All assignments of one observer, latest season last, by kickoff. */
export async function loadAssignments(
  db: Queryable,
  conferenceId: string,
  personId: string,
): Promise<OwnAssignment[]> {
  const { rows } = await db.query(
    `SELECT a.id, a.how, a.answer, a.withdrawn_at IS NOT NULL AS withdrawn, a.revision, a.changed_at, g.season_id, g.week, g.kickoff,
            v.time_zone, v.name AS venue, v.latitude, v.longitude, teams.home, teams.visitor,
            p.home_latitude, p.home_longitude, r.state
       FROM observer_assignment a
       JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
       JOIN person p ON p.conference_id = a.conference_id AND p.id = a.observer_id
       LEFT JOIN report r ON r.conference_id = a.conference_id AND r.game_id = a.game_id AND r.observer_id = a.observer_id
      WHERE a.conference_id = $1 AND a.observer_id = $2
      ORDER BY g.kickoff, g.id`,
    [conferenceId, personId],
  );
  return rows.map((row): OwnAssignment => {
    const place = { latitude: row.latitude, longitude: row.longitude };
    const home =
      row.home_latitude === null ? null : { latitude: row.home_latitude, longitude: row.home_longitude };
    return {
      id: row.id,
      seasonId: row.season_id,
      game: `${row.visitor} at ${row.home}`,
      homeTeam: row.home,
      awayTeam: row.visitor,
      week: row.week,
      kickoff: row.kickoff,
      timeZone: row.time_zone,
      venue: row.venue,
      place,
      mode: row.how,
      how: inWords(row.how),
      distance: row.how === 'in person' && home ? distanceInWords(milesBetween(home, place)) : null,
      answer: row.answer,
      withdrawn: row.withdrawn,
      reportState: row.state,
      revision: row.revision,
      changedAt: row.changed_at,
    };
  });
}

/**
 * The observer's calendar feed. What was taken back stays in it as cancelled, so that calendars remove it.
 * @param from the address that mail comes from
 */
export function feedOf(
  { name, conference }: { name: string; conference: string },
  assignments: readonly OwnAssignment[],
  { address, from }: { address: string; from: string },
): string {
  return calendarOf(
    `${name}: games to observe`,
    assignments.map(
      (one): CalendarAssignment => ({
        ...one,
        answer: one.withdrawn ? 'withdrawn' : one.answer,
        url: `${address}/my/assignments`,
      }),
    ),
    organizerOf(conference, from),
  );
}
