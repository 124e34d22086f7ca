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
  /** Was in no crew and watched no game of that season. */
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
            NOT EXISTS (SELECT FROM crew_member m JOIN crew c ON c.conference_id = m.conference_id AND c.id = m.crew_id
                         WHERE m.conference_id = p.conference_id AND m.person_id = p.id AND c.season_id = $2)
            AND NOT EXISTS (SELECT FROM working_crew_member w
                              JOIN game g ON g.conference_id = w.conference_id AND g.id = w.game_id
                             WHERE w.conference_id = p.conference_id AND w.person_id = p.id AND g.season_id = $2)
            AND NOT EXISTS (SELECT FROM observer_assignment a
                              JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
                             WHERE a.conference_id = p.conference_id AND a.observer_id = p.id AND g.season_id = $2)
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

type Undoing = { crews: number; games: number; plays: number; told: number };

// Of season $2 of conference $1: the one that becomes current in its place.
const currentInstead = `(
  SELECT s.id FROM season s LEFT JOIN season o ON o.conference_id = s.conference_id AND o.id = $2
   WHERE s.conference_id = $1 AND s.id <> $2
   ORDER BY s.id IS NOT DISTINCT FROM o.opened_from_id DESC, s.created_at DESC LIMIT 1)`;

/** The name of the season that becomes the current one when this one goes; null when it is not the current one or the only one. */
export async function currentAfterUndoing(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<string | null> {
  const { rows } = await db.query<{ name: string }>(
    `SELECT n.name FROM conference c JOIN season n ON n.conference_id = c.id AND n.id = ${currentInstead}
      WHERE c.id = $1 AND c.current_season_id = $2`,
    [conferenceId, seasonId],
  );
  return rows[0]?.name ?? null;
}

/** What goes with a season whose opening is undone. */
export async function readUndoing(db: Queryable, conferenceId: string, seasonId: string): Promise<Undoing> {
  const { rows } = await db.query<Undoing>(
    `SELECT (SELECT count(*)::int FROM crew WHERE conference_id = $1 AND season_id = $2) AS crews,
            (SELECT count(*)::int FROM game WHERE conference_id = $1 AND season_id = $2) AS games,
            (SELECT count(*)::int FROM play p
               JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
              WHERE p.conference_id = $1 AND g.season_id = $2) AS plays,
            (SELECT count(*)::int FROM observer_assignment a
               JOIN game g ON g.conference_id = a.conference_id AND g.id = a.game_id
              WHERE a.conference_id = $1 AND g.season_id = $2 AND a.answer <> 'declined') AS told`,
    [conferenceId, seasonId],
  );
  return rows[0]!;
}

/**
 * Takes back the opening of a season, with all that was prepared in it. People stay.
 * @throws Problem 409 once it has a report, a released training program or a film, or was started.
 */
export async function undoOpening(client: Queryable, acting: Acting, seasonId: string): Promise<void> {
  const { conferenceId } = acting;
  const season = await lockSeason(client, conferenceId, seasonId);
  const { rowCount } = await client.query(
    'SELECT FROM report WHERE conference_id = $1 AND season_id = $2 LIMIT 1',
    [conferenceId, seasonId],
  );
  if (rowCount !== 0)
    throw conflict(`Season ${season.name} has reports, so its opening cannot be undone any more.`);
  if (season.state !== 'open')
    throw conflict(`Season ${season.name} was started, so its opening cannot be undone any more.`);
  const here = [conferenceId, seasonId];
  const editions = await client.query(
    `SELECT FROM training_edition e JOIN training_program p ON p.conference_id = e.conference_id AND p.id = e.program_id
      WHERE p.conference_id = $1 AND p.season_id = $2 LIMIT 1`,
    here,
  );
  if (editions.rowCount !== 0)
    throw conflict(
      `Season ${season.name} has a released training program, so its opening cannot be undone any more.`,
    );
  const films = await client.query(
    `SELECT FROM film f JOIN game g ON g.conference_id = f.conference_id AND g.id = f.game_id
      WHERE f.conference_id = $1 AND g.season_id = $2 LIMIT 1`,
    here,
  );
  if (films.rowCount !== 0)
    throw conflict(
      `Season ${season.name} has films of its games; remove them from the games' pages before its opening is undone.`,
    );
  const gone = await readUndoing(client, conferenceId, seasonId);
  // Taken back before they go, so that their observers are told.
  await client.query(
    `UPDATE observer_assignment a SET answer = 'declined', withdrawn_at = now() FROM game g
      WHERE a.conference_id = $1 AND a.answer <> 'declined' AND g.conference_id = $1 AND g.id = a.game_id
        AND g.season_id = $2`,
    here,
  );
  await client.query(
    `UPDATE conference SET current_season_id = ${currentInstead} WHERE id = $1 AND current_season_id = $2`,
    here,
  );
  for (const table of preparedInASeason)
    await client.query(`DELETE FROM ${table} WHERE conference_id = $1 AND season_id = $2`, here);
  await client.query('UPDATE session SET season_id = NULL WHERE conference_id = $1 AND season_id = $2', here);
  await client.query(
    'UPDATE season SET opened_from_id = NULL WHERE conference_id = $1 AND opened_from_id = $2',
    here,
  );
  await client.query('DELETE FROM season WHERE conference_id = $1 AND id = $2', here);
  await appendAudit(client, {
    conferenceId,
    actorId: acting.personId,
    action: 'undid the opening of the season',
    subjectKind: 'season',
    subjectId: seasonId,
    before: { name: season.name, ...gone },
  });
}

/** Tables without a cascade from the season, those that others refer to last. */
const preparedInASeason = [
  'development_point',
  'training_program',
  'letter',
  'game',
  'crew',
  'rubric_version',
];
