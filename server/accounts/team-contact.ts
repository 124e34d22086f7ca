import type { Queryable } from '../database/transaction.ts';
import { invalid } from '../web/problem.ts';
import type { Role } from './roles.ts';

/** The conference's teams by name, for choosing whom a contact speaks for. */
export async function teamsToChoose(
  db: Queryable,
  conferenceId: string,
): Promise<{ id: string; name: string }[]> {
  const { rows } = await db.query<{ id: string; name: string }>(
    'SELECT id, name FROM team WHERE conference_id = $1 ORDER BY name',
    [conferenceId],
  );
  return rows;
}

/**
 * Keeps for which team a contact speaks; of others nothing is kept.
 * @throws Problem 400 naming `teamId` when a contact would be without a team, or the team is not there
 */
export async function storeTeamOf(
  client: Queryable,
  { conferenceId, personId }: { conferenceId: string; personId: string },
  roles: readonly Role[],
  teamId: string | null | undefined,
): Promise<void> {
  if (!roles.includes('team contact')) return;
  if (teamId) {
    const { rowCount } = await client.query(
      `INSERT INTO team_contact AS c (conference_id, person_id, team_id)
       SELECT $1, $2, t.id FROM team t WHERE t.conference_id = $1 AND t.id = $3
       ON CONFLICT (conference_id, person_id) DO UPDATE SET team_id = excluded.team_id`,
      [conferenceId, personId, teamId],
    );
    if (!rowCount)
      throw invalid([{ field: 'teamId', message: 'There is no such team; choose one of them.' }]);
    return;
  }
  const { rowCount } = await client.query(
    'SELECT FROM team_contact WHERE conference_id = $1 AND person_id = $2',
    [conferenceId, personId],
  );
  if (!rowCount || teamId === null)
    throw invalid([{ field: 'teamId', message: 'Choose the team that they speak for.' }]);
}
