import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import type { Position } from '../../football/positions.ts';
import { tell } from '../../messages/tell.ts';
import { readDefaultCuts } from '../../programs/stores/default-cuts.ts';
import { readPlayFacts } from '../../programs/stores/play-facts.ts';
import { readPlayDuties } from '../../reports/plays/play-duties.ts';
import { usualSeconds } from '../../training/running-time.ts';
import { conflict, invalid } from '../../web/problem.ts';
import { type CalibrationSet, callOfPlay, type Item, mostClips, type SetFrame } from '../calibration.ts';
import { readSet } from './set-rows.ts';

export interface ClipWanted {
  readonly playId: string;
  readonly position: Position;
}

/** Makes a set with its first clips. @throws Problem 400 when the season has no such play, 409 for too many */
export async function createSet(
  pool: pg.Pool,
  acting: PersonActing,
  seasonId: string,
  { title, dueOn }: SetFrame,
  clips: readonly ClipWanted[] = [],
): Promise<string> {
  const { conferenceId, personId } = acting;
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO calibration_set (conference_id, season_id, title, due_on, made_by)
       VALUES ($1, $2, $3, $4, $5) RETURNING id`,
      [conferenceId, seasonId, title, dueOn, personId],
    );
    const { id } = rows[0]!;
    await noted(client, acting, id, 'calibration set made', { title, dueOn, seasonId });
    if (clips.length > 0)
      await noted(
        client,
        acting,
        id,
        putIn,
        await insertClips(client, conferenceId, await readSet(client, conferenceId, id), clips),
      );
    return id;
  });
}

/** @throws Problem 409 once it is open: observers were told of it. */
async function changeDraft(
  pool: pg.Pool,
  acting: PersonActing,
  setId: string,
  action: string,
  work: (client: Queryable, set: CalibrationSet) => Promise<object>,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const set = await readSet(client, acting.conferenceId, setId, 'lock');
    if (set.state !== 'draft')
      throw conflict('This set is open already: its clips and observers stay as they are. Make another one.');
    await noted(client, acting, setId, action, await work(client, set));
  });
}

/** Puts clips at the end; those that are there already stay. @throws Problem 400 when the season has no such play, 409 */
export function addClips(
  pool: pg.Pool,
  acting: PersonActing,
  setId: string,
  wanted: readonly ClipWanted[],
): Promise<void> {
  return changeDraft(pool, acting, setId, putIn, (client, set) =>
    insertClips(client, acting.conferenceId, set, wanted),
  );
}

const putIn = 'calibration set: put in clips';

async function insertClips(
  client: Queryable,
  conferenceId: string,
  set: CalibrationSet,
  wanted: readonly ClipWanted[],
) {
  const key = ({ playId, position }: ClipWanted) => `${playId} ${position}`;
  const there = new Set(set.clips.map(key));
  const fresh = [...new Map(wanted.map((one) => [key(one), one])).values()].filter(
    (one) => !there.has(key(one)),
  );
  if (there.size + fresh.length > mostClips)
    throw conflict(`A set has ${mostClips} clips at most; observers tire.`);
  const { rows } = await client.query<{ id: string }>(
    `SELECT p.id FROM play p JOIN game g ON g.conference_id = p.conference_id AND g.id = p.game_id
        WHERE p.conference_id = $1 AND g.season_id = $2 AND p.removed_at IS NULL AND p.id = ANY ($3::uuid[])`,
    [conferenceId, set.seasonId, fresh.map(({ playId }) => playId)],
  );
  const known = new Set(rows.map(({ id }) => id));
  if (!fresh.every(({ playId }) => known.has(playId)))
    throw invalid([{ field: 'playId', message: 'is no play of this season’s logs' }]);
  const last = set.clips.at(-1)?.number ?? 0;
  await client.query(
    `INSERT INTO calibration_clip (conference_id, set_id, number, play_id, position)
       SELECT $1, $2, $3 + n.at, n.play_id, n.position
         FROM unnest($4::uuid[], $5::text[]) WITH ORDINALITY AS n (play_id, position, at)`,
    [
      ...[conferenceId, set.id, last],
      ...[fresh.map(({ playId }) => playId), fresh.map(({ position }) => position)],
    ],
  );
  return { clips: fresh };
}

/** @throws Problem 409 */
export function removeClip(
  pool: pg.Pool,
  acting: PersonActing,
  setId: string,
  number: number,
): Promise<void> {
  return changeDraft(pool, acting, setId, 'calibration set: took out a clip', async (client) => {
    await client.query(
      'DELETE FROM calibration_clip WHERE conference_id = $1 AND set_id = $2 AND number = $3',
      [acting.conferenceId, setId, number],
    );
    return { number };
  });
}

/** @throws Problem 409 once it is open. */
export async function removeSet(pool: pg.Pool, acting: PersonActing, setId: string): Promise<void> {
  await changeDraft(pool, acting, setId, 'calibration set removed', async (client, { title }) => {
    await client.query('DELETE FROM calibration_set WHERE conference_id = $1 AND id = $2', [
      acting.conferenceId,
      setId,
    ]);
    return { title };
  });
}

/**
 * Asks observers to mark the clips: from now on clips, what is asked of each, and who is asked stay as they are.
 *
 * @throws Problem 400 naming the field when fewer than two observers are asked, or somebody who is none; 409 when it is no
 *   draft, has no clip, or clips lack film or duties
 */
export function openSet(
  pool: pg.Pool,
  acting: PersonActing,
  setId: string,
  observerIds: readonly string[],
): Promise<void> {
  const { conferenceId } = acting;
  return changeDraft(pool, acting, setId, 'calibration set opened', async (client, set) => {
    const asked = [...new Set(observerIds)];
    if (asked.length < 2)
      throw invalid([
        { field: 'observers', message: 'ask two observers or more: one alone agrees with nobody' },
      ]);
    const { rows } = await client.query(
      `SELECT FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
        WHERE p.conference_id = $1 AND r.role = 'observer' AND p.active AND p.id = ANY ($2::uuid[])`,
      [conferenceId, asked],
    );
    if (rows.length !== asked.length)
      throw invalid([{ field: 'observers', message: 'names somebody who is no active observer' }]);
    if (set.clips.length === 0) throw conflict('There is no clip in this set yet; put some in first.');
    await mayBeWatched(client, conferenceId);
    const lacking = await clipsWithoutFilm(client, conferenceId, set);
    if (lacking.size > 0) throw conflict(lackingInWords(lacking));
    await keepItems(client, conferenceId, set);
    await client.query(
      `UPDATE calibration_set SET state = 'open', opened_at = now() WHERE conference_id = $1 AND id = $2`,
      [conferenceId, setId],
    );
    await client.query(
      `INSERT INTO calibration_observer (conference_id, set_id, observer_id) SELECT $1, $2, unnest($3::uuid[])`,
      [conferenceId, setId, asked],
    );
    await tellObservers(client, conferenceId, set, asked, 'calibration');
    return { observers: asked };
  });
}

/** @throws Problem 409 where the conference shows films to nobody but coordinators. */
async function mayBeWatched(db: Queryable, conferenceId: string): Promise<void> {
  const { rows } = await db.query<{ viewers: string }>(
    'SELECT viewers FROM film_setting WHERE conference_id = $1',
    [conferenceId],
  );
  if (rows[0]?.viewers === 'coordinators')
    throw conflict(
      'Film is for coordinators alone, by Settings, Film. Let observers see it there first: they mark what they see.',
    );
}

/** Clips of which observers would see nothing, by number, with why. */
export async function clipsWithoutFilm(
  db: Queryable,
  conferenceId: string,
  { clips }: CalibrationSet,
): Promise<Map<number, string>> {
  const facts = await readPlayFacts(db, conferenceId, [...new Set(clips.map(({ playId }) => playId))]);
  const cuts = await readDefaultCuts(
    db,
    conferenceId,
    [...facts.values()].map(({ playId, gameId }) => ({
      playId,
      gameId,
      secondsBefore: usualSeconds.before,
      secondsAfter: usualSeconds.after,
    })),
  );
  const lacking = new Map<number, string>();
  for (const { number, playId } of clips) {
    const cut = cuts.get(playId);
    if (!cut) lacking.set(number, 'Its play is no longer in its log.');
    else if ('lacking' in cut) lacking.set(number, cut.lacking);
  }
  return lacking;
}

const lackingInWords = (lacking: ReadonlyMap<number, string>) => {
  const numbers = new Intl.ListFormat('en-US').format([...lacking.keys()].map(String));
  return `${lacking.size > 1 ? 'Clips' : 'Clip'} ${numbers} cannot be watched here: ${[...new Set(lacking.values())].join(' ')} Mend it, or take ${lacking.size > 1 ? 'them' : 'it'} out.`;
};

/** Settles what is asked: the duties that the position owes on the play, as they were counted. */
async function keepItems(
  client: Queryable,
  conferenceId: string,
  { id, clips }: CalibrationSet,
): Promise<void> {
  const facts = await readPlayFacts(client, conferenceId, [...new Set(clips.map(({ playId }) => playId))]);
  for (const { number, playId, position } of clips) {
    const { gameId } = facts.get(playId)!;
    const { owed } = await readPlayDuties({ pool: client }, conferenceId, gameId, playId);
    const items = owed
      .filter((one) => one.position === position)
      .map(
        ({ duty }): Item => ({
          key: duty.key,
          title: duty.title,
          expected: duty.expected,
          gradedAs: duty.gradedAs,
        }),
      );
    if (!items.some(({ gradedAs }) => gradedAs === 'call')) items.push(callOfPlay);
    await client.query(
      'UPDATE calibration_clip SET items = $4 WHERE conference_id = $1 AND set_id = $2 AND number = $3',
      [conferenceId, id, number, JSON.stringify(items)],
    );
  }
}

async function tellObservers(
  client: Queryable,
  conferenceId: string,
  set: CalibrationSet,
  personIds: readonly string[],
  of: 'calibration' | 'calibration still',
): Promise<void> {
  await tell(client, {
    conferenceId,
    personIds,
    kind: 'reminder',
    facts: { of, setId: set.id, title: set.title, clips: set.clips.length, dueOn: set.dueOn },
  });
}

/** Reminds those who have not handed in. @throws Problem 409 when it is not open. @returns how many were reminded */
export async function remindObservers(pool: pg.Pool, acting: PersonActing, setId: string): Promise<number> {
  return inTransaction(pool, async (client) => {
    const set = await openOne(client, acting.conferenceId, setId);
    const waiting = set.observers.filter(({ doneAt }) => doneAt === null).map(({ observerId }) => observerId);
    await tellObservers(client, acting.conferenceId, set, waiting, 'calibration still');
    await client.query(
      `UPDATE calibration_observer SET reminded_at = now()
        WHERE conference_id = $1 AND set_id = $2 AND observer_id = ANY ($3::uuid[])`,
      [acting.conferenceId, setId, waiting],
    );
    await noted(client, acting, setId, 'calibration set: observers reminded', { observers: waiting });
    return waiting.length;
  });
}

/** Ends marking; from now on everybody asked sees the panel's marks. @throws Problem 409 when it is not open. */
export async function closeSet(pool: pg.Pool, acting: PersonActing, setId: string): Promise<void> {
  await inTransaction(pool, async (client) => {
    const set = await openOne(client, acting.conferenceId, setId);
    // Either it is closed before its season is, and its marks count there, or after it.
    await client.query('SELECT FROM season WHERE conference_id = $1 AND id = $2 FOR SHARE', [
      acting.conferenceId,
      set.seasonId,
    ]);
    await client.query(
      `UPDATE calibration_set SET state = 'closed', closed_at = clock_timestamp() WHERE conference_id = $1 AND id = $2`,
      [acting.conferenceId, setId],
    );
    await noted(client, acting, setId, 'calibration set closed', {
      handedIn: set.observers.filter(({ doneAt }) => doneAt !== null).length,
      asked: set.observers.length,
    });
  });
}

async function openOne(client: Queryable, conferenceId: string, setId: string): Promise<CalibrationSet> {
  const set = await readSet(client, conferenceId, setId, 'lock');
  if (set.state !== 'open')
    throw conflict(set.state === 'draft' ? 'This set was not opened yet.' : 'This set is closed.');
  return set;
}

const noted = (
  client: pg.PoolClient | Queryable,
  { conferenceId, personId }: PersonActing,
  setId: string,
  action: string,
  after: object,
) =>
  appendAudit(client as pg.PoolClient, {
    conferenceId,
    actorId: personId,
    action,
    subjectKind: 'calibration_set',
    subjectId: setId,
    after,
  });
