import type { Queryable } from '../../database/transaction.ts';
import type { Watching } from './viewer-store.ts';

/** By a play's number who is shown in it, where the coordinator said that this audience is told; else nobody. */
export async function namesShownTo(
  db: Queryable,
  conferenceId: string,
  { namesShown, sources, content }: Pick<Watching, 'namesShown' | 'sources' | 'content'>,
): Promise<ReadonlyMap<number, string>> {
  if (!namesShown) return new Map();
  const asked = content.plays.flatMap(({ number, position }) => {
    const gameId = sources.find((source) => source.number === number)?.gameId;
    return gameId ? [{ number, position, gameId }] : [];
  });
  const { rows } = await db.query<{ number: number; name: string }>(
    `SELECT a.number, p.given_name || ' ' || p.family_name AS name
       FROM jsonb_to_recordset($2::jsonb) AS a (number int, position text, "gameId" uuid)
       JOIN working_crew_member w ON w.conference_id = $1 AND w.game_id = a."gameId" AND w.position = a.position
       JOIN person p ON p.conference_id = $1 AND p.id = w.person_id AND p.erased_at IS NULL`,
    [conferenceId, JSON.stringify(asked)],
  );
  return new Map(rows.map(({ number, name }) => [number, name]));
}
