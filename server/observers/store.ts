import { appendAudit } from '../accounts/audit.ts';
import { newToken, tokenHash } from '../accounts/token.ts';
import type { Database } from '../database/database.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { conflict, notFound } from '../http/problem.ts';
import { currentSeason, seasonOf } from '../schedule/seasons.ts';
import type { Absence, Choice, Conflict, ConflictKind, Mode } from './planning-problem.ts';
import type {
  Assignment,
  PlanSetting,
  SeasonGame,
  SeasonMaterial,
  SeasonObserver,
} from './season-material.ts';

type Pool = Database['pool'];

export interface Actor {
  readonly conferenceId: string;
  readonly personId: string;
}

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
  const season = { id: found.id, name: found.name };
  const db = database.pool;
  const here = [conferenceId, season.id];
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
    reported: boolean;
  }>(
    `SELECT g.id, g.key, g.week, g.kickoff, v.time_zone, (g.kickoff AT TIME ZONE v.time_zone)::date::text AS date,
            v.name AS venue, v.latitude, v.longitude, h.id AS home_id, h.name AS home, a.id AS visitor_id,
            a.name AS visitor, c.id AS crew_id, c.name AS crew,
            COALESCE(
              (SELECT json_agg(json_build_object('id', w.person_id, 'position', w.position) ORDER BY w.position)
                 FROM working_crew_member w WHERE w.conference_id = g.conference_id AND w.game_id = g.id),
              (SELECT json_agg(json_build_object('id', m.person_id, 'position', m.position) ORDER BY m.position)
                 FROM crew_member m WHERE m.conference_id = g.conference_id AND m.crew_id = g.crew_id),
              '[]') AS officials,
            w.observers_wanted, COALESCE(w.film_allowed, true) AS film_allowed,
            EXISTS (SELECT FROM report r WHERE r.conference_id = g.conference_id AND r.game_id = g.id) AS reported
       FROM game g
       JOIN venue v ON v.conference_id = g.conference_id AND v.id = g.venue_id
       JOIN team h ON h.conference_id = g.conference_id AND h.id = g.home_team_id
       JOIN team a ON a.conference_id = g.conference_id AND a.id = g.visiting_team_id
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
    told_at: Date | null;
    revision: number;
    changed_at: Date;
    report_state: string | null;
  }>(
    `SELECT s.id, s.game_id, s.observer_id, s.how, s.answer, s.withdrawn_at, s.locked, s.override_reason,
            s.decline_reason, s.offered_at, s.told_at, s.revision, s.changed_at, r.state AS report_state
       FROM observer_assignment s
       JOIN game g ON g.conference_id = s.conference_id AND g.id = s.game_id
       LEFT JOIN report r ON r.conference_id = s.conference_id AND r.game_id = s.game_id AND r.observer_id = s.observer_id
      WHERE s.conference_id = $1 AND g.season_id = $2
      ORDER BY s.offered_at, s.id`,
    here,
  );
  return {
    season,
    settings: await loadSetting(db, conferenceId, season.id),
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
        reported: row.reported,
      }),
    ),
    observers: await loadObservers(db, conferenceId),
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
        toldAt: row.told_at,
        revision: row.revision,
        changedAt: row.changed_at,
        reportState: row.report_state,
      }),
    ),
  };
}

export async function loadSetting(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<PlanSetting> {
  const { rows } = await db.query(
    `SELECT p.* FROM (SELECT 1) one LEFT JOIN observer_plan_setting p ON p.conference_id = $1 AND p.season_id = $2`,
    [conferenceId, seasonId],
  );
  const row = rows[0] ?? {};
  return {
    observersPerGame: row.observers_per_game ?? 1,
    crewTarget: {
      timesSeen: row.crew_times_seen ?? 4,
      differentObservers: row.crew_different_observers ?? 3,
    },
    film: row.price_film ?? 120,
    repeatedPair: row.price_repeated_pair ?? 40,
    load: row.price_load ?? 12,
    information: row.price_information ?? 120,
  };
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

/** Active observers of the conference, by name. Who never filled in a profile watches both ways without limits. */
export async function loadObservers(db: Queryable, conferenceId: string): Promise<SeasonObserver[]> {
  const { rows } = await db.query<ObserverRow>(
    `SELECT p.id, p.given_name, p.family_name, p.email, p.home_place, p.home_latitude, p.home_longitude,
            o.watches_in_person, o.watches_film, o.weekly_limit, o.season_limit, o.travel_limit_miles,
            (SELECT COALESCE(json_agg(json_build_object('from', a.first_day, 'to', a.last_day, 'of', a.away_from)
                                      ORDER BY a.first_day), '[]')
               FROM observer_absence a WHERE a.conference_id = p.conference_id AND a.person_id = p.id) AS absences,
            (SELECT COALESCE(json_agg(json_build_object('kind', c.kind, 'team', c.team_id, 'official', c.official_id,
                                                        'crew', c.crew_id) ORDER BY c.declared_at), '[]')
               FROM observer_conflict c WHERE c.conference_id = p.conference_id AND c.person_id = p.id) AS conflicts
       FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'observer'
       LEFT JOIN observer_profile o ON o.conference_id = p.conference_id AND o.person_id = p.id
      WHERE p.conference_id = $1 AND p.active
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId],
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

export async function saveSetting(
  pool: Pool,
  actor: Actor,
  seasonId: string,
  setting: PlanSetting,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const before = await loadSetting(client, actor.conferenceId, seasonId);
    await client.query(
      `INSERT INTO observer_plan_setting (conference_id, season_id, observers_per_game, crew_times_seen,
              crew_different_observers, price_film, price_repeated_pair, price_load, price_information)
       VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
       ON CONFLICT (conference_id, season_id) DO UPDATE
         SET observers_per_game = excluded.observers_per_game, crew_times_seen = excluded.crew_times_seen,
             crew_different_observers = excluded.crew_different_observers, price_film = excluded.price_film,
             price_repeated_pair = excluded.price_repeated_pair, price_load = excluded.price_load,
             price_information = excluded.price_information`,
      [
        actor.conferenceId,
        seasonId,
        setting.observersPerGame,
        setting.crewTarget.timesSeen,
        setting.crewTarget.differentObservers,
        setting.film,
        setting.repeatedPair,
        setting.load,
        setting.information,
      ],
    );
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'coverage wanted changed',
      subjectKind: 'season',
      subjectId: seasonId,
      before,
      after: setting,
    });
  });
}

export async function saveGameCoverage(
  pool: Pool,
  actor: Actor,
  gameId: string,
  coverage: { observersWanted: number | null; filmAllowed: boolean },
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { rowCount } = await client.query('SELECT FROM game WHERE conference_id = $1 AND id = $2', [
      actor.conferenceId,
      gameId,
    ]);
    if (rowCount !== 1) throw notFound('game');
    await client.query(
      `INSERT INTO game_coverage (conference_id, game_id, observers_wanted, film_allowed) VALUES ($1, $2, $3, $4)
       ON CONFLICT (conference_id, game_id) DO UPDATE
         SET observers_wanted = excluded.observers_wanted, film_allowed = excluded.film_allowed`,
      [actor.conferenceId, gameId, coverage.observersWanted, coverage.filmAllowed],
    );
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'coverage wanted changed',
      subjectKind: 'game',
      subjectId: gameId,
      after: coverage,
    });
  });
}

/** A change of the assignments of some games: who is taken off, who is offered the game. */
export interface AssignmentChange {
  readonly withdraw: readonly Pick<Choice, 'gameId' | 'observerId'>[];
  readonly offer: readonly (Choice & {
    /** Rules this choice breaks and why the coordinator chose it all the same. */
    readonly override?: { readonly rules: readonly string[]; readonly reason: string };
    readonly locked?: boolean;
  })[];
}

/**
 * Carries out a change whole or not at all, with an audit entry for each assignment touched.
 * @throws Problem 409 when a report was begun on an assignment to be withdrawn.
 */
export async function changeAssignments(pool: Pool, actor: Actor, change: AssignmentChange): Promise<void> {
  await inTransaction(pool, async (client) => {
    const games = [...new Set([...change.withdraw, ...change.offer].map(({ gameId }) => gameId))].sort();
    const { rowCount } = await client.query(
      'SELECT FROM game WHERE conference_id = $1 AND id = ANY ($2) ORDER BY id FOR UPDATE',
      [actor.conferenceId, games],
    );
    if (rowCount !== games.length) throw notFound('game');
    for (const { gameId, observerId } of change.withdraw) await withdraw(client, actor, gameId, observerId);
    for (const choice of change.offer) await offer(client, actor, choice);
  });
}

async function withdraw(client: Queryable, actor: Actor, gameId: string, observerId: string): Promise<void> {
  const report = await client.query(
    'SELECT FROM report WHERE conference_id = $1 AND game_id = $2 AND observer_id = $3',
    [actor.conferenceId, gameId, observerId],
  );
  if (report.rowCount)
    throw conflict('This observer has begun a report on the game and cannot be taken off it.');
  const { rows } = await client.query<{ id: string; answer: string; how: string }>(
    `SELECT id, answer, how FROM observer_assignment
      WHERE conference_id = $1 AND game_id = $2 AND observer_id = $3 AND answer <> 'declined' FOR UPDATE`,
    [actor.conferenceId, gameId, observerId],
  );
  const before = rows[0];
  if (!before) return;
  await client.query(
    `UPDATE observer_assignment SET answer = 'declined', withdrawn_at = now(), locked = false, override_reason = NULL
      WHERE conference_id = $1 AND id = $2`,
    [actor.conferenceId, before.id],
  );
  await appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: 'assignment withdrawn',
    subjectKind: 'observer_assignment',
    subjectId: before.id,
    before: { answer: before.answer, how: before.how },
    after: { gameId, observerId },
  });
}

async function offer(
  client: Queryable,
  actor: Actor,
  choice: AssignmentChange['offer'][number],
): Promise<void> {
  const observer = await client.query(
    `SELECT FROM person_role WHERE conference_id = $1 AND person_id = $2 AND role = 'observer'`,
    [actor.conferenceId, choice.observerId],
  );
  if (observer.rowCount !== 1) throw notFound('observer');
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer, locked, override_reason)
     VALUES ($1, $2, $3, $4, 'offered', $5, $6)
     ON CONFLICT (conference_id, game_id, observer_id) DO UPDATE
       SET how = excluded.how, answer = 'offered', locked = excluded.locked,
           override_reason = excluded.override_reason, decline_reason = NULL, offered_at = now(),
           answered_at = NULL, told_at = NULL, reminded_at = NULL
     RETURNING id`,
    [
      actor.conferenceId,
      choice.gameId,
      choice.observerId,
      choice.mode,
      choice.locked ?? false,
      choice.override?.reason ?? null,
    ],
  );
  await appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: choice.override ? 'assignment offered against the rules' : 'assignment offered',
    subjectKind: 'observer_assignment',
    subjectId: rows[0]?.id ?? '',
    reason: choice.override?.reason ?? null,
    after: {
      gameId: choice.gameId,
      observerId: choice.observerId,
      how: choice.mode,
      ...(choice.override ? { rulesBroken: choice.override.rules } : {}),
    },
  });
}

export async function lockAssignment(
  pool: Pool,
  actor: Actor,
  assignmentId: string,
  locked: boolean,
): Promise<{ gameId: string }> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ game_id: string }>(
      `UPDATE observer_assignment SET locked = $3 WHERE conference_id = $1 AND id = $2 AND answer <> 'declined'
       RETURNING game_id`,
      [actor.conferenceId, assignmentId, locked],
    );
    if (!rows[0]) throw notFound('assignment');
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: locked ? 'assignment locked' : 'assignment unlocked',
      subjectKind: 'observer_assignment',
      subjectId: assignmentId,
    });
    return { gameId: rows[0].game_id };
  });
}

export interface Answering {
  readonly conferenceId: string;
  /** The observer whose assignment it is: nobody answers for another. */
  readonly observerId: string;
  readonly assignmentId: string;
  readonly answer: 'accepted' | 'declined';
  readonly reason: string;
}

/**
 * The observer's answer. Answering the same again changes nothing.
 * @throws Problem 404 when it is not theirs, 409 when it was withdrawn or a report was begun.
 */
export async function answerAssignment(pool: Pool, answering: Answering): Promise<void> {
  const { conferenceId, observerId, assignmentId, answer } = answering;
  await inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ answer: string; withdrawn_at: Date | null; begun: boolean }>(
      `SELECT a.answer, a.withdrawn_at,
              EXISTS (SELECT FROM report r WHERE r.conference_id = a.conference_id AND r.game_id = a.game_id
                         AND r.observer_id = a.observer_id) AS begun
         FROM observer_assignment a WHERE a.conference_id = $1 AND a.id = $2 AND a.observer_id = $3 FOR UPDATE`,
      [conferenceId, assignmentId, observerId],
    );
    const before = rows[0];
    if (!before) throw notFound('assignment');
    if (before.withdrawn_at)
      throw conflict('The coordinator has withdrawn this assignment; there is nothing to answer.');
    if (before.answer === answer) return;
    if (before.answer === 'declined')
      throw conflict('You declined this game. Ask the coordinator to offer it to you again.');
    if (before.begun) throw conflict('You have begun a report on this game and cannot decline it any more.');
    await client.query(
      `UPDATE observer_assignment SET answer = $3, answered_at = now(), decline_reason = $4
        WHERE conference_id = $1 AND id = $2`,
      [conferenceId, assignmentId, answer, answer === 'declined' ? answering.reason || null : null],
    );
    await appendAudit(client, {
      conferenceId,
      actorId: observerId,
      action: `assignment ${answer}`,
      subjectKind: 'observer_assignment',
      subjectId: assignmentId,
      reason: answering.reason || null,
      before: { answer: before.answer },
      after: { answer },
    });
  });
}

/** Days after which a link in an e-mail no longer answers. */
const linkDays = 30;

/** A new link token for an assignment; earlier ones go on working until they expire. */
export async function newAnswerLink(
  db: Queryable,
  conferenceId: string,
  assignmentId: string,
): Promise<string> {
  const token = newToken();
  await db.query(
    `INSERT INTO assignment_link (conference_id, token_hash, assignment_id, expires_at)
     VALUES ($1, $2, $3, now() + make_interval(days => $4))`,
    [conferenceId, tokenHash(token), assignmentId, linkDays],
  );
  return token;
}

export async function findAnswerLink(
  db: Queryable,
  token: string,
): Promise<{ conferenceId: string; assignmentId: string; observerId: string } | null> {
  const { rows } = await db.query<{ conference_id: string; assignment_id: string; observer_id: string }>(
    `SELECT l.conference_id, l.assignment_id, a.observer_id
       FROM assignment_link l
       JOIN observer_assignment a ON a.conference_id = l.conference_id AND a.id = l.assignment_id
       JOIN person p ON p.conference_id = a.conference_id AND p.id = a.observer_id
      WHERE l.token_hash = $1 AND l.expires_at > now() AND p.active`,
    [tokenHash(token)],
  );
  const row = rows[0];
  return row
    ? { conferenceId: row.conference_id, assignmentId: row.assignment_id, observerId: row.observer_id }
    : null;
}

/** Makes the observer's calendar address anew; the one before stops working. @returns the token for the address. */
export async function newCalendarToken(pool: Pool, actor: Actor): Promise<string> {
  const token = newToken();
  await pool.query(
    `INSERT INTO observer_profile (conference_id, person_id, calendar_token_hash) VALUES ($1, $2, $3)
     ON CONFLICT (conference_id, person_id) DO UPDATE SET calendar_token_hash = excluded.calendar_token_hash`,
    [actor.conferenceId, actor.personId, tokenHash(token)],
  );
  return token;
}

export async function findCalendarOwner(
  db: Queryable,
  token: string,
): Promise<{ conferenceId: string; personId: string; name: string } | null> {
  const { rows } = await db.query<{ conference_id: string; person_id: string; name: string }>(
    `SELECT o.conference_id, o.person_id, p.given_name || ' ' || p.family_name AS name
       FROM observer_profile o JOIN person p ON p.conference_id = o.conference_id AND p.id = o.person_id
      WHERE o.calendar_token_hash = $1 AND p.active`,
    [tokenHash(token)],
  );
  const row = rows[0];
  return row ? { conferenceId: row.conference_id, personId: row.person_id, name: row.name } : null;
}
