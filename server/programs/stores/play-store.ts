import type pg from 'pg';
import type { PersonInZone } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { inTeachingOrder } from '../../training/topic-order.ts';
import { conflict, invalid, notFound } from '../../web/problem.ts';
import { dayIn } from '../../web/today.ts';
import type { Card, Program, ProgramPlay } from '../program.ts';
import { changeProgram } from './change-program.ts';
import { cardOf, writePlays } from './program-rows.ts';

/** The most plays of a program. */
const mostPlays = 120;

/**
 * Puts plays at the end, or with `inOrder` brings all into teaching order; those that are there already keep their cards.
 *
 * @throws Problem 400 when the season has no such play, 409 when there would be too many
 */
export async function addPlays(
  pool: pg.Pool,
  acting: PersonInZone,
  programId: string,
  added: readonly { readonly playId: string; readonly card: Card }[],
  { said = added.length === 1 ? 'put in a play' : `put in ${added.length} plays`, inOrder = false } = {},
): Promise<void> {
  await changeProgram(pool, acting, programId, {}, async (client, program) => {
    const there = new Set(program.plays.map(({ playId }) => playId));
    const fresh = added.filter(({ playId }) => !there.has(playId));
    if (fresh.length === 0) return null;
    if (there.size + fresh.length > mostPlays)
      throw conflict(`A program has ${mostPlays} plays at most; take some out first.`);
    await knowsPlays(
      client,
      acting.conferenceId,
      program,
      fresh.map(({ playId }) => playId),
    );
    // Above every version that a card of it ever had: a page left open on the earlier one cannot be kept over it.
    const version = program.version + 1;
    const plays = [...program.plays, ...fresh.map(({ playId, card }) => ({ ...card, playId, version }))];
    await writePlays(client, acting.conferenceId, programId, inOrder ? inTeachingOrder(plays) : plays);
    return { said, raises: 'order', after: { added: fresh.map(({ playId }) => playId) } };
  });
}

/** @throws Problem 404 when the program has no such play. */
export async function removePlay(
  pool: pg.Pool,
  acting: PersonInZone,
  programId: string,
  playId: string,
): Promise<void> {
  await changeProgram(pool, acting, programId, {}, async (client, program) => {
    const play = playIn(program, playId);
    const rest = program.plays.filter((one) => one.playId !== playId);
    await writePlays(client, acting.conferenceId, programId, rest);
    return { said: 'took out a play', raises: 'order', before: { ...cardOf(play), playId } };
  });
}

/**
 * Moves a play to a place, 1 the first.
 * @throws Problem 404 when the program has no such play, 409 when the order changed since `orderVersion`.
 */
export async function movePlay(
  pool: pg.Pool,
  acting: PersonInZone,
  programId: string,
  playId: string,
  to: number,
  orderVersion: number,
): Promise<void> {
  await changeProgram(pool, acting, programId, { orderVersion }, async (client, program) => {
    const play = playIn(program, playId);
    const from = program.plays.indexOf(play) + 1;
    const place = Math.min(Math.max(1, to), program.plays.length);
    if (place === from) return null;
    const plays = program.plays.filter((one) => one !== play);
    plays.splice(place - 1, 0, play);
    await writePlays(client, acting.conferenceId, programId, plays);
    return {
      said: `moved play ${from} to place ${place}`,
      raises: 'order',
      before: { playId, place: from },
      after: { playId, place },
    };
  });
}

/** Brings the plays into teaching order (`training/topic-order.ts`). */
export async function orderByTopic(
  pool: pg.Pool,
  acting: PersonInZone,
  programId: string,
  orderVersion: number,
): Promise<void> {
  await changeProgram(pool, acting, programId, { orderVersion }, async (client, program) => {
    const plays = inTeachingOrder(program.plays);
    if (plays.every((play, at) => play === program.plays[at])) return null;
    await writePlays(client, acting.conferenceId, programId, plays);
    return {
      said: 'ordered the plays by topic',
      raises: 'order',
      before: { plays: program.plays.map(({ playId }) => playId) },
      after: { plays: plays.map(({ playId }) => playId) },
    };
  });
}

/** Of a card that was changed by somebody else: what it says now, to be compared. */
export class CardChanged extends Error {
  override name = 'CardChanged';
  constructor(readonly now: ProgramPlay) {
    super('the card was changed by somebody else');
  }
}

/**
 * Keeps a play's card.
 * @throws Problem 404 when the program has no such play, 400 when the duty is none of the season's; CardChanged when
 *   the card changed since `version`.
 * @param goesOn with the last change of the same card, by the same person: they are taken back together
 */
export async function keepCard(
  pool: pg.Pool,
  acting: PersonInZone,
  programId: string,
  playId: string,
  card: Card,
  version: number,
  { goesOn = false } = {},
): Promise<void> {
  await changeProgram(pool, acting, programId, {}, async (client, program) => {
    const before = playIn(program, playId);
    if (before.version !== version) throw new CardChanged(before);
    await knowsDuty(client, acting.conferenceId, program.seasonId, card.dutyKey);
    const kept = { ...card, answeredOn: dayOfAnswer(card, before, dayIn(acting.timeZone)) };
    const place = program.plays.indexOf(before) + 1;
    await writePlays(
      client,
      acting.conferenceId,
      programId,
      program.plays.map((play) => (play === before ? { ...kept, playId, version: version + 1 } : play)),
    );
    return {
      said: `changed the card of play ${place}`,
      ...{ raises: 'card', goesOn },
      before: { ...cardOf(before), playId },
      after: { ...kept, playId },
    };
  });
}

/** The day given; else that of the last change of the answer. */
function dayOfAnswer(card: Card, before: ProgramPlay, today: string): string | null {
  if (card.answer === '') return null;
  if (card.answeredOn !== null && card.answeredOn !== before.answeredOn) return card.answeredOn;
  return card.answer === before.answer && before.answeredOn !== null ? before.answeredOn : today;
}

export function playIn(program: Program, playId: string): ProgramPlay {
  const play = program.plays.find((one) => one.playId === playId);
  if (!play) throw notFound('play of this program');
  return play;
}

async function knowsPlays(
  client: Queryable,
  conferenceId: string,
  { seasonId }: Program,
  playIds: readonly string[],
): Promise<void> {
  const { rows } = await client.query<{ id: string }>(
    `SELECT l.id FROM play l JOIN game g ON g.conference_id = l.conference_id AND g.id = l.game_id
      WHERE l.conference_id = $1 AND l.id = ANY ($2::uuid[]) AND g.season_id = $3 AND l.removed_at IS NULL`,
    [conferenceId, playIds, seasonId],
  );
  if (rows.length < new Set(playIds).size)
    throw invalid([{ field: 'playId', message: 'names no play of this season' }]);
}

async function knowsDuty(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  dutyKey: string | null,
): Promise<void> {
  if (dutyKey === null) return;
  const { rowCount } = await client.query(
    `SELECT FROM duty d JOIN rubric_version v ON v.conference_id = d.conference_id AND v.id = d.rubric_version_id
      WHERE v.conference_id = $1 AND v.season_id = $2 AND d.key = $3 LIMIT 1`,
    [conferenceId, seasonId, dutyKey],
  );
  if (rowCount === 0) throw invalid([{ field: 'dutyKey', message: "names no duty of this season's rubric" }]);
}
