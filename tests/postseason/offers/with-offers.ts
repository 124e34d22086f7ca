import type { FastifyInstance } from 'fastify';
import { expect } from 'vitest';
import { oneGame } from '../../reports/one-game.ts';
import { type DecidedSelection, decidedSelection } from '../../support/decided-selection.ts';
import { inSessionOf, type SignedInAgent } from '../../support/signed-in.ts';
import type { TestDatabase } from '../../support/test-database.ts';

export interface OfferRow {
  readonly id: string;
  readonly slot: string;
  readonly position: string;
  readonly officialId: string;
  readonly standing: string;
  readonly reason: string;
  readonly answerBy: string;
  readonly answeredAt: string | null;
  readonly recordedBy: string | null;
  readonly recordedNote: string;
}

/** A conference of one game, with selections that are decided and offered, each on a day of its own. */
export async function withOffers(database: TestDatabase, app: FastifyInstance) {
  const { pool } = database;
  const game = await oneGame(pool, 1);
  const { conferenceId, crew } = game;
  const as = (personId: string) => inSessionOf(app, { conferenceId, personId });
  const coordinator = await as(game.coordinatorId);
  let next = 1;

  /** Referee, umpire, line judge and one alternate (as umpire) are chosen and offered; nobody as head linesman. */
  async function offered(title: string): Promise<DecidedSelection> {
    const selection = await decidedSelection(pool, coordinator, game.seasonId, {
      ...{ title, playedOn: `2199-12-${String(next++).padStart(2, '0')}`, alternates: 2 },
      choices: {
        referee: crew.referee!,
        umpire: crew.umpire!,
        'line judge': crew['line judge']!,
        'alternate 1': crew['back judge']!,
      },
    });
    await coordinator
      .post(`/api/selections/${selection.id}/offers`)
      .send({ answerBy: '2199-11-28', embargoUntil: '2199-11-30T18:00' })
      .expect(201);
    return selection;
  }

  const at = (id: string) => `/api/selections/${id}/offers`;
  const offersOf = async (id: string): Promise<OfferRow[]> =>
    (await coordinator.get(at(id)).expect(200)).body;
  /** The last offer of a place. */
  const offerOf = async (id: string, slot: string): Promise<OfferRow> =>
    (await offersOf(id)).filter((one) => one.slot === slot).at(-1)!;
  const answer = (agent: SignedInAgent, offerId: string, body: object) =>
    agent.post(`/api/my/postseason-offers/${offerId}/answer`).send(body);
  const chosenIn = async (id: string): Promise<{ slot: string; officialId: string; reason: string }[]> =>
    (await coordinator.get(`/api/selections/${id}`).expect(200)).body.choices;
  const told = async (
    personId: string,
    kind: string,
    aboutId: string,
  ): Promise<Record<string, unknown>[]> => {
    const { rows } = await pool.query(
      'SELECT facts FROM message WHERE person_id = $1 AND kind = $2 AND about_id = $3 ORDER BY happened_at, id',
      [personId, kind, aboutId],
    );
    return rows.map(({ facts }) => facts);
  };
  const nameOf = async (personId: string): Promise<string> => {
    const { rows } = await pool.query<{ name: string }>(
      `SELECT given_name || ' ' || family_name AS name FROM person WHERE conference_id = $1 AND id = $2`,
      [conferenceId, personId],
    );
    return rows[0]!.name;
  };
  return {
    ...{ game, crew, as, coordinator, at, offered, offersOf, offerOf, answer, chosenIn, told, nameOf },
    late: (offerId: string) =>
      pool.query(`UPDATE selection_offer SET answer_by = '2020-11-28' WHERE id = $1`, [offerId]),
    choose: (id: string, gameId: string, slot: string, officialId: string) =>
      coordinator
        .put(`/api/selections/${id}/games/${gameId}/places/${encodeURIComponent(slot)}`)
        .send({ officialId, position: slot, reason: 'Next in line.' })
        .expect(200),
  };
}

export type WithOffers = Awaited<ReturnType<typeof withOffers>>;

/** What a page says, between its tags. */
export const wordsOf = (html: string): string => {
  const main = /<main[\s\S]*<\/main>/.exec(html)?.[0];
  expect(main).toBeDefined();
  return main!
    .replaceAll(/<[^>]+>/g, ' ')
    .replaceAll('&#x27;', '’')
    .replaceAll(/\s+/g, ' ');
};
