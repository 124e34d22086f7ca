import type pg from 'pg';
import { findSession, startSession } from '../../server/accounts/session.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { openReport } from '../../server/reports/filing/open-report.ts';
import type { OneGame } from '../reports/one-game.ts';

/** An observer at work: their own game with a copy of the plays, an open report on it, and a session. */
export interface ObserverWithReport {
  readonly reportId: string;
  readonly gameId: string;
  readonly observerId: string;
  readonly playIds: readonly string[];
  readonly crew: Readonly<Record<string, string>>;
  /** Of every request they send. */
  readonly headers: Record<string, string>;
}

/** Another observer of the conference of `game`; `number` tells them apart. */
export async function observerWithReport(
  pool: pg.Pool,
  game: OneGame,
  number: number,
): Promise<ObserverWithReport> {
  const { conferenceId } = game;
  const row = async (sql: string, values: unknown[]) => (await pool.query(sql, values)).rows[0].id as string;
  const observerId = await row(
    `INSERT INTO person (conference_id, email, given_name, family_name)
     VALUES ($1, $2, 'Observer', $3) RETURNING id`,
    [conferenceId, `observer-${number}@example.test`, `Number ${number}`],
  );
  await pool.query(`INSERT INTO person_role VALUES ($1, $2, 'observer')`, [conferenceId, observerId]);
  const gameId = await row(
    `INSERT INTO game (conference_id, season_id, key, week, kickoff, home_team_id, visiting_team_id, venue_id)
     SELECT conference_id, season_id, $3, week, kickoff, home_team_id, visiting_team_id, venue_id
       FROM game WHERE conference_id = $1 AND id = $2 RETURNING id`,
    [conferenceId, game.gameId, `at-work-${number}`],
  );
  await pool.query(
    `INSERT INTO working_crew_member SELECT conference_id, $3, position, person_id FROM working_crew_member
      WHERE conference_id = $1 AND game_id = $2`,
    [conferenceId, game.gameId, gameId],
  );
  const plays = await pool.query<{ id: string }>(
    `INSERT INTO play (conference_id, game_id, number, kind, spot, quarter, clock_seconds, down, distance, facts)
     SELECT conference_id, $3, number, kind, spot, quarter, clock_seconds, down, distance, facts FROM play
      WHERE conference_id = $1 AND game_id = $2 ORDER BY number RETURNING id`,
    [conferenceId, game.gameId, gameId],
  );
  const acting = { conferenceId, personId: observerId };
  const reportId = await openReport(pool, acting, { gameId, observerId });
  await confirmCrew(pool, acting, gameId);
  const token = await startSession(pool, { conferenceId, personId: observerId });
  const { csrfToken } = (await findSession(pool, token))!.session;
  const headers = {
    cookie: `crewmark_session=${token}`,
    'x-csrf-token': csrfToken,
    'content-type': 'application/json',
  };
  return {
    reportId,
    gameId,
    observerId,
    playIds: plays.rows.map((play) => play.id),
    crew: game.crew,
    headers,
  };
}
