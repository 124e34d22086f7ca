import type { Queryable } from '../database/transaction.ts';
import type { LoggedPlay } from '../duties/opportunity-counts.ts';
import { type PlayColumns, playOf } from './play-rows.ts';
import type { CrewMember } from './working-crew.ts';

/** One game of a season as opportunities need it. */
export interface GameLog {
  readonly gameId: string;
  readonly crew: readonly CrewMember[];
  readonly plays: readonly LoggedPlay[];
}

const gamesAtOnce = 10;

/** The play logs of a season with who worked each game, a few games in memory at a time. */
export async function* readSeasonLog(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): AsyncGenerator<GameLog> {
  const { rows: games } = await db.query<{ id: string; crew: CrewMember[] }>(
    `SELECT g.id, COALESCE((SELECT jsonb_agg(jsonb_build_object('position', w.position, 'personId', w.person_id))
                              FROM working_crew_member w
                             WHERE w.conference_id = g.conference_id AND w.game_id = g.id), '[]') AS crew
       FROM game g WHERE g.conference_id = $1 AND g.season_id = $2 ORDER BY g.week, g.id`,
    [conferenceId, seasonId],
  );
  for (let from = 0; from < games.length; from += gamesAtOnce) {
    const some = games.slice(from, from + gamesAtOnce);
    const logs = new Map<string, LoggedPlay[]>(some.map((game) => [game.id, []]));
    const { rows } = await db.query<PlayColumns & { id: string; game_id: string }>(
      `SELECT id, game_id, kind, spot, quarter, clock_seconds, down, distance, facts FROM play
        WHERE conference_id = $1 AND game_id = ANY ($2::uuid[]) AND removed_at IS NULL ORDER BY game_id, number`,
      [conferenceId, some.map((game) => game.id)],
    );
    for (const row of rows) logs.get(row.game_id)!.push({ id: row.id, play: playOf(row) });
    for (const { id, crew } of some) yield { gameId: id, crew, plays: logs.get(id)! };
  }
}
