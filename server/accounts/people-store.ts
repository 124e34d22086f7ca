import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { conflict } from '../web/problem.ts';
import { cancelLinks, makeLink } from './account-link.ts';
import type { PersonActing } from './acting.ts';
import { revokeTokensOf } from './api-token/token-store.ts';
import { appendAudit } from './audit/audit.ts';
import { noteHandedOver } from './invitations-store.ts';
import { notYours } from './refusal.ts';
import type { Role } from './roles.ts';
import { endSessionsOf } from './session.ts';
import { storeTeamOf } from './team-contact.ts';

/** active: can sign in. invited: has a working link. not invited: has none, and no password. deactivated: shut out. */
export type AccountState = 'active' | 'invited' | 'not invited' | 'deactivated';

export type Person = {
  id: string;
  email: string;
  givenName: string;
  familyName: string;
  roles: Role[];
  /** Of a team's contact: the team they speak for; null of everybody else. */
  team: { id: string; name: string } | null;
  state: AccountState;
  /** When one of their sessions was last used; null when none is open. */
  lastSeenAt: Date | null;
  /** When and why the mail server refused their address for good; null while it has not. */
  mailRefusedAt: Date | null;
  mailRefusedBecause: string | null;
  /** Since when signing in needs a second factor; null while it does not. */
  secondFactorSince: Date | null;
};

type PersonInput = Pick<Person, 'email' | 'givenName' | 'familyName' | 'roles'> & {
  teamId?: string | null | undefined;
};

const selectPeople = `
  SELECT p.id, p.email, p.given_name AS "givenName", p.family_name AS "familyName",
         ARRAY(SELECT r.role FROM person_role r
                WHERE r.conference_id = p.conference_id AND r.person_id = p.id ORDER BY r.role) AS roles,
         (SELECT json_build_object('id', t.id, 'name', t.name) FROM team_contact c
            JOIN team t ON t.conference_id = c.conference_id AND t.id = c.team_id
            JOIN person_role r ON r.conference_id = c.conference_id AND r.person_id = c.person_id
                              AND r.role = 'team contact'
           WHERE c.conference_id = p.conference_id AND c.person_id = p.id) AS team,
         CASE WHEN NOT p.active THEN 'deactivated'
              WHEN p.password_hash IS NOT NULL THEN 'active'
              WHEN EXISTS (SELECT FROM account_link l WHERE l.conference_id = p.conference_id AND l.person_id = p.id
                              AND l.used_at IS NULL AND l.expires_at > now()) THEN 'invited'
              ELSE 'not invited' END AS state,
         (SELECT max(s.last_seen_at) FROM session s
           WHERE s.conference_id = p.conference_id AND s.person_id = p.id) AS "lastSeenAt",
         p.mail_refused_at AS "mailRefusedAt", p.mail_refused_because AS "mailRefusedBecause",
         (SELECT f.confirmed_at FROM second_factor f
           WHERE f.conference_id = p.conference_id AND f.person_id = p.id) AS "secondFactorSince"
    FROM person p`;

/** Everybody of the conference, by name. */
export async function listPeople(db: Queryable, conferenceId: string): Promise<Person[]> {
  const { rows } = await db.query<Person>(
    `${selectPeople} WHERE p.conference_id = $1 ORDER BY p.family_name, p.given_name, p.email`,
    [conferenceId],
  );
  return rows;
}

/** @throws Refusal 404 when there is no such person in the conference. */
export async function findPerson(db: Queryable, conferenceId: string, personId: string): Promise<Person> {
  const { rows } = await db.query<Person>(`${selectPeople} WHERE p.conference_id = $1 AND p.id = $2`, [
    conferenceId,
    personId,
  ]);
  if (!rows[0]) throw notYours('person');
  return rows[0];
}

/**
 * Adds a person and makes their invitation.
 * @throws Problem 409 when the e-mail is taken in this conference.
 */
export async function invitePerson(
  pool: pg.Pool,
  actor: PersonActing,
  input: PersonInput,
): Promise<{ person: Person; token: string; expiresAt: Date }> {
  return inTransaction(pool, async (client) => {
    const { rows } = await client
      .query<{ id: string }>(
        'INSERT INTO person (conference_id, email, given_name, family_name) VALUES ($1, $2, $3, $4) RETURNING id',
        [actor.conferenceId, input.email, input.givenName, input.familyName],
      )
      .catch(emailTaken(input.email));
    const personId = rows[0]!.id;
    await storeRoles(client, actor.conferenceId, personId, input.roles);
    await storeTeamOf(client, { conferenceId: actor.conferenceId, personId }, input.roles, input.teamId);
    await noteHandedOver(client, actor, personId);
    const link = await makeLink(client, { conferenceId: actor.conferenceId, personId }, 'invitation');
    await audit(client, actor, 'invited', personId, undefined, input);
    return { person: await findPerson(client, actor.conferenceId, personId), ...link };
  });
}

/**
 * Changes what is given of a person's details, roles and standing. Deactivating ends their sessions and links; their
 * reports and evaluations stay.
 * @throws Problem 409 when the e-mail is taken or the last active coordinator would go; Refusal 404.
 */
export async function changePerson(
  pool: pg.Pool,
  actor: PersonActing,
  personId: string,
  changes: Partial<PersonInput> & { active?: boolean },
): Promise<Person> {
  const { conferenceId } = actor;
  return inTransaction(pool, async (client) => {
    // All coordinators' rows, always: two coordinators who remove each other at once wait for one another here.
    await client.query(
      "SELECT FROM person_role WHERE conference_id = $1 AND role = 'coordinator' ORDER BY person_id FOR UPDATE",
      [conferenceId],
    );
    const before = await findPerson(client, conferenceId, personId);
    const active = changes.active ?? before.state !== 'deactivated';
    await client
      .query(
        `UPDATE person SET email = $3, given_name = $4, family_name = $5, active = $6
          WHERE conference_id = $1 AND id = $2`,
        [
          conferenceId,
          personId,
          changes.email ?? before.email,
          changes.givenName ?? before.givenName,
          changes.familyName ?? before.familyName,
          active,
        ],
      )
      .catch(emailTaken(changes.email ?? before.email));
    if (changes.roles) await storeRoles(client, conferenceId, personId, changes.roles);
    if (changes.roles || changes.teamId)
      await storeTeamOf(
        client,
        { conferenceId, personId },
        changes.roles ?? before.roles,
        changes.teamId ?? undefined,
      );
    if (!active || (changes.email && changes.email !== before.email)) {
      await cancelLinks(client, { conferenceId, personId });
    }
    if (!active) {
      await endSessionsOf(client, { conferenceId, personId });
      await revokeTokensOf(client, { conferenceId, personId });
    }
    await requireCoordinator(client, conferenceId);
    const after = await findPerson(client, conferenceId, personId);
    if (JSON.stringify(audited(before)) !== JSON.stringify(audited(after))) {
      await audit(client, actor, actionOf(before, after), personId, audited(before), audited(after));
    }
    return after;
  });
}

/**
 * Makes the link that lets a person set their password: an invitation while they have none, else a reset. It is given
 * once, to be handed over.
 * @throws Problem 409 when the person is deactivated; Refusal 404.
 */
export async function makePasswordLink(
  pool: pg.Pool,
  actor: PersonActing,
  personId: string,
): Promise<{ person: Person; purpose: 'invitation' | 'reset'; token: string; expiresAt: Date }> {
  return inTransaction(pool, async (client) => {
    const person = await findPerson(client, actor.conferenceId, personId);
    if (person.state === 'deactivated') {
      throw conflict('This person is deactivated; activate them before making a link.');
    }
    const purpose = person.state === 'active' ? 'reset' : 'invitation';
    if (purpose === 'invitation') await noteHandedOver(client, actor, personId);
    const link = await makeLink(client, { conferenceId: actor.conferenceId, personId }, purpose);
    await audit(client, actor, purpose === 'reset' ? 'made a reset link' : 'invited', personId);
    return { person: await findPerson(client, actor.conferenceId, personId), purpose, ...link };
  });
}

async function storeRoles(
  client: Queryable,
  conferenceId: string,
  personId: string,
  roles: Role[],
): Promise<void> {
  await client.query(
    'DELETE FROM person_role WHERE conference_id = $1 AND person_id = $2 AND NOT (role = ANY ($3))',
    [conferenceId, personId, roles],
  );
  await client.query(
    `INSERT INTO person_role (conference_id, person_id, role) SELECT $1, $2, unnest($3::text[])
     ON CONFLICT DO NOTHING`,
    [conferenceId, personId, roles],
  );
}

async function requireCoordinator(client: Queryable, conferenceId: string): Promise<void> {
  const { rowCount } = await client.query(
    `SELECT FROM person_role r JOIN person p ON p.conference_id = r.conference_id AND p.id = r.person_id
      WHERE r.conference_id = $1 AND r.role = 'coordinator' AND p.active LIMIT 1`,
    [conferenceId],
  );
  if (!rowCount) {
    throw conflict('The conference would be left without a coordinator; make someone else one first.', [
      { field: 'roles', message: 'make someone else a coordinator first' },
    ]);
  }
}

const emailTaken = (email: string) => (error: unknown) => {
  if ((error as { code?: string }).code !== '23505') throw error;
  throw conflict(`${email} belongs to someone of this conference already.`, [
    {
      field: 'email',
      message: 'This address belongs to someone of this conference already; find them on the People page.',
    },
  ]);
};

const audited = ({ email, givenName, familyName, roles, team, state }: Person) => ({
  email,
  givenName,
  familyName,
  roles,
  ...(team ? { team: team.name } : {}),
  active: state !== 'deactivated',
});

function actionOf(before: Person, after: Person): string {
  if (before.state !== 'deactivated' && after.state === 'deactivated') return 'deactivated';
  if (before.state === 'deactivated' && after.state !== 'deactivated') return 'activated';
  return before.roles.join() === after.roles.join() ? 'changed details' : 'changed roles';
}

const audit = (
  client: Queryable,
  actor: PersonActing,
  action: string,
  personId: string,
  before?: unknown,
  after?: unknown,
) =>
  appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action,
    subjectKind: 'person',
    subjectId: personId,
    before,
    after,
  });
