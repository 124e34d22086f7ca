import { randomUUID } from 'node:crypto';
import { Draws } from '../../seed-demo/draws.ts';
import type { OneGame } from '../reports/one-game.ts';
import { makePerson } from './people.ts';
import type { TestDatabase } from './test-database.ts';

/** So many umpires of a conference, named `Umpire Number 0` and on. */
export async function makeUmpires(
  database: TestDatabase,
  conferenceId: string,
  count: number,
): Promise<string[]> {
  const ids: string[] = [];
  for (let at = 0; at < count; at += 1) {
    const { personId } = await makePerson(database.pool, conferenceId, ['official'], {
      givenName: 'Umpire',
      familyName: `Number ${at}`,
    });
    ids.push(personId);
  }
  return ids;
}

/**
 * Released reports of so many games of each umpire, two observers in turn, 60 chances a game: who is weak misses more. Counts
 * only, without plays: each report stands for its game.
 *
 * @param skill of each, 0 the middle
 */
export async function releaseUmpires(
  database: TestDatabase,
  game: OneGame,
  season: { seasonId: string; rubricVersionId: string; key: string },
  umpires: readonly string[],
  skill: readonly number[],
  games: number,
): Promise<void> {
  const { conferenceId } = game;
  const draws = new Draws(9, `umpires ${season.key}`);
  const { rows } = await database.pool.query<{ home: string; away: string; venue: string }>(
    'SELECT home_team_id AS home, visiting_team_id AS away, venue_id AS venue FROM game WHERE id = $1',
    [game.gameId],
  );
  const { home, away, venue } = rows[0]!;
  for (const [at, official] of umpires.entries()) {
    for (let week = 1; week <= games; week += 1) {
      const gameId = randomUUID();
      const reportId = randomUUID();
      await database.pool.query(
        `INSERT INTO game (conference_id, id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
        [
          ...[conferenceId, gameId, season.seasonId, `${season.key} ${at} ${week}`, week],
          ...[new Date(Date.UTC(2026, 7, 1 + 7 * week)), home, away, venue],
        ],
      );
      await database.pool.query(
        `INSERT INTO report (conference_id, id, season_id, game_id, observer_id, state, rubric_version_id, filed_at, released_at)
         VALUES ($1, $2, $3, $4, $5, 'released', $6, now(), now())`,
        [
          ...[conferenceId, reportId, season.seasonId, gameId],
          ...[(at + week) % 2 ? game.observerId : game.secondObserverId, season.rubricVersionId],
        ],
      );
      await database.pool.query(
        `INSERT INTO opportunity_count (conference_id, report_id, person_id, position, duty_key, opportunities, not_met)
         VALUES ($1, $2, $3, 'umpire', 'everybodys-duty', 60, $4)`,
        [conferenceId, reportId, official, Math.max(0, Math.round(5 - 2 * skill[at]! + draws.normal(0, 2)))],
      );
      await database.pool.query(
        `INSERT INTO game_count (conference_id, game_id, rubric_version_id, person_id, position, duty_key, opportunities,
                                 not_met, not_counted, model)
         SELECT conference_id, $3, $4, person_id, position, duty_key, opportunities, not_met, not_counted, model
           FROM opportunity_count WHERE conference_id = $1 AND report_id = $2`,
        [conferenceId, reportId, gameId, season.rubricVersionId],
      );
    }
  }
}
