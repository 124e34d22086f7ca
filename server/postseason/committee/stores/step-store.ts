import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import type { SeasonResults } from '../../../results/season-results.ts';
import { mayOpen } from '../../../selection/ballots.ts';
import { conflict, invalid } from '../../../web/problem.ts';
import { readMaterial } from '../../stores/material-store.ts';
import { readSelection } from '../../stores/selection-rows.ts';
import { changing, mustBePreparing } from '../../stores/selection-store.ts';
import { basisOf } from '../basis.ts';
import { tellOfVoting } from '../committee-messages.ts';
import { readMembers } from './member-store.ts';

/**
 * Ends preparing: the candidates are kept as they stand, and the committee votes on those. Without a committee decisions
 * begin at once, with the reason why there is none.
 * @throws Problem 409 when it is past preparing, has no game, or was changed meanwhile; 400 for a reason that is missing
 */
export async function endPreparing(
  pool: pg.Pool,
  results: Pick<SeasonResults, 'waysOf'>,
  acting: PersonActing,
  selectionId: string,
  how: { withCommittee: true } | { withCommittee: false; reason: string },
): Promise<void> {
  const { conferenceId, personId } = acting;
  const seen = await readSelection(pool, conferenceId, selectionId);
  mustBePreparing(seen);
  if (seen.games.length === 0)
    throw conflict('There is no game in this selection yet: add the games to fill first.');
  if (!how.withCommittee && how.reason === '')
    throw invalid([{ field: 'reason', message: 'say why this selection has no committee' }]);
  const basis = basisOf(seen, await readMaterial(pool, results, conferenceId, seen), new Date());
  const action = how.withCommittee
    ? 'selection: sealed voting begun'
    : 'selection: decided without a committee';
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, action, async (selection) => {
      mustBePreparing(selection);
      if (selection.revision !== seen.revision)
        throw conflict(`${selection.title} was changed meanwhile: look at it again, then go on.`);
      const members = await readMembers(client, conferenceId, selectionId);
      if (how.withCommittee && members.length === 0)
        throw conflict('Nobody sits on the committee yet: add its members first.');
      await client.query(
        how.withCommittee
          ? `UPDATE selection SET state = 'sealed voting', basis = $3, voting_by = $4, voting_at = now()
              WHERE conference_id = $1 AND id = $2`
          : `UPDATE selection SET state = 'opened', basis = $3, opened_by = $4, opened_at = now(), opened_because = $5
              WHERE conference_id = $1 AND id = $2`,
        [
          ...[conferenceId, selectionId, JSON.stringify(basis), personId],
          ...(how.withCommittee ? [] : [how.reason]),
        ],
      );
      if (how.withCommittee)
        await tellOfVoting(
          client,
          acting,
          selection,
          members.map((one) => one.personId),
        );
      return { after: { members: members.length, inputRevision: basis.inputRevision } };
    }),
  );
}

/** Why ballots were opened before all were sealed, or why there was no committee; empty where neither was so. */
export async function readOpenedBecause(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<string> {
  const { rows } = await db.query<{ because: string }>(
    'SELECT opened_because AS because FROM selection WHERE conference_id = $1 AND id = $2',
    [conferenceId, selectionId],
  );
  return rows[0]?.because ?? '';
}

/**
 * Opens the ballots, all at once. Those that are not sealed are not counted and never shown.
 * @throws Problem 409 where none is sealed; 400 for a reason that is missing
 */
export async function openBallots(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  reason: string,
): Promise<void> {
  const { conferenceId, personId } = acting;
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: ballots opened', async (selection) => {
      if (selection.state !== 'sealed voting')
        throw conflict(
          selection.state === 'preparing'
            ? 'Voting has not begun: there is nothing to open.'
            : 'The ballots are open already.',
        );
      const members = await readMembers(client, conferenceId, selectionId);
      const refused = mayOpen(
        members.map(({ sealedAt }) => ({ sealed: sealedAt !== null })),
        reason,
      );
      if (refused)
        throw refused.field
          ? invalid([{ field: refused.field, message: refused.sentence }])
          : conflict(refused.sentence);
      const all = members.every(({ sealedAt }) => sealedAt !== null);
      await client.query(
        `UPDATE selection SET state = 'opened', opened_by = $3, opened_at = now(), opened_because = $4
          WHERE conference_id = $1 AND id = $2`,
        [conferenceId, selectionId, personId, all ? '' : reason],
      );
      return {
        after: { sealed: members.filter(({ sealedAt }) => sealedAt).length, members: members.length },
      };
    }),
  );
}
