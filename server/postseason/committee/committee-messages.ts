import type { PersonActing } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { tell } from '../../messages/tell.ts';
import type { Selection } from '../selection.ts';

/** Tells members that they are asked to vote, but for who begins it. */
export async function tellOfVoting(
  client: Queryable,
  { conferenceId, personId }: PersonActing,
  { id, title }: Selection,
  members: readonly string[],
): Promise<void> {
  await tell(client, {
    ...{ conferenceId, kind: 'vote asked', aboutId: id, facts: { title } },
    personIds: members.filter((member) => member !== personId),
  });
}
