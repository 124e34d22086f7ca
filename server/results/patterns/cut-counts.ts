import type pg from 'pg';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import { situationCutsVersion } from '../../patterns/situation-cuts.ts';
import { countedMaterial } from '../../reports/filing/counted-material.ts';
import { heldReleasedReports } from '../../reports/filing/game-count.ts';
import type { Calculator } from '../calculator.ts';
import type { ResultKind, SeasonKey } from '../kept-result.ts';
import type { CutMaterial } from './cut-game.ts';

/**
 * Says that the cut counts of a season's games are up to date. The counts themselves are rows, kept per game until it is
 * counted again; those of games never cut, or cut by an earlier program, are derived from play log and marks.
 */
export function cutCountsKind(
  calculator: Pick<Calculator, 'cutGame'>,
): ResultKind<Record<string, never>, object, object> {
  return {
    name: 'cuts',
    method: situationCutsVersion,
    basis: `'{}'::jsonb`,
    prepare: (pool, season) => cutGames(pool, calculator, season),
    read: async (client, season) => ((await uncutGames(client, season)).length > 0 ? null : {}),
    compute: async () => ({}),
  };
}

/** Games with a released report whose cut counts are not there, or of an earlier program. */
export async function uncutGames(db: Queryable, { conferenceId, seasonId }: SeasonKey): Promise<string[]> {
  const { rows } = await db.query<{ id: string }>(
    `SELECT g.id FROM game g
       LEFT JOIN cut_count_state s ON s.conference_id = g.conference_id AND s.game_id = g.id AND s.cuts_version = $3
      WHERE g.conference_id = $1 AND g.season_id = $2 AND s.game_id IS NULL
        AND EXISTS (SELECT FROM report r
                     WHERE r.conference_id = g.conference_id AND r.game_id = g.id AND r.state = 'released')
      ORDER BY g.id`,
    [conferenceId, seasonId, situationCutsVersion],
  );
  return rows.map(({ id }) => id);
}

/**
 * Cuts the games that are not cut. Each is its own transaction and holds the game's count, so a correction made
 * meanwhile is either seen or cuts the game anew.
 */
export async function cutGames(
  pool: pg.Pool,
  calculator: Pick<Calculator, 'cutGame'>,
  season: SeasonKey,
): Promise<void> {
  for (const gameId of await uncutGames(pool, season))
    await inTransaction(pool, (client) => cut(client, calculator, season.conferenceId, gameId));
}

async function cut(
  client: Queryable,
  calculator: Pick<Calculator, 'cutGame'>,
  conferenceId: string,
  gameId: string,
): Promise<void> {
  const released = await heldReleasedReports(client, conferenceId, gameId);
  // Another process may have cut it while this one waited.
  const state = await client.query(
    'SELECT FROM cut_count_state WHERE conference_id = $1 AND game_id = $2 AND cuts_version = $3',
    [conferenceId, gameId, situationCutsVersion],
  );
  if (state.rowCount || released.length === 0) return;
  const reports: CutMaterial['reports'][number][] = [];
  let game: Omit<CutMaterial, 'reports'> | undefined;
  let personAt = new Map<string, string>();
  for (const { id, rubricVersionId, watched } of released) {
    const {
      rubric,
      plays,
      marks,
      crew,
      countedShareLeast: decidedShareLeast,
    } = await countedMaterial(client, conferenceId, { id, gameId }, rubricVersionId);
    game ??= { plays, crew: crewAtWork(crew), decidedShareLeast };
    personAt = new Map(crew.map((member) => [member.position, member.personId]));
    reports.push({
      duties: rubric.duties.map(({ duty }) => duty),
      practices: rubric.practices,
      marks,
      watched,
    });
  }
  const counts = await calculator.cutGame({ ...game!, reports });
  const rows = counts.flatMap((count) => {
    const personId = personAt.get(count.position);
    return personId ? [{ ...count, personId }] : [];
  });
  await client.query('DELETE FROM cut_count_state WHERE conference_id = $1 AND game_id = $2', [
    conferenceId,
    gameId,
  ]);
  await client.query(
    'INSERT INTO cut_count_state (conference_id, game_id, cuts_version) VALUES ($1, $2, $3)',
    [conferenceId, gameId, situationCutsVersion],
  );
  await client.query(
    `INSERT INTO cut_count (conference_id, game_id, person_id, position, duty_key, situation_cut, opportunities,
                            not_met, not_counted, model)
     SELECT $1, $2, person_id, position, duty_key, situation_cut, opportunities, not_met, not_counted, model
       FROM unnest($3::uuid[], $4::text[], $5::text[], $6::text[], $7::int[], $8::int[], $9::int[], $10::int[])
         AS n (person_id, position, duty_key, situation_cut, opportunities, not_met, not_counted, model)`,
    [
      conferenceId,
      gameId,
      rows.map((row) => row.personId),
      rows.map((row) => row.position),
      rows.map((row) => row.dutyKey),
      rows.map((row) => row.cut),
      rows.map((row) => row.opportunities),
      rows.map((row) => row.notMet),
      rows.map((row) => row.notCounted),
      rows.map((row) => row.model),
    ],
  );
}
