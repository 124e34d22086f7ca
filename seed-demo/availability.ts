import type pg from 'pg';
import { dayAfter } from '../server/text/days.ts';
import type { DemoConference } from './conference.ts';
import { Draws } from './draws.ts';

/** What an observer of the demo has declared: limits, days away in the week to come, one tie or none. */
interface Declared {
  email: string;
  watchesInPerson: boolean;
  watchesFilm: boolean;
  weeklyLimit: number;
  seasonLimit: number;
  travelLimitMiles: number;
  away: { from: string; to: string; of: 'in person' | 'all work'; note: string } | null;
  tie:
    | { kind: 'school tie' | 'business interest'; team: string; note: string }
    | { kind: 'former crew'; crew: string; note: string }
    | { kind: 'family'; official: string; note: string }
    | null;
}

function declarations(conference: DemoConference, draws: Draws, saturday: string): Declared[] {
  return conference.observers.map(({ email }, at) => ({
    email,
    watchesInPerson: at !== 4,
    watchesFilm: at !== 9,
    weeklyLimit: draws.chance(0.7) ? 1 : 2,
    seasonLimit: draws.integer(8, 11),
    travelLimitMiles: 50 * draws.integer(4, 8),
    away:
      at % 4 === 2
        ? {
            from: saturday,
            to: dayAfter(saturday, 1),
            of: at % 8 === 2 ? 'all work' : 'in person',
            note: at % 8 === 2 ? 'a family wedding' : '',
          }
        : null,
    tie: tieOf(conference, at, draws),
  }));
}

function tieOf(conference: DemoConference, at: number, draws: Draws): Declared['tie'] {
  if (at % 3 === 0)
    return { kind: 'school tie', team: draws.pick(conference.teams).name, note: 'studied there' };
  if (at === 5) return { kind: 'business interest', team: draws.pick(conference.teams).name, note: '' };
  if (at === 7)
    return { kind: 'former crew', crew: draws.pick(conference.crews).name, note: 'worked on it until 2024' };
  if (at === 10)
    return { kind: 'family', official: draws.pick(conference.officials).email, note: 'a cousin' };
  return null;
}

/** Declares for the demo's observers what limits where they can be sent. A second load changes nothing. */
export async function loadAvailability(
  pool: pg.Pool,
  conferenceId: string,
  conference: DemoConference,
  seed: number,
  saturdayToCome: string,
): Promise<void> {
  for (const one of declarations(conference, new Draws(seed, 'availability'), saturdayToCome)) {
    const { rows } = await pool.query<{ person_id: string }>(
      `INSERT INTO observer_profile (conference_id, person_id, watches_in_person, watches_film, weekly_limit,
              season_limit, travel_limit_miles)
       SELECT $1, id, $3, $4, $5, $6, $7 FROM person WHERE conference_id = $1 AND email = $2
       ON CONFLICT DO NOTHING RETURNING person_id`,
      [
        conferenceId,
        one.email,
        one.watchesInPerson,
        one.watchesFilm,
        one.weeklyLimit,
        one.seasonLimit,
        one.travelLimitMiles,
      ],
    );
    const personId = rows[0]?.person_id;
    if (personId === undefined) continue;
    if (one.away)
      await pool.query(
        `INSERT INTO observer_absence (conference_id, person_id, first_day, last_day, away_from, note)
         VALUES ($1, $2, $3, $4, $5, $6)`,
        [conferenceId, personId, one.away.from, one.away.to, one.away.of, one.away.note],
      );
    if (one.tie) {
      const { kind, note } = one.tie;
      await pool.query(
        `INSERT INTO observer_conflict (conference_id, person_id, kind, note, team_id, crew_id, official_id)
         VALUES ($1, $2, $3, $4,
                 (SELECT id FROM team WHERE conference_id = $1 AND name = $5),
                 (SELECT id FROM crew WHERE conference_id = $1 AND name = $6),
                 (SELECT id FROM person WHERE conference_id = $1 AND email = $7))`,
        [
          conferenceId,
          personId,
          kind,
          note,
          'team' in one.tie ? one.tie.team : null,
          'crew' in one.tie ? one.tie.crew : null,
          'official' in one.tie ? one.tie.official : null,
        ],
      );
    }
  }
}
