import type pg from 'pg';
import type { SignedInAgent } from './signed-in.ts';

export interface DecidedSelection {
  readonly id: string;
  readonly gameId: string;
}

/**
 * A selection of one game of four officials and alternates, chosen with reasons and opened. Ballots are the committee's
 * tests' matter: here the state alone is set.
 * @param choices official by place
 */
export async function decidedSelection(
  pool: pg.Pool,
  coordinator: SignedInAgent,
  seasonId: string,
  {
    title,
    playedOn,
    choices,
    alternates = 1,
  }: { title: string; playedOn: string; choices: Record<string, string>; alternates?: number },
): Promise<DecidedSelection> {
  const { body: made } = await coordinator
    .post(`/api/seasons/${seasonId}/selections`)
    .send({ title })
    .expect(201);
  const { body } = await coordinator
    .post(`/api/selections/${made.id}/games`)
    .send({
      ...{ name: `${title} final`, playedOn, kickoff: '13:00', crewSize: 4, alternates },
      ...{ homeName: 'Winner of the west', place: 'Rivermouth' },
    })
    .expect(201);
  const gameId = body.games[0].id as string;
  for (const [slot, officialId] of Object.entries(choices)) {
    const position = slot.startsWith('alternate') ? 'umpire' : slot;
    await coordinator
      .put(`/api/selections/${made.id}/games/${gameId}/places/${encodeURIComponent(slot)}`)
      .send({ officialId, position, reason: `Best placed as ${slot}.` })
      .expect(200);
  }
  await pool.query(`UPDATE selection SET state = 'opened', basis = '{"games": []}' WHERE id = $1`, [made.id]);
  return { id: made.id, gameId };
}
