import type { Queryable } from '../../database/transaction.ts';
import { conflict } from '../../web/problem.ts';
import { appendAudit } from '../audit/audit.ts';
import type { Session } from '../session.ts';
import { hasSecondFactor } from './second-factor-store.ts';

/** A coordinator and whether they have a second factor. */
interface CoordinatorsFactor {
  readonly personId: string;
  readonly givenName: string;
  readonly familyName: string;
  readonly since: Date | null;
}

/** Whether the conference needs a second factor of its coordinators, and which of them have one. */
export async function readNeeded(
  db: Queryable,
  conferenceId: string,
): Promise<{ needed: boolean; coordinators: CoordinatorsFactor[] }> {
  const { rows } = await db.query<{ needed: boolean }>(
    'SELECT second_factor_needed AS needed FROM conference WHERE id = $1',
    [conferenceId],
  );
  const { rows: coordinators } = await db.query<CoordinatorsFactor>(
    `SELECT p.id AS "personId", p.given_name AS "givenName", p.family_name AS "familyName", f.confirmed_at AS since
       FROM person_role r
       JOIN person p ON p.conference_id = r.conference_id AND p.id = r.person_id AND p.active
       LEFT JOIN second_factor f ON f.conference_id = p.conference_id AND f.person_id = p.id
      WHERE r.conference_id = $1 AND r.role = 'coordinator' ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId],
  );
  return { needed: rows[0]?.needed ?? false, coordinators };
}

/**
 * Keeps whether the conference needs a second factor of its coordinators. From then on one without it can do nothing
 * but set it up.
 * @throws Problem 409 when who switches it on has none: they would shut themselves out.
 */
export async function keepNeeded(client: Queryable, session: Session, needed: boolean): Promise<void> {
  const { conferenceId, personId } = session;
  if (needed && !(await hasSecondFactor(client, session))) {
    throw conflict('Set up your own second factor first; then you can ask it of every coordinator.');
  }
  const { rows } = await client.query<{ before: boolean }>(
    'SELECT second_factor_needed AS before FROM conference WHERE id = $1 FOR UPDATE',
    [conferenceId],
  );
  const before = rows[0]!.before;
  if (before === needed) return;
  await client.query('UPDATE conference SET second_factor_needed = $2 WHERE id = $1', [conferenceId, needed]);
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: needed ? 'needs a second factor of coordinators' : 'needs no second factor of coordinators',
    subjectKind: 'conference',
    subjectId: conferenceId,
    before: { secondFactorNeeded: before },
    after: { secondFactorNeeded: needed },
  });
}
