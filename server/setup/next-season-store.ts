import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import type { Position } from '../football/positions.ts';
import { lockSeason } from '../schedule/season-lock.ts';
import { openSeason } from '../schedule/season-states.ts';
import type { SeasonWeek } from '../schedule/season-weeks.ts';
import { conflict } from '../web/problem.ts';

type Member = { position: Position; personId: string };

export type NextSeason = {
  name: string;
  weeks: readonly SeasonWeek[];
  /** Who does not serve in it. */
  leaving: readonly string[];
  crews: readonly { name: string; members: readonly Member[] }[];
  /** Ask everybody who stays when they are away. */
  asksAvailability: boolean;
};

export type Staff = {
  id: string;
  name: string;
  roles: string[];
  /** Did not serve in the season that the next one is opened from. */
  wasAway: boolean;
  /** Was in no crew, worked no game and watched none yet, in no season. */
  isNew: boolean;
  /** Where they worked most games of the conference, of all seasons; else their seat in a crew of that season. */
  usually: Position | null;
};

/** Who may serve in the season that follows `seasonId`: active officials and observers, by name. */
export async function readStaff(db: Queryable, conferenceId: string, seasonId: string): Promise<Staff[]> {
  const { rows } = await db.query<Staff>(
    `SELECT p.id, p.family_name || ', ' || p.given_name AS name, array_agg(r.role ORDER BY r.role DESC) AS roles,
            EXISTS (SELECT FROM season_departure d
                     WHERE d.conference_id = p.conference_id AND d.season_id = $2 AND d.person_id = p.id) AS "wasAway",
            NOT EXISTS (SELECT FROM crew_member m WHERE m.conference_id = p.conference_id AND m.person_id = p.id)
            AND NOT EXISTS (SELECT FROM working_crew_member w
                             WHERE w.conference_id = p.conference_id AND w.person_id = p.id)
            AND NOT EXISTS (SELECT FROM observer_assignment a
                             WHERE a.conference_id = p.conference_id AND a.observer_id = p.id)
            AS "isNew",
            COALESCE((SELECT mode() WITHIN GROUP (ORDER BY w.position) FROM working_crew_member w
                       WHERE w.conference_id = p.conference_id AND w.person_id = p.id),
                     (SELECT min(m.position) FROM crew_member m JOIN crew c ON c.conference_id = m.conference_id AND c.id = m.crew_id
                       WHERE m.conference_id = p.conference_id AND m.person_id = p.id AND c.season_id = $2)) AS usually
       FROM person p
       JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
                         AND r.role IN ('official', 'observer')
      WHERE p.conference_id = $1 AND p.active
      GROUP BY p.conference_id, p.id ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** The weeks that a season's games were in, where nobody gave its weeks their days; null without games. */
export async function weeksOfGames(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<{ firstDay: string; first: number; count: number } | null> {
  const { rows } = await db.query<{ firstDay: string; first: number; count: number }>(
    `SELECT date_trunc('week', min(g.kickoff) AT TIME ZONE c.time_zone)::date::text AS "firstDay",
            min(g.week) AS first, max(g.week) - min(g.week) + 1 AS count
       FROM game g JOIN conference c ON c.id = g.conference_id
      WHERE g.conference_id = $1 AND g.season_id = $2 GROUP BY c.id`,
    [conferenceId, seasonId],
  );
  return rows[0] ?? null;
}

/** The season that was opened from this one and is still there. */
export async function openedAfter(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<{ id: string; name: string } | undefined> {
  const { rows } = await db.query<{ id: string; name: string }>(
    'SELECT id, name FROM season WHERE conference_id = $1 AND opened_from_id = $2 ORDER BY created_at LIMIT 1',
    [conferenceId, seasonId],
  );
  return rows[0];
}

/**
 * Opens the next season from `fromId`: settings, every version of the rubric, crews as given, who stays, and who is
 * asked when they can work. @returns its id.
 * @throws Problem 409 when a season was opened from this one already, or has the name.
 */
export async function openNextSeason(
  client: Queryable,
  acting: Acting,
  fromId: string,
  next: NextSeason,
): Promise<string> {
  const { conferenceId } = acting;
  const from = await lockSeason(client, conferenceId, fromId);
  const already = await openedAfter(client, conferenceId, fromId);
  if (already)
    throw conflict(
      `Season ${already.name} was opened from ${from.name} already. Go on with it, or undo it on the Seasons page.`,
    );
  const seasonId = await openSeason(client, acting, {
    name: next.name,
    weeks: next.weeks,
    openedFromId: fromId,
  });
  const here = [conferenceId, seasonId];
  // Taken back before they go, so that their observers are told.
  await client.query(
    `UPDATE observer_assignment a SET answer = 'declined', withdrawn_at = now() FROM game g
      WHERE a.conference_id = $1 AND a.answer <> 'declined' AND g.conference_id = $1 AND g.id = a.game_id
        AND g.season_id = $2`,
    here,
  );
  const both = [...here, fromId];
  for (const setting of settingsOfASeason) await client.query(setting, both);
  await takeOverRubric(client, conferenceId, fromId, seasonId);
  await client.query(
    `INSERT INTO season_departure (conference_id, season_id, person_id)
     SELECT $1, $2, unnest($3::uuid[])`,
    [...here, next.leaving],
  );
  for (const crew of next.crews) {
    const { rows } = await client.query<{ id: string }>(
      'INSERT INTO crew (conference_id, season_id, name) VALUES ($1, $2, $3) RETURNING id',
      [...here, crew.name],
    );
    await client.query(
      `INSERT INTO crew_member (conference_id, crew_id, position, person_id)
       SELECT $1, $2, position, person_id FROM unnest($3::text[], $4::uuid[]) AS m (position, person_id)`,
      [
        conferenceId,
        rows[0]!.id,
        crew.members.map((member) => member.position),
        crew.members.map((member) => member.personId),
      ],
    );
  }
  await client.query(conflictsWithCrews, both);
  if (next.asksAvailability) {
    await client.query(
      `INSERT INTO season_availability (conference_id, season_id, person_id)
       SELECT DISTINCT p.conference_id, $2::uuid, p.id
         FROM person p
         JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
                           AND r.role IN ('official', 'observer')
        WHERE p.conference_id = $1 AND p.active AND p.id <> ALL ($3::uuid[])`,
      [...here, next.leaving],
    );
  }
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: 'took a season over into the next',
    subjectKind: 'season',
    subjectId: seasonId,
    after: {
      from: from.name,
      crews: next.crews.length,
      leaving: next.leaving.length,
      asksAvailability: next.asksAvailability,
    },
  });
  return seasonId;
}

const settingsOfASeason = [
  `INSERT INTO pattern_setting (conference_id, season_id, false_discovery_rate, minimum_opportunities, minimum_games)
   SELECT conference_id, $2, false_discovery_rate, minimum_opportunities, minimum_games
     FROM pattern_setting WHERE conference_id = $1 AND season_id = $3`,
  `INSERT INTO observer_plan_setting (conference_id, season_id, observers_per_game, crew_times_seen,
                                      crew_different_observers, price_film, price_repeated_pair, price_load,
                                      price_information)
   SELECT conference_id, $2, observers_per_game, crew_times_seen, crew_different_observers, price_film,
          price_repeated_pair, price_load, price_information
     FROM observer_plan_setting WHERE conference_id = $1 AND season_id = $3`,
];

// Whoever may not watch a crew may not watch the one that bears its name next.
const conflictsWithCrews = `
  INSERT INTO observer_conflict (conference_id, person_id, kind, crew_id, note, declared_at)
  SELECT o.conference_id, o.person_id, o.kind, n.id, o.note, o.declared_at
    FROM observer_conflict o
    JOIN crew c ON c.conference_id = o.conference_id AND c.id = o.crew_id AND c.season_id = $3
    JOIN crew n ON n.conference_id = c.conference_id AND n.season_id = $2 AND n.name = c.name
   WHERE o.conference_id = $1`;

async function takeOverRubric(
  client: Queryable,
  conferenceId: string,
  fromId: string,
  seasonId: string,
): Promise<void> {
  await client.query(
    `INSERT INTO rubric_version (conference_id, season_id, number, note, created_by, created_at, code, practices, none_weight,
                                 yards_weight, possession_weight, score_weight)
     SELECT conference_id, $2, number, note, created_by, created_at, code, practices, none_weight, yards_weight,
            possession_weight, score_weight
       FROM rubric_version WHERE conference_id = $1 AND season_id = $3`,
    [conferenceId, seasonId, fromId],
  );
  await client.query(
    `INSERT INTO duty (conference_id, rubric_version_id, key, title, category, graded_as, weight, definition)
     SELECT d.conference_id, n.id, d.key, d.title, d.category, d.graded_as, d.weight, d.definition
       FROM rubric_version v
       JOIN rubric_version n ON n.conference_id = v.conference_id AND n.season_id = $2 AND n.number = v.number
       JOIN duty d ON d.conference_id = v.conference_id AND d.rubric_version_id = v.id
      WHERE v.conference_id = $1 AND v.season_id = $3`,
    [conferenceId, seasonId, fromId],
  );
}
