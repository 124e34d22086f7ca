import type pg from 'pg';
import type { PersonActing } from '../accounts/acting.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import type { SeasonResults } from '../results/season-results.ts';
import type { Proposal } from '../selection/propose.ts';
import { conflict } from '../web/problem.ts';
import type { Proposer } from './proposer.ts';
import { readMaterial } from './stores/material-store.ts';
import { readSelection } from './stores/selection-rows.ts';
import { changing } from './stores/selection-store.ts';

/** A proposal as it is kept: with what its figures rest on, as plain JSON. */
export interface KeptProposal extends Proposal {
  /** The season's input revision. */
  readonly inputRevision: number;
  readonly model: string;
  readonly otherModel: string;
  readonly top: number;
  /** The selection's rules as they were. */
  readonly rules: object;
}

/**
 * Proposes who might fill what is not chosen yet, and keeps the proposal; no choice is made by it.
 * @throws Problem 409 when there is no game, or the selection is closed or was changed while it was computed
 */
export async function proposeFor(
  pool: pg.Pool,
  results: Pick<SeasonResults, 'waysOf'>,
  proposer: Pick<Proposer, 'propose'>,
  acting: PersonActing,
  selectionId: string,
): Promise<KeptProposal> {
  const { conferenceId, personId } = acting;
  const selection = await readSelection(pool, conferenceId, selectionId);
  if (selection.games.length === 0)
    throw conflict('There is no game in this selection yet: add the games to fill first.');
  const { problem, inputRevision, model, otherModel, top } = await readMaterial(
    pool,
    results,
    conferenceId,
    selection,
  );
  const proposal: KeptProposal = {
    ...(await proposer.propose(problem)),
    ...{ inputRevision, model, otherModel, top, rules: selection.rules },
  };
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: proposal made', async ({ revision, title }) => {
      if (revision !== selection.revision)
        throw conflict(`${title} was changed while the proposal was made: propose again.`);
      await client.query(
        `UPDATE selection SET proposal = $3, proposed_by = $4, proposed_at = now()
          WHERE conference_id = $1 AND id = $2`,
        [conferenceId, selectionId, JSON.stringify(proposal), personId],
      );
      return {
        after: { choices: proposal.choices.length, unfilled: proposal.unfilled.length, inputRevision },
      };
    }),
  );
  return proposal;
}

/** The proposal that was made last; null where none was. */
export async function readProposal(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<{ proposal: KeptProposal; proposedAt: Date; proposedBy: string } | null> {
  const { rows } = await db.query<{ proposal: KeptProposal; proposedAt: Date; proposedBy: string }>(
    `SELECT proposal, proposed_at AS "proposedAt", proposed_by AS "proposedBy"
       FROM selection WHERE conference_id = $1 AND id = $2 AND proposal IS NOT NULL`,
    [conferenceId, selectionId],
  );
  return rows[0] ?? null;
}
