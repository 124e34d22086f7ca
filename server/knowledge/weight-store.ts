import type pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { tell } from '../messages/tell.ts';
import { conflict } from '../web/problem.ts';
import { wholeNumber } from '../web/whole-number.ts';

/** Percent that quizzes together count in a season's figure. */
export const weightSchema = wholeNumber('percent', 1, 50);

export interface QuizWeight {
  readonly percent: number;
  readonly announcedAt: Date;
}

/** What quizzes count in a season's figure, with when it was announced; null: nothing. */
export async function readWeight(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<QuizWeight | null> {
  const { rows } = await db.query<QuizWeight>(
    'SELECT percent, announced_at AS "announcedAt" FROM quiz_weight WHERE conference_id = $1 AND season_id = $2',
    [conferenceId, seasonId],
  );
  return rows[0] ?? null;
}

/** When the season's first quiz opens that officials were told of; null without one. */
export async function firstOpening(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<Date | null> {
  const { rows } = await db.query<{ first: Date | null }>(
    'SELECT min(opens_at) AS first FROM quiz WHERE conference_id = $1 AND season_id = $2 AND announced_at IS NOT NULL',
    [conferenceId, seasonId],
  );
  return rows[0]!.first;
}

/**
 * Says what quizzes count in the season's figure, and tells all officials.
 *
 * @param percent null: nothing, as without any setting
 * @throws Problem 409 once the season's first quiz has opened
 */
export async function announceWeight(
  pool: pg.Pool,
  acting: PersonActing,
  seasonId: string,
  percent: number | null,
  now: Date,
): Promise<void> {
  const { conferenceId, personId } = acting;
  await inTransaction(pool, async (client) => {
    // Held against a quiz that is announced just now and opens at once.
    const { rows: seasons } = await client.query<{ name: string }>(
      'SELECT name FROM season WHERE conference_id = $1 AND id = $2 FOR UPDATE',
      [conferenceId, seasonId],
    );
    const first = await firstOpening(client, conferenceId, seasonId);
    if (first !== null && first <= now)
      throw conflict(
        'The first quiz of this season has opened: whether quizzes count stays as it was announced before.',
      );
    const before = await readWeight(client, conferenceId, seasonId);
    if ((before?.percent ?? null) === percent) return;
    await client.query(
      percent === null
        ? 'DELETE FROM quiz_weight WHERE conference_id = $1 AND season_id = $2'
        : `INSERT INTO quiz_weight (conference_id, season_id, percent, announced_by, announced_at) VALUES ($1, $2, $3, $4, $5)
           ON CONFLICT (conference_id, season_id)
           DO UPDATE SET percent = excluded.percent, announced_by = excluded.announced_by, announced_at = excluded.announced_at`,
      percent === null ? [conferenceId, seasonId] : [conferenceId, seasonId, percent, personId, now],
    );
    const { rows: officials } = await client.query<{ id: string }>(
      `SELECT p.id FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
        WHERE p.conference_id = $1 AND p.active AND p.erased_at IS NULL AND r.role = 'official' ORDER BY p.id`,
      [conferenceId],
    );
    await tell(client, {
      conferenceId,
      personIds: officials.map(({ id }) => id),
      kind: 'quizzes count',
      facts: { season: seasons[0]!.name, percent },
    });
    await appendAudit(client, {
      conferenceId,
      actorId: personId,
      action: 'weight of quizzes announced',
      subjectKind: 'season',
      subjectId: seasonId,
      before: { percent: before?.percent ?? null },
      after: { percent },
    });
  });
}
