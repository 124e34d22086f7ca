import type { Queryable } from '../database/transaction.ts';
import type { CrewMember } from './working-crew.ts';

/** The officials of the crew that is planned for a game; none while no crew is. */
export async function plannedCrew(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<CrewMember[]> {
  const { rows } = await db.query<CrewMember>(
    `SELECT m.position, m.person_id AS "personId"
       FROM game g JOIN crew_member m ON m.conference_id = g.conference_id AND m.crew_id = g.crew_id
      WHERE g.conference_id = $1 AND g.id = $2`,
    [conferenceId, gameId],
  );
  return rows;
}
