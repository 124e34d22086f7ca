import type { Database } from '../../database/database.ts';
import type { Season } from '../../database/generated/client.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { ChancesKept } from '../../duties/report-shares.ts';
import type { Absence, Conflict, ConflictKind, Mode } from '../../planning/planning-problem.ts';
import { chancesKept } from '../../reports/review/report-shares.ts';
import { handedInStates } from '../../schedule/open-states.ts';
import { currentSeason, seasonOf } from '../../schedule/seasons.ts';
import { notFound } from '../../web/problem.ts';
import type { Assignment, SeasonGame, SeasonMaterial, SeasonObserver } from '../season-material.ts';
import { loadSetting } from './setting-store.ts';

/**
 * Everything the planning pages need of one season: the one asked for, else the current one.
 * @throws Problem 404 when there is no such season.
 */
export async function loadSeason(
  database: Database,
  conferenceId: string,
  seasonId?: string,
): Promise<SeasonMaterial> {
  const found =
    seasonId === undefined
      ? await currentSeason(database, conferenceId)
      : await seasonOf(database, conferenceId, seasonId);
  if (!found) throw notFound('season');
  return readSeason(database.pool, found);
}

/** The same on one connection, as the season stands in its transaction. */
export async function readSeason(
  db: Queryable,
  { conferenceId, id, name }: Pick<Season, 'conferenceId' | 'id' | 'name'>,
): Promise<SeasonMaterial> {
  const here = [conferenceId, id];
  const games = await db.query<{
    id: string;
    key: string;
    week: number;
    kickoff: Date;
    time_zone: string;
    date: string;
    venue: string;
    latitude: number;
    longitude: number;
    home_id: string;
    home: string;
    visitor_id: string;
    visitor: string;
    crew_id: string | null;
    crew: string | null;
    officials: { id: string; position: string }[];
    observers_wanted: number | null;
    film_allowed: boolean;
    over: boolean;
    reported: boolean;
  }>(
    `SELECT g.id, g.key, g.week, g.kickoff, v.time_zone, (g.kickoff AT TIME ZONE v.time_zone)::date::text AS date,
            v.name AS venue, v.latitude, v.longitude, g.home_team_id AS home_id, teams.home, g.visiting_team_id AS visitor_id,
            teams.visitor, c.id AS crew_id, c.name AS crew,
            COALESCE(
              (SELECT json_agg(json_build_object('id', w.person_id, 'position', w.position) ORDER BY w.position)
                 FROM working_crew_member w WHERE w.conference_id = g.conference_id AND w.game_id = g.id),
              (SELECT json_agg(json_build_object('id', m.person_id, 'position', m.position) ORDER BY m.position)
                 FROM crew_member m WHERE m.conference_id = g.conference_id AND m.crew_id = g.crew_id),
              '[]') AS officials,
            w.observers_wanted, COALESCE(w.film_allowed, true) AS film_allowed, g.kickoff <= now() AS over,
            EXISTS (SELECT FROM report r WHERE r.conference_id = g.conference_id AND r.game_id = g.id) AS reported
       FROM game g
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN game_teams teams ON teams.conference_id = g.conference_id AND teams.game_id = g.id
       LEFT JOIN crew c ON c.conference_id = g.conference_id AND c.id = g.crew_id
       LEFT JOIN game_coverage w ON w.conference_id = g.conference_id AND w.game_id = g.id
      WHERE g.conference_id = $1 AND g.season_id = $2
      ORDER BY g.week, g.kickoff, g.key`,
    here,
  );
  const assignments = await db.query<{
    id: string;
    game_id: string;
    observer_id: string;
    how: Mode;
    answer: Assignment['answer'];
    withdrawn_at: Date | null;
    locked: boolean;
    override_reason: string | null;
    decline_reason: string | null;
    offered_at: Date;
    revision: number;
    changed_at: Date;
    report_state: string | null;
  }>(
    `SELECT s.id, s.game_id, s.observer_id, s.how, s.answer, s.withdrawn_at, s.locked, s.override_reason,
            s.decline_reason, s.offered_at, s.revision, s.changed_at, r.state AS report_state
       FROM observer_assignment s
       JOIN game g ON g.conference_id = s.conference_id AND g.id = s.game_id
       LEFT JOIN report r ON r.conference_id = s.conference_id AND r.game_id = s.game_id AND r.observer_id = s.observer_id
      WHERE s.conference_id = $1 AND g.season_id = $2
      ORDER BY s.offered_at, s.id`,
    here,
  );
  const kept = await readKept(db, conferenceId, id);
  return {
    season: { id, name },
    settings: await loadSetting(db, conferenceId, id),
    games: games.rows.map(
      (row): SeasonGame => ({
        id: row.id,
        key: row.key,
        week: row.week,
        kickoff: row.kickoff,
        timeZone: row.time_zone,
        date: row.date,
        venue: row.venue,
        place: { latitude: row.latitude, longitude: row.longitude },
        home: { id: row.home_id, name: row.home },
        visitor: { id: row.visitor_id, name: row.visitor },
        crew: row.crew_id === null ? null : { id: row.crew_id, name: row.crew ?? '' },
        officials: row.officials,
        observersWanted: row.observers_wanted,
        filmAllowed: row.film_allowed,
        over: row.over,
        reported: row.reported,
      }),
    ),
    observers: await loadObservers(db, conferenceId, id),
    assignments: assignments.rows.map(
      (row): Assignment => ({
        id: row.id,
        gameId: row.game_id,
        observerId: row.observer_id,
        mode: row.how,
        answer: row.answer,
        withdrawn: row.withdrawn_at !== null,
        locked: row.locked,
        overrideReason: row.override_reason,
        declineReason: row.decline_reason,
        offeredAt: row.offered_at,
        revision: row.revision,
        changedAt: row.changed_at,
        reportState: row.report_state,
        kept: kept.get(`${row.game_id} ${row.observer_id}`) ?? new Map(),
      }),
    ),
  };
}

/** What filed reports kept of each official's chances, by game and observer. */
async function readKept(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<Map<string, Map<string, ChancesKept>>> {
  const { rows } = await db.query<ChancesKept & { gameId: string; observerId: string; personId: string }>(
    `SELECT r.game_id AS "gameId", r.observer_id AS "observerId", n.person_id AS "personId", ${chancesKept('n')}
       FROM report r JOIN opportunity_count n ON n.conference_id = r.conference_id AND n.report_id = r.id
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state IN ${handedInStates}
        AND r.counts_method IS NOT NULL
      GROUP BY r.game_id, r.observer_id, n.person_id`,
    [conferenceId, seasonId],
  );
  const found = new Map<string, Map<string, ChancesKept>>();
  for (const { gameId, observerId, personId, ...chances } of rows) {
    const key = `${gameId} ${observerId}`;
    found.set(key, (found.get(key) ?? new Map()).set(personId, chances));
  }
  return found;
}

type ObserverRow = {
  id: string;
  given_name: string;
  family_name: string;
  email: string;
  home_place: string | null;
  home_latitude: number | null;
  home_longitude: number | null;
  watches_in_person: boolean | null;
  watches_film: boolean | null;
  weekly_limit: number | null;
  season_limit: number | null;
  travel_limit_miles: number | null;
  absences: { from: string; to: string; of: Absence['of'] }[];
  conflicts: { kind: ConflictKind; team: string | null; official: string | null; crew: string | null }[];
};

/**
 * Active observers of the conference, by name; for a season only those who serve in it, with the weeks in which they
 * are away. Who never filled in a profile watches both ways without limits.
 */
export async function loadObservers(
  db: Queryable,
  conferenceId: string,
  seasonId: string | null = null,
): Promise<SeasonObserver[]> {
  const { rows } = await db.query<ObserverRow>(
    `SELECT p.id, p.given_name, p.family_name, p.email, p.home_place, p.home_latitude, p.home_longitude,
            o.watches_in_person, o.watches_film, o.weekly_limit, o.season_limit, o.travel_limit_miles,
            (SELECT COALESCE(json_agg(json_build_object('from', a.first_day, 'to', a.last_day, 'of', a.away_from)
                                      ORDER BY a.first_day), '[]')
               FROM (SELECT first_day, last_day, away_from FROM observer_absence
                      WHERE conference_id = p.conference_id AND person_id = p.id
                     UNION ALL
                     SELECT w.first_day, w.last_day, 'all work' FROM season_week_away o
                       JOIN season_week w ON w.conference_id = o.conference_id AND w.season_id = o.season_id
                                         AND w.number = o.week
                      WHERE o.conference_id = p.conference_id AND o.person_id = p.id AND o.season_id = $2) a) AS absences,
            (SELECT COALESCE(json_agg(json_build_object('kind', c.kind, 'team', c.team_id, 'official', c.official_id,
                                                        'crew', c.crew_id) ORDER BY c.declared_at), '[]')
               FROM observer_conflict c WHERE c.conference_id = p.conference_id AND c.person_id = p.id) AS conflicts
       FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'observer'
       LEFT JOIN observer_profile o ON o.conference_id = p.conference_id AND o.person_id = p.id
      WHERE p.conference_id = $1 AND p.active
        AND NOT EXISTS (SELECT FROM season_departure d
                         WHERE d.conference_id = p.conference_id AND d.season_id = $2 AND d.person_id = p.id)
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, seasonId],
  );
  return rows.map((row) => ({
    id: row.id,
    name: `${row.given_name} ${row.family_name}`,
    email: row.email,
    homePlace: row.home_place ?? '',
    home:
      row.home_latitude === null || row.home_longitude === null
        ? null
        : { latitude: row.home_latitude, longitude: row.home_longitude },
    modes: [
      ...((row.watches_in_person ?? true) ? (['in person'] as const) : []),
      ...((row.watches_film ?? true) ? (['film'] as const) : []),
    ],
    absences: row.absences,
    conflicts: row.conflicts.map(
      ({ kind, team, official, crew }): Conflict => ({
        kind,
        ...(team === null ? {} : { teamId: team }),
        ...(official === null ? {} : { officialId: official }),
        ...(crew === null ? {} : { crewId: crew }),
      }),
    ),
    weeklyLimit: row.weekly_limit,
    seasonLimit: row.season_limit,
    travelLimitMiles: row.travel_limit_miles,
  }));
}
