import type { FastifyInstance } from 'fastify';
import { asShown, placesDecided } from '../../server/postseason/committee/decisions.ts';
import { readBasis } from '../../server/postseason/committee/stores/basis-store.ts';
import { keepReasons, readPassOvers } from '../../server/postseason/committee/stores/pass-over-store.ts';
import { readSelection } from '../../server/postseason/stores/selection-rows.ts';
import type { Slot } from '../../server/selection/slots.ts';
import { oneGame } from '../reports/one-game.ts';
import { makePerson } from '../support/people.ts';
import { inSessionOf, personSignedIn } from '../support/signed-in.ts';
import type { TestDatabase } from '../support/test-database.ts';
import { makeUmpires, releaseUmpires } from '../support/umpires.ts';

export interface PlaceOf {
  readonly id: string;
  readonly gameId: string;
  readonly slot: string;
}

/** A season of eight umpires from best to worst, two coordinators, two observers to sit on committees, and a final to fill. */
export async function finalToFill(database: TestDatabase, app: FastifyInstance) {
  const { pool } = database;
  const game = await oneGame(pool, 14);
  const { conferenceId, coordinatorId } = game;
  const coordinator = await inSessionOf(app, { conferenceId, personId: coordinatorId });
  const { agent: second } = await personSignedIn(app, conferenceId, ['coordinator']);
  const observer = async (givenName: string, familyName: string) =>
    (await makePerson(pool, conferenceId, ['observer'], { givenName, familyName })).personId;
  const reader = await observer('Ottoline', 'Reader');
  const late = await observer('Lucan', 'Latecomer');
  await pool.query('UPDATE season SET minimum_games = 1, minimum_opportunities = 1');
  const umpires = await makeUmpires(database, conferenceId, 8);
  const skill = umpires.map((_, at) => 1.5 - 0.4 * at);
  await releaseUmpires(database, game, { ...game, key: 'season' }, umpires, skill, 6);
  const acting = (personId: string) => ({ conferenceId, personId });

  /** A selection with one game of four, of which neither standing nor availability is asked. */
  const made = async (title: string, more: object) => {
    const { body } = await coordinator
      .post(`/api/seasons/${game.seasonId}/selections`)
      .send({ title })
      .expect(201);
    const id: string = body.id;
    await coordinator
      .put(`/api/selections/${id}`)
      .send({
        ...{ title, weights: body.weights, revision: body.revision },
        rules: { ...body.rules, standing: false, availability: false },
      })
      .expect(200);
    const added = await coordinator
      .post(`/api/selections/${id}/games`)
      .send({ crewSize: 4, ...more })
      .expect(201);
    return { id, gameId: added.body.games[0].id as string };
  };

  const choose = async ({ id, gameId, slot }: PlaceOf, officialId: string, position = slot) =>
    coordinator
      .put(`/api/selections/${id}/games/${gameId}/places/${encodeURIComponent(slot)}`)
      .send({ officialId, position })
      .expect(200);

  /** Keeps a reason for the one chosen, and for those passed over of whom a reason is given. */
  const explain = async (
    { id, gameId, slot }: PlaceOf,
    reason: string,
    over: Readonly<Record<string, string>> = {},
  ) => {
    const basis = (await readBasis(pool, conferenceId, id))!;
    const places = placesDecided(
      await readSelection(pool, conferenceId, id),
      basis,
      await readPassOvers(pool, conferenceId, id),
      new Set(),
    );
    const place = places.find((one) => one.game.id === gameId && one.slot === slot)!;
    const typed = {
      ...{ seen: asShown(place), reason },
      over: Object.entries(over).map(([officialId, why]) => ({ officialId, reason: why })),
    };
    await keepReasons(pool, acting(coordinatorId), id, { gameId, slot: slot as Slot }, typed, basis);
  };

  /** An offer of a place with its answer, as the database holds it. */
  const offered = async (
    { id, gameId, slot }: PlaceOf,
    officialId: string,
    answer: 'accepted' | 'declined' | 'moved up' | null,
    { position = slot, reason = '' } = {},
  ) => {
    await pool.query(
      `INSERT INTO selection_offer (conference_id, selection_id, game_id, slot, position, official_id, offered_by,
                                    answer_by, embargo_until, answer, answered_at, reason)
       VALUES ($1, $2, $3, $4, $5, $6, $7, '2026-12-01', '2026-12-02T18:00Z', $8,
               CASE WHEN $8::text IS NULL THEN NULL ELSE now() END, $9)`,
      [conferenceId, id, gameId, slot, position, officialId, coordinatorId, answer, reason],
    );
  };

  const final = await made('The final', {
    ...{ name: 'Final', playedOn: '2026-12-12', alternates: 1, place: 'Rivermouth' },
  });
  return { game, coordinator, second, reader, late, umpires, acting, made, choose, explain, offered, final };
}

export type FinalToFill = Awaited<ReturnType<typeof finalToFill>>;
