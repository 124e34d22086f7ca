import type { Queryable } from '../database/transaction.ts';
import type { FactsOf, Kind } from './kinds.ts';

interface Telling<K extends Kind> {
  readonly conferenceId: string;
  /** To whom. */
  readonly personIds: readonly string[];
  readonly kind: K;
  readonly facts: FactsOf[K];
  /** The assignment, report, reply or letter that it is about. */
  readonly aboutId?: string;
  /** Of the same kind and key a person is told only once. */
  readonly once?: string;
  /** When it happened, if not now: of what is brought in afterwards nobody is mailed. */
  readonly at?: Date | undefined;
  /** False: on the desk only. */
  readonly mail?: boolean;
}

/** What is brought in from longer ago than this is on the desk as read. */
const daysUnread = 7;

/**
 * Tells people of something, inside the transaction in which it happens: kept together or not at all. It is on their
 * desks at once, and the outbox mails it. Call it before `appendAudit`.
 * @returns how many were told.
 */
export async function tell<K extends Kind>(client: Queryable, told: Telling<K>): Promise<number> {
  const { conferenceId, personIds, kind, facts, aboutId, once, at, mail = true } = told;
  if (personIds.length === 0) return 0;
  const notMailed = at !== undefined ? 'brought in' : mail ? null : 'not asked for';
  const { rowCount } = await client.query({
    name: 'tell',
    text: `INSERT INTO message (conference_id, person_id, kind, about_id, facts, once, happened_at, read_at, mail,
                                not_mailed_because)
           SELECT $1, t.person_id, $3, $4, $5, $6, coalesce($7, now()),
                  CASE WHEN $7 < now() - make_interval(days => $9) THEN $7 END,
                  CASE WHEN $8::text IS NULL THEN 'waiting' ELSE 'not mailed' END, $8
             FROM unnest($2::uuid[]) AS t (person_id) ORDER BY t.person_id
           ON CONFLICT (conference_id, person_id, kind, once) WHERE once IS NOT NULL DO NOTHING`,
    values: [
      ...[conferenceId, personIds, kind, aboutId ?? null, JSON.stringify(facts), once ?? null],
      ...[at ?? null, notMailed, daysUnread],
    ],
  });
  return rowCount ?? 0;
}

/** Tells the conference's coordinators, but not of what one of them did themselves. */
export async function tellCoordinators<K extends Kind>(
  client: Queryable,
  told: Omit<Telling<K>, 'personIds'> & { readonly actorId: string | null },
): Promise<void> {
  const { actorId, ...rest } = told;
  const { rows } = await client.query<{ id: string }>({
    name: 'whom-to-tell',
    text: `SELECT p.id FROM person p
             JOIN person_role r ON r.conference_id = p.conference_id AND r.person_id = p.id AND r.role = 'coordinator'
            WHERE p.conference_id = $1 AND p.active AND p.id IS DISTINCT FROM $2::uuid`,
    values: [told.conferenceId, actorId],
  });
  await tell(client, { ...rest, personIds: rows.map(({ id }) => id) } as unknown as Telling<K>);
}
