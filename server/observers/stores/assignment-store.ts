import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Database } from '../../database/database.ts';
import type { Season } from '../../database/generated/client.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { conflict, notFound } from '../../web/problem.ts';
import { type AssignmentChange, ruledChange, type WantedChange } from '../offering.ts';
import type { SeasonMaterial } from '../season-material.ts';
import { readSeason } from './season-store.ts';

type Pool = Database['pool'];
type Entry = Parameters<typeof appendAudit>[1];

/**
 * Carries out a change whole or not at all, with an audit entry for each assignment touched. The database tells the
 * observers (`tell_of_assignment`). Changes of a season's
 * assignments come one after another, so that two coordinators at once cannot together break a rule that neither
 * breaks alone.
 * @param season the conference's season that the games are of
 * @param wanted is told how the season stands now and says what is to change; what it throws ends the change
 * @returns the change as made
 * @throws what `ruledChange` throws; Problem 409 when a report was begun on an assignment to be withdrawn
 */
export async function changeAssignments(
  pool: Pool,
  actor: PersonActing,
  season: Pick<Season, 'id' | 'name'>,
  wanted: (material: SeasonMaterial) => WantedChange,
): Promise<AssignmentChange> {
  return inTransaction(pool, async (client) => {
    await client.query("SELECT pg_advisory_xact_lock(hashtextextended('assignments ' || $1, 0))", [
      season.id,
    ]);
    const material = await readSeason(client, { conferenceId: actor.conferenceId, ...season });
    const change = ruledChange(material, wanted(material));
    const games = [...new Set([...change.withdraw, ...change.offer].map(({ gameId }) => gameId))].sort();
    const { rowCount } = await client.query(
      'SELECT FROM game WHERE conference_id = $1 AND id = ANY ($2) ORDER BY id FOR UPDATE',
      [actor.conferenceId, games],
    );
    if (rowCount !== games.length) throw notFound('game');
    const entries: (Entry | null)[] = [];
    for (const { gameId, observerId } of change.withdraw)
      entries.push(await withdraw(client, actor, gameId, observerId));
    for (const choice of change.offer) entries.push(await offer(client, actor, choice));
    // The trail is locked from its first entry on: an observer who answers meanwhile holds an assignment and waits for
    // the trail, so no assignment may be waited for after it.
    for (const entry of entries) if (entry) await appendAudit(client, entry);
    return change;
  });
}

/** @returns what is to be noted of it; null when there is nothing to take back */
async function withdraw(
  client: Queryable,
  actor: PersonActing,
  gameId: string,
  observerId: string,
): Promise<Entry | null> {
  const report = await client.query(
    'SELECT FROM report WHERE conference_id = $1 AND game_id = $2 AND observer_id = $3',
    [actor.conferenceId, gameId, observerId],
  );
  if (report.rowCount)
    throw conflict('This observer has begun a report on the game and cannot be taken off it.');
  const { rows } = await client.query<{ id: string; answer: string; how: string }>(
    `SELECT id, answer, how FROM observer_assignment
      WHERE conference_id = $1 AND game_id = $2 AND observer_id = $3 AND answer <> 'declined' FOR UPDATE`,
    [actor.conferenceId, gameId, observerId],
  );
  const before = rows[0];
  if (!before) return null;
  await client.query(
    `UPDATE observer_assignment SET answer = 'declined', withdrawn_at = now(), locked = false, override_reason = NULL
      WHERE conference_id = $1 AND id = $2`,
    [actor.conferenceId, before.id],
  );
  return {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: 'assignment withdrawn',
    subjectKind: 'observer_assignment',
    subjectId: before.id,
    before: { answer: before.answer, how: before.how },
    after: { gameId, observerId },
  };
}

async function offer(
  client: Queryable,
  actor: PersonActing,
  choice: AssignmentChange['offer'][number],
): Promise<Entry> {
  const observer = await client.query(
    `SELECT FROM person_role WHERE conference_id = $1 AND person_id = $2 AND role = 'observer'`,
    [actor.conferenceId, choice.observerId],
  );
  if (observer.rowCount !== 1) throw notFound('observer');
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO observer_assignment (conference_id, game_id, observer_id, how, answer, locked, override_reason,
                                      answered_at)
     VALUES ($1, $2, $3, $4, $7, $5, $6, CASE WHEN $7 = 'accepted' THEN now() END)
     ON CONFLICT (conference_id, game_id, observer_id) DO UPDATE
       SET how = excluded.how, answer = excluded.answer, locked = excluded.locked,
           override_reason = excluded.override_reason, decline_reason = NULL, offered_at = now(),
           answered_at = excluded.answered_at
     RETURNING id`,
    [
      actor.conferenceId,
      choice.gameId,
      choice.observerId,
      choice.mode,
      choice.locked,
      choice.override?.reason ?? null,
      choice.recorded ? 'accepted' : 'offered',
    ],
  );
  return {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action: `assignment ${choice.recorded ? 'noted after the game' : 'offered'}${choice.override ? ' against the rules' : ''}`,
    subjectKind: 'observer_assignment',
    subjectId: rows[0]?.id ?? '',
    reason: choice.override?.reason ?? null,
    after: {
      gameId: choice.gameId,
      observerId: choice.observerId,
      how: choice.mode,
      ...(choice.override ? { rulesBroken: choice.override.rules } : {}),
    },
  };
}

export async function lockAssignment(
  pool: Pool,
  actor: PersonActing,
  assignmentId: string,
  locked: boolean,
): Promise<{ gameId: string }> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ game_id: string }>(
      `UPDATE observer_assignment SET locked = $3 WHERE conference_id = $1 AND id = $2 AND answer <> 'declined'
       RETURNING game_id`,
      [actor.conferenceId, assignmentId, locked],
    );
    if (!rows[0]) throw notFound('assignment');
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: locked ? 'assignment locked' : 'assignment unlocked',
      subjectKind: 'observer_assignment',
      subjectId: assignmentId,
    });
    return { gameId: rows[0].game_id };
  });
}

interface Answering {
  readonly conferenceId: string;
  /** The observer whose assignment it is: nobody answers for another. */
  readonly observerId: string;
  readonly assignmentId: string;
  readonly answer: 'accepted' | 'declined';
  readonly reason: string;
}

/**
 * The observer's answer. Answering the same again changes nothing; the database tells of a decline (`tell_of_decline`).
 * @throws Problem 404 when it is not theirs, 409 when it was withdrawn or a report was begun.
 */
export async function answerAssignment(pool: Pool, answering: Answering): Promise<void> {
  const { conferenceId, observerId, assignmentId, answer } = answering;
  await inTransaction(pool, async (client) => {
    const { rows } = await client.query<{ answer: string; withdrawn_at: Date | null; begun: boolean }>(
      `SELECT a.answer, a.withdrawn_at,
              EXISTS (SELECT FROM report r WHERE r.conference_id = a.conference_id AND r.game_id = a.game_id
                         AND r.observer_id = a.observer_id) AS begun
         FROM observer_assignment a WHERE a.conference_id = $1 AND a.id = $2 AND a.observer_id = $3 FOR UPDATE`,
      [conferenceId, assignmentId, observerId],
    );
    const before = rows[0];
    if (!before) throw notFound('assignment');
    if (before.withdrawn_at)
      throw conflict('The coordinator has withdrawn this assignment; there is nothing to answer.');
    if (before.answer === answer) return;
    if (before.answer === 'declined')
      throw conflict('You declined this game. Ask the coordinator to offer it to you again.');
    if (before.begun) throw conflict('You have begun a report on this game and cannot decline it any more.');
    await client.query(
      `UPDATE observer_assignment SET answer = $3, answered_at = now(), decline_reason = $4
        WHERE conference_id = $1 AND id = $2`,
      [conferenceId, assignmentId, answer, answer === 'declined' ? answering.reason || null : null],
    );
    await appendAudit(client, {
      conferenceId,
      actorId: observerId,
      action: `assignment ${answer}`,
      subjectKind: 'observer_assignment',
      subjectId: assignmentId,
      reason: answering.reason || null,
      before: { answer: before.answer },
      after: { answer },
    });
  });
}
