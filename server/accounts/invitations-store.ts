import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { tell } from '../messages/tell.ts';
import { conflict } from '../web/problem.ts';
import { cancelLinks, makeLink } from './account-link.ts';
import type { PersonActing } from './acting.ts';
import { appendAudit } from './audit/audit.ts';
import { notYours } from './refusal.ts';
import type { Role } from './roles.ts';

/**
 * How far a person has come. on its way: a mail waits to be sent. could not be sent: the mail server would not take
 * it. invited: has a link that works. ran out: had one. withdrawn: the coordinator took it back. came: has a password.
 */
export type InvitationState =
  | 'not invited'
  | 'on its way'
  | 'could not be sent'
  | 'invited'
  | 'ran out'
  | 'withdrawn'
  | 'came';

export interface Invited {
  personId: string;
  email: string;
  givenName: string;
  familyName: string;
  roles: Role[];
  state: InvitationState;
  /** When the state was reached; null when that is not known or never. */
  at: Date | null;
  /** Until when the link works that they have, if any. */
  worksUntil: Date | null;
  /** The last try's failure, completing "could not be sent, because ...". */
  because: string | null;
  nextAttempt: Date | null;
}

/** Whom to invite: those without a link that works, or everybody who has not come; neither those withdrawn. */
export type InvitationGroup = 'not invited yet' | 'not come';
export const groupStates: Record<InvitationGroup, readonly InvitationState[]> = {
  'not invited yet': ['not invited', 'could not be sent', 'ran out'],
  'not come': ['not invited', 'could not be sent', 'ran out', 'invited', 'on its way'],
};

/** Everybody active: those who have not come first, then by name. */
export async function listInvited(db: Queryable, conferenceId: string): Promise<Invited[]> {
  const { rows } = await db.query<Invited>(
    `WITH people AS (
       SELECT p.*, i.state AS invitation, i.asked_at, m.mail, m.sent_at, m.last_error, m.next_attempt, l.created_at AS made_at,
              l.expires_at,
              CASE WHEN p.password_hash IS NOT NULL THEN 'came'
                   WHEN m.mail = 'waiting' THEN 'on its way'
                   WHEN m.mail = 'failed' THEN 'could not be sent'
                   WHEN l.expires_at > now() THEN 'invited'
                   WHEN i.state = 'withdrawn' THEN 'withdrawn'
                   WHEN l.expires_at IS NOT NULL OR i.state IS NOT NULL THEN 'ran out'
                   ELSE 'not invited' END AS standing
         FROM person p
         LEFT JOIN invitation i ON i.conference_id = p.conference_id AND i.person_id = p.id
         LEFT JOIN LATERAL (
                SELECT mail, sent_at, last_error, next_attempt FROM message
                 WHERE conference_id = p.conference_id AND person_id = p.id AND kind = 'invitation'
                 ORDER BY happened_at DESC LIMIT 1) m ON i.state = 'mailed'
         LEFT JOIN LATERAL (
                SELECT created_at, expires_at FROM account_link l
                 WHERE l.conference_id = p.conference_id AND l.person_id = p.id AND l.purpose = 'invitation'
                   AND l.used_at IS NULL
                 ORDER BY l.expires_at DESC LIMIT 1) l ON true
        WHERE p.conference_id = $1 AND p.active)
     SELECT p.id AS "personId", p.email, p.given_name AS "givenName", p.family_name AS "familyName",
            ARRAY(SELECT r.role FROM person_role r
                   WHERE r.conference_id = $1 AND r.person_id = p.id ORDER BY r.role) AS roles,
            p.standing AS state,
            CASE p.standing
              WHEN 'came' THEN (SELECT max(e.at) FROM audit_entry e
                                 WHERE e.conference_id = $1 AND e.subject_kind = 'person' AND e.subject_id = p.id::text
                                   AND e.action = 'accepted the invitation')
              WHEN 'invited' THEN coalesce(p.sent_at, p.made_at)
              WHEN 'ran out' THEN p.expires_at
              ELSE p.asked_at END AS at,
            CASE WHEN p.expires_at > now() AND p.standing <> 'came' THEN p.expires_at END AS "worksUntil",
            CASE WHEN p.standing IN ('on its way', 'could not be sent') THEN p.last_error END AS because,
            CASE WHEN p.standing = 'on its way' AND p.last_error IS NOT NULL THEN p.next_attempt END AS "nextAttempt"
       FROM people p
      ORDER BY p.standing = 'came', p.family_name, p.given_name, p.email`,
    [conferenceId],
  );
  return rows;
}

/**
 * Puts an invitation by e-mail in line for each of these. Those whose mail is on its way or left within the last
 * minute are passed over, so that a click too many sends nothing twice.
 * @returns how many are on their way now.
 */
export async function inviteByMail(
  pool: pg.Pool,
  actor: PersonActing,
  personIds: readonly string[],
): Promise<number> {
  return inTransaction(pool, async (client) => {
    // One round of invitations after the other: the next sees what this one put in line.
    await client.query("SELECT pg_advisory_xact_lock(hashtextextended('inviting ' || $1, 0))", [
      actor.conferenceId,
    ]);
    const { rows } = await client.query<{ personId: string; coordinator: string }>(
      `INSERT INTO invitation AS i (conference_id, person_id, state, asked_by)
       SELECT p.conference_id, p.id, 'mailed', $2 FROM person p
        WHERE p.conference_id = $1 AND p.id = ANY ($3) AND p.active AND p.password_hash IS NULL ORDER BY p.id
       ON CONFLICT (conference_id, person_id) DO UPDATE SET state = 'mailed', asked_by = $2, asked_at = now()
        WHERE i.state <> 'mailed' OR NOT EXISTS (
                SELECT FROM message m
                 WHERE m.conference_id = i.conference_id AND m.person_id = i.person_id AND m.kind = 'invitation'
                   AND (m.mail = 'waiting' AND m.last_error IS NULL
                        OR m.mail = 'sent' AND m.sent_at > now() - interval '1 minute'))
       RETURNING person_id AS "personId",
                 (SELECT a.given_name || ' ' || a.family_name FROM person a
                   WHERE a.conference_id = $1 AND a.id = $2) AS coordinator`,
      [actor.conferenceId, actor.personId, personIds],
    );
    const invited = rows.map(({ personId }) => personId);
    await cancelMail(client, actor.conferenceId, invited);
    // Asked for by hand: the address is tried again, whatever became of an earlier mail.
    await client.query(
      `UPDATE person SET mail_refused_at = NULL, mail_refused_because = NULL
        WHERE conference_id = $1 AND id = ANY ($2) AND mail_refused_at IS NOT NULL`,
      [actor.conferenceId, invited],
    );
    await tell(client, {
      conferenceId: actor.conferenceId,
      personIds: invited,
      kind: 'invitation',
      facts: { coordinator: rows[0]?.coordinator ?? '' },
    });
    for (const { personId } of rows) await audit(client, actor, 'invited', personId, { how: 'by e-mail' });
    return rows.length;
  });
}

export interface HandedOver {
  person: { personId: string; email: string; givenName: string; familyName: string; roles: Role[] };
  token: string;
  expiresAt: Date;
}

/**
 * Makes each of these a link to hand over; those they had stop working. Whoever came in the meantime is passed over. The
 * tokens cannot be shown again.
 */
export async function makeInvitationLinks(
  pool: pg.Pool,
  actor: PersonActing,
  people: readonly HandedOver['person'][],
): Promise<HandedOver[]> {
  return inTransaction(pool, async (client) => {
    const made: HandedOver[] = [];
    for (const person of [...people].sort((a, b) => (a.personId < b.personId ? -1 : 1))) {
      const { conferenceId } = actor;
      if ((await whyNot(client, conferenceId, person.personId)) !== null) continue;
      await noteHandedOver(client, actor, person.personId);
      const link = await makeLink(client, { conferenceId, personId: person.personId }, 'invitation');
      made.push({ person, ...link });
    }
    for (const { person } of made)
      await audit(client, actor, 'invited', person.personId, { how: 'on a printed sheet' });
    const order = new Map(people.map(({ personId }, index) => [personId, index]));
    return made.sort((a, b) => order.get(a.person.personId)! - order.get(b.person.personId)!);
  });
}

/** An invitation that waits, or could not be sent, is not mailed any more; one in a process's hands has a dead link. */
async function cancelMail(
  client: Queryable,
  conferenceId: string,
  personIds: readonly string[],
): Promise<void> {
  await client.query(
    `UPDATE message SET mail = 'not mailed', not_mailed_because = 'overtaken'
      WHERE conference_id = $1 AND person_id = ANY ($2) AND kind = 'invitation' AND mail IN ('waiting', 'failed')`,
    [conferenceId, personIds],
  );
}

/**
 * A link is shown to the coordinator: a mail that waited is no longer needed. Called before the link is made, since the
 * sender of mails locks in that order.
 */
export async function noteHandedOver(
  client: Queryable,
  actor: PersonActing,
  personId: string,
): Promise<void> {
  await client.query(
    `INSERT INTO invitation (conference_id, person_id, state, asked_by) VALUES ($1, $2, 'handed over', $3)
     ON CONFLICT (conference_id, person_id) DO UPDATE
        SET state = 'handed over', asked_by = $3, asked_at = now()`,
    [actor.conferenceId, personId, actor.personId],
  );
  await cancelMail(client, actor.conferenceId, [personId]);
}

/**
 * Takes an invitation back: its link stops working, and a mail that waits is not sent.
 * @throws Problem 409 when the person has come already; Refusal 404.
 */
export async function withdrawInvitation(
  pool: pg.Pool,
  actor: PersonActing,
  personId: string,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const { rowCount } = await client.query(
      `INSERT INTO invitation (conference_id, person_id, state, asked_by)
       SELECT conference_id, id, 'withdrawn', $3 FROM person WHERE conference_id = $1 AND id = $2
       ON CONFLICT (conference_id, person_id) DO UPDATE
          SET state = 'withdrawn', asked_by = $3, asked_at = now()`,
      [actor.conferenceId, personId, actor.personId],
    );
    if (!rowCount) throw notYours('person');
    await cancelMail(client, actor.conferenceId, [personId]);
    await cancelLinks(client, { conferenceId: actor.conferenceId, personId });
    // Asked last: who is choosing a password by the link right now comes first.
    const reason = await whyNot(client, actor.conferenceId, personId);
    if (reason !== null) throw conflict(reason);
    await audit(client, actor, 'withdrew the invitation', personId);
  });
}

/** Why a person has no invitation to make or take back; null when they may have one. */
async function whyNot(client: Queryable, conferenceId: string, personId: string): Promise<string | null> {
  const { rows } = await client.query<{ name: string; came: boolean; active: boolean }>(
    `SELECT given_name || ' ' || family_name AS name, password_hash IS NOT NULL AS came, active FROM person
      WHERE conference_id = $1 AND id = $2`,
    [conferenceId, personId],
  );
  const person = rows[0];
  if (!person) throw notYours('person');
  if (person.came) return `${person.name} has come already; to keep them out, deactivate them on their page.`;
  return person.active ? null : `${person.name} is deactivated; activate them first.`;
}

const audit = (client: Queryable, actor: PersonActing, action: string, personId: string, after?: unknown) =>
  appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action,
    subjectKind: 'person',
    subjectId: personId,
    after,
  });
