import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { CrewMember } from '../../games/working-crew.ts';
import { unfiledStates } from '../../schedule/open-states.ts';

/**
 * Confirms who really worked the game, or takes that back. With `crew` the working crew is replaced by it, and marks
 * in open reports go with the position they were made on.
 */
export async function confirmCrew(
  client: Queryable,
  acting: Acting,
  gameId: string,
  crew?: readonly CrewMember[],
  confirmed = true,
): Promise<void> {
  if (crew) {
    await client.query('DELETE FROM working_crew_member WHERE conference_id = $1 AND game_id = $2', [
      acting.conferenceId,
      gameId,
    ]);
    await client.query(
      `INSERT INTO working_crew_member (conference_id, game_id, position, person_id)
       SELECT $1, $2, position, person_id FROM unnest($3::text[], $4::uuid[]) AS m (position, person_id)`,
      [
        acting.conferenceId,
        gameId,
        crew.map((member) => member.position),
        crew.map((member) => member.personId),
      ],
    );
    await client.query(
      `UPDATE observation o SET person_id = w.person_id
         FROM report r, working_crew_member w
        WHERE r.conference_id = $1 AND r.game_id = $2 AND r.state IN ${unfiledStates}
          AND o.conference_id = $1 AND o.report_id = r.id
          AND w.conference_id = $1 AND w.game_id = $2 AND w.position = o.position AND o.person_id <> w.person_id`,
      [acting.conferenceId, gameId],
    );
  }
  await client.query('UPDATE game SET crew_confirmed_at = $3 WHERE conference_id = $1 AND id = $2', [
    acting.conferenceId,
    gameId,
    confirmed ? (acting.at ?? new Date()) : null,
  ]);
}
