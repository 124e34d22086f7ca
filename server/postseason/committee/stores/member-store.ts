import type pg from 'pg';
import type { PersonActing } from '../../../accounts/acting.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import { conflict, invalid, notFound, Problem } from '../../../web/problem.ts';
import { ballotsAreOpen, type Selection } from '../../selection.ts';
import { changing } from '../../stores/selection-store.ts';
import { tellOfVoting } from '../committee-messages.ts';

export interface Member {
  readonly personId: string;
  readonly name: string;
  readonly kind: 'coordinator' | 'invited reader';
  readonly conflictsDeclaredAt: Date | null;
  readonly sealedAt: Date | null;
}

export async function readMembers(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<Member[]> {
  const { rows } = await db.query<Member>(
    `SELECT m.person_id AS "personId", p.given_name || ' ' || p.family_name AS name, m.kind,
            m.conflicts_declared_at AS "conflictsDeclaredAt", m.sealed_at AS "sealedAt"
       FROM selection_member m JOIN person p ON p.conference_id = m.conference_id AND p.id = m.person_id
      WHERE m.conference_id = $1 AND m.selection_id = $2 ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, selectionId],
  );
  return rows;
}

export interface DeclaredConflict {
  readonly memberId: string;
  readonly officialId: string;
  readonly reason: string;
}

export async function readConflicts(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<DeclaredConflict[]> {
  const { rows } = await db.query<DeclaredConflict>(
    `SELECT member_id AS "memberId", official_id AS "officialId", reason FROM selection_conflict
      WHERE conference_id = $1 AND selection_id = $2 ORDER BY declared_at, official_id`,
    [conferenceId, selectionId],
  );
  return rows;
}

/** Who can sit on a committee: coordinators and observers who work no games themselves, by name. */
export async function readEligibleMembers(
  db: Queryable,
  conferenceId: string,
): Promise<{ id: string; name: string; coordinator: boolean }[]> {
  const { rows } = await db.query<{ id: string; name: string; coordinator: boolean }>(
    `SELECT p.id, p.given_name || ' ' || p.family_name AS name, bool_or(r.role = 'coordinator') AS coordinator
       FROM person p JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id
      WHERE p.conference_id = $1 AND p.active
      GROUP BY p.conference_id, p.id
     HAVING bool_or(r.role IN ('coordinator', 'observer')) AND NOT bool_or(r.role = 'official')
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId],
  );
  return rows;
}

function beforeOpening({ state, title }: Selection): void {
  if (ballotsAreOpen({ state }))
    throw conflict(`The ballots of ${title} are open: who sits on its committee stays as it is.`);
}

/** @throws Problem 400 naming the field where they cannot sit on it; 409 once the ballots are open */
export async function addMember(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  personId: string,
): Promise<void> {
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: committee member added', async (selection) => {
      beforeOpening(selection);
      const who = (await readEligibleMembers(client, acting.conferenceId)).find(({ id }) => id === personId);
      if (!who)
        throw invalid([
          { field: 'personId', message: 'choose a coordinator or an observer who works no games themselves' },
        ]);
      const { rowCount } = await client.query(
        `INSERT INTO selection_member (conference_id, selection_id, person_id, kind, added_by)
         VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING`,
        [
          ...[acting.conferenceId, selectionId, personId],
          ...[who.coordinator ? 'coordinator' : 'invited reader', acting.personId],
        ],
      );
      if (rowCount === 0) return null;
      if (selection.state === 'sealed voting') await tellOfVoting(client, acting, selection, [personId]);
      return { after: { personId } };
    }),
  );
}

/** What goes with a member who is taken off before sealing; none where they wrote nothing yet. */
export class SomethingWritten extends Problem {
  readonly personId: string;
  constructor(name: string, personId: string, what: string) {
    super(
      409,
      'Something would be lost',
      `${name} ${what}, and has sealed nothing yet. Taking them off the committee deletes that for good, unread by anybody: ask them first.`,
    );
    this.personId = personId;
  }
}

/**
 * Takes somebody off a committee; what they wrote and did not seal goes with them.
 * @param sure that what they wrote is to be lost
 * @throws SomethingWritten where they wrote something and it is not said that this is meant
 * @throws Problem 404 where they do not sit on it; 409 once they sealed, or the ballots are open
 */
export async function removeMember(
  pool: pg.Pool,
  acting: PersonActing,
  selectionId: string,
  personId: string,
  sure: boolean,
): Promise<void> {
  await inTransaction(pool, (client) =>
    changing(client, acting, selectionId, 'selection: committee member removed', async (selection) => {
      beforeOpening(selection);
      const member = (await readMembers(client, acting.conferenceId, selectionId)).find(
        (one) => one.personId === personId,
      );
      if (!member) throw notFound('committee member');
      if (member.sealedAt)
        throw conflict(`${member.name} has sealed a ballot: it counts, and they stay on the committee.`);
      const lost = await writtenBy(client, acting.conferenceId, selectionId, personId);
      const what = [
        ...(lost.ballots > 0 ? ['begun a ballot'] : []),
        ...(lost.conflicts > 0 ? ['declared conflicts'] : []),
      ];
      if (what.length > 0 && !sure)
        throw new SomethingWritten(member.name, personId, `has ${what.join(' and ')}`);
      await client.query(
        'DELETE FROM selection_member WHERE conference_id = $1 AND selection_id = $2 AND person_id = $3',
        [acting.conferenceId, selectionId, personId],
      );
      // How much went is told, so that nothing goes unseen; not what it said.
      return { before: { personId, lost } };
    }),
  );
}

async function writtenBy(client: Queryable, conferenceId: string, selectionId: string, personId: string) {
  const { rows } = await client.query<{ ballots: number; conflicts: number }>(
    `SELECT (SELECT count(*)::int FROM selection_ballot
              WHERE conference_id = $1 AND selection_id = $2 AND member_id = $3) AS ballots,
            (SELECT count(*)::int FROM selection_conflict
              WHERE conference_id = $1 AND selection_id = $2 AND member_id = $3) AS conflicts`,
    [conferenceId, selectionId, personId],
  );
  return rows[0]!;
}
