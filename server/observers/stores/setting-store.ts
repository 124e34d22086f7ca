import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { notFound } from '../../web/problem.ts';
import type { PlanSetting } from '../season-material.ts';

type Pool = Database['pool'];

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

export async function saveSetting(
  pool: Pool,
  actor: PersonActing,
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
  actor: PersonActing,
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
