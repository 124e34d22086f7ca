import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { conflict, invalid } from '../../web/problem.ts';
import { standingOf } from '../standing.ts';
import { credited, type Stretch } from '../stretches.ts';
import { isAsked, type KeptAnswer, readWatching, type Watching } from './viewer-store.ts';

/** Seconds by which a player may be ahead of our clock. */
const slack = 2;

interface Said {
  /** Seconds of the reel that were played since whenever; the same may be said again. */
  readonly stretches: readonly Stretch[];
  /** Where the player is now; left out by what is sent afterwards. */
  readonly place?: number | undefined;
  /** Without a reel: plays gone through. */
  readonly plays: readonly number[];
}

/**
 * Keeps what was watched. What was sent before is not counted twice, and no more seconds than have passed since the film
 * was first opened. Opening it is saying nothing.
 */
export async function keepWatched(
  pool: pg.Pool,
  acting: PersonActing,
  programId: string,
  number: number,
  said: Said,
  now = new Date(),
): Promise<Watching> {
  return inTransaction(pool, async (client) => {
    const watching = await readWatching(client, acting, programId, number, 'lock');
    mayWatch(watching);
    const openedAt = watching.openedAt ?? now;
    const length = watching.reel?.facts.seconds ?? 0;
    const most = (now.getTime() - openedAt.getTime()) / 1000 + slack;
    const stretches = watching.openedAt
      ? credited(watching.stretches, said.stretches, { length, most })
      : watching.stretches;
    const known = new Set(watching.content.plays.map((play) => play.number));
    const answered = new Set(watching.answers.map(({ playNumber }) => playNumber));
    const open = watching.content.plays.filter((play) => isAsked(play) && !answered.has(play.number));
    const unasked = said.plays.filter((play) => known.has(play) && !open.some((one) => one.number === play));
    const through = [...new Set([...watching.through, ...unasked])].sort((one, other) => one - other);
    await client.query(
      `UPDATE training_viewer SET opened_at = $5, place = $6, stretches = $7, plays = $8
        WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 AND person_id = $4`,
      [
        ...[acting.conferenceId, programId, number, acting.personId, openedAt],
        ...[said.place === undefined ? watching.place : Math.min(Math.max(0, said.place), length)],
        ...[JSON.stringify(stretches), JSON.stringify(through)],
      ],
    );
    return settled(client, acting, { ...watching, openedAt, stretches, through }, now);
  });
}

/**
 * Keeps an answer. The first one counts: of another one later, the first comes back.
 *
 * @throws Problem 400 naming `play` or `choice` when there is no such question or choice
 */
export async function keepAnswer(
  pool: pg.Pool,
  acting: PersonActing,
  programId: string,
  number: number,
  { play: playNumber, choice }: { readonly play: number; readonly choice: number },
): Promise<{ watching: Watching; kept: KeptAnswer }> {
  return inTransaction(pool, async (client) => {
    const watching = await readWatching(client, acting, programId, number, 'lock');
    mayWatch(watching);
    const play = watching.content.plays.find((one) => one.number === playNumber);
    if (!play || !isAsked(play))
      throw invalid([{ field: 'play', message: 'name a play of this edition that has a question' }]);
    const chosen = play.choices[choice];
    if (!chosen)
      throw invalid([
        { field: 'choice', message: `choose one of the ${play.choices.length} choices, counted from 0` },
      ]);
    await client.query(
      `INSERT INTO training_answer (conference_id, program_id, edition_number, person_id, play_number, choice, is_right, how)
       VALUES ($1, $2, $3, $4, $5, $6, $7, 'online') ON CONFLICT DO NOTHING`,
      [acting.conferenceId, programId, number, acting.personId, playNumber, choice, chosen.right],
    );
    const now = await readWatching(client, acting, programId, number);
    return {
      watching: await settled(client, acting, now, new Date()),
      kept: now.answers.find((answer) => answer.playNumber === playNumber)!,
    };
  });
}

/** Film is shown only to who confirmed what is said of it. */
function mayWatch({ hasConfirmed }: Watching): void {
  if (!hasConfirmed)
    throw conflict(
      'Confirm first what is said about film and audience; it stands on the page of this program.',
    );
}

/** With what stands now; notes when all that is asked was first done. */
async function settled(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  watching: Watching,
  now: Date,
): Promise<Watching> {
  const standing = standingOf(watching.rule, {
    seconds: watching.reel?.facts.seconds ?? null,
    stretches: watching.stretches,
    plays: watching.content.plays.length,
    through: watching.through,
    questions: watching.content.plays.filter(isAsked).length,
    answered: watching.answers.length,
  });
  if (!standing.isDone || watching.doneAt) return { ...watching, standing };
  await client.query(
    `UPDATE training_viewer SET done_at = $5
      WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 AND person_id = $4`,
    [conferenceId, watching.programId, watching.number, personId, now],
  );
  return { ...watching, standing, doneAt: now };
}
