import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import { defaultRules, defaultWeights } from '../../selection/rules.ts';
import { conflict, Problem } from '../../web/problem.ts';
import type { Selection, SelectionChange, SelectionFrame } from '../selection.ts';
import { readSelection } from './selection-rows.ts';

/** An error that the database gives for a key that is taken. */
export const isTaken = (error: unknown, constraint: string): boolean =>
  error instanceof Error &&
  (error as Error & { code?: string }).code === '23505' &&
  (error as Error & { constraint?: string }).constraint === constraint;

const sameTitle = (title: string) =>
  conflict(`This season has a selection with the title ${title} already.`, [
    { field: 'title', message: 'is taken by another selection of this season; choose another title' },
  ]);

/** Makes a selection, with the rules and weights that stand ready. @throws Problem 409 when the title is taken */
export async function createSelection(
  pool: pg.Pool,
  acting: PersonActing,
  seasonId: string,
  frame: SelectionFrame,
): Promise<string> {
  const { conferenceId, personId } = acting;
  try {
    return await inTransaction(pool, async (client) => {
      const { rows } = await client.query<{ id: string }>(
        `INSERT INTO selection (conference_id, season_id, title, answer_by, embargo_until, rules, weights, made_by)
         VALUES ($1, $2, $3, $4, ${moment('$5')}, $6, $7, $8) RETURNING id`,
        [
          ...[conferenceId, seasonId, frame.title, frame.answerBy, frame.embargoUntil],
          ...[JSON.stringify(defaultRules), JSON.stringify(defaultWeights), personId],
        ],
      );
      const { id } = rows[0]!;
      await noted(client, acting, id, 'selection made', { after: { ...frame, seasonId } });
      return id;
    });
  } catch (error) {
    throw isTaken(error, 'selection_conference_id_season_id_title_key') ? sameTitle(frame.title) : error;
  }
}

/** SQL: a day and time of the conference's zone as an instant. */
const moment = (value: string) =>
  `${value}::timestamp AT TIME ZONE (SELECT c.time_zone FROM conference c WHERE c.id = $1)`;

/**
 * Does something to a selection in one transaction, which holds it; its revision goes up and the history is told.
 * @param work gives what the history tells of it; null where nothing changed
 */
export async function changing(
  client: Queryable,
  acting: PersonActing,
  selectionId: string,
  action: string,
  work: (selection: Selection) => Promise<{ before?: unknown; after?: unknown; reason?: string } | null>,
): Promise<void> {
  const selection = await readSelection(client, acting.conferenceId, selectionId, 'lock');
  const changed = await work(selection);
  if (!changed) return;
  await client.query(
    'UPDATE selection SET revision = revision + 1 WHERE conference_id = $1 AND id = $2 AND revision = $3',
    [acting.conferenceId, selectionId, selection.revision],
  );
  await noted(client, acting, selectionId, action, changed);
}

/** What is prepared before votes are cast; afterwards the committee decides on what it was shown. */
export function mustBePreparing({ state, title }: Selection): void {
  if (state !== 'preparing')
    throw conflict(
      `${title} is past preparing (${state}): its games, rules and weights stay as the committee was shown them.`,
    );
}

/** @throws Problem 409 with a sentence where somebody else changed it meanwhile: nothing of either is lost */
function mustBeNewest({ revision, title }: Selection, seen: number): void {
  if (revision !== seen)
    throw new Problem(
      409,
      'Conflict',
      `${title} was changed by somebody else meanwhile; what you typed is still here. Look at what there is now, then keep yours again.`,
    );
}

/** @throws Problem 409 once votes are cast, when it was changed meanwhile, or when the title is taken */
export async function changeSelection(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  { revision, ...wanted }: SelectionChange,
): Promise<void> {
  try {
    await inTransaction(pool, (client) =>
      changing(client, acting, selectionId, 'selection changed', async (selection) => {
        mustBePreparing(selection);
        mustBeNewest(selection, revision);
        await client.query(
          `UPDATE selection SET title = $3, answer_by = $4, embargo_until = ${moment('$5')}, rules = $6, weights = $7
            WHERE conference_id = $1 AND id = $2`,
          [
            ...[acting.conferenceId, selectionId, wanted.title, wanted.answerBy, wanted.embargoUntil],
            ...[JSON.stringify(wanted.rules), JSON.stringify(wanted.weights)],
          ],
        );
        const { title, answerBy, embargoUntil, rules, weights } = selection;
        return { before: { title, answerBy, embargoUntil, rules, weights }, after: wanted };
      }),
    );
  } catch (error) {
    throw isTaken(error, 'selection_conference_id_season_id_title_key') ? sameTitle(wanted.title) : error;
  }
}

/** @throws Problem 409 once votes are cast */
export async function removeSelection(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const selection = await readSelection(client, acting.conferenceId, selectionId, 'lock');
    mustBePreparing(selection);
    await client.query('DELETE FROM selection WHERE conference_id = $1 AND id = $2', [
      acting.conferenceId,
      selectionId,
    ]);
    const { title, games, choices } = selection;
    await noted(client, acting, selectionId, 'selection removed', { before: { title, games, choices } });
  });
}

/** Tells the history, last in the transaction. */
export async function noted(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  selectionId: string,
  action: string,
  { before, after, reason }: { before?: unknown; after?: unknown; reason?: string | null },
): Promise<void> {
  await appendAudit(client, {
    ...{ conferenceId, actorId: personId, action, subjectKind: 'selection', subjectId: selectionId },
    ...{ reason: reason ?? null, before, after },
  });
}
