import type pg from 'pg';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { invalid, Problem } from '../web/problem.ts';
import { cancelLinks, findLink, type LinkedPerson, useLink } from './account-link.ts';
import { appendAudit } from './audit/audit.ts';
import { forgetDevicesOf } from './known-device.ts';
import { hashPassword, passwordFault } from './password.ts';
import { requirePresentPassword } from './present-password.ts';
import { endSessionsOf, type Session } from './session.ts';
import type { Attempt, SignInLimit } from './sign-in-limit.ts';

type Person = { conferenceId: string; personId: string };

export const deadLink = () =>
  new Problem(
    410,
    'This link no longer works',
    'It was used already, replaced by a newer one, or is too old. If you have chosen your password, sign in; otherwise ask your coordinator for a new link.',
  );

/**
 * Sets the password of the person an invitation or reset link was made for, uses the link up, and signs the person
 * out everywhere.
 * @throws Problem 410 when the link does not work, 400 when the password will not do.
 */
export async function setPasswordByLink(
  pool: pg.Pool,
  token: string,
  password: string,
): Promise<LinkedPerson> {
  const person = await findLink(pool, token, ['invitation', 'reset']);
  if (!person) throw deadLink();
  requireFitting(password, person);
  const passwordHash = await hashPassword(password);
  return inTransaction(pool, async (client) => {
    if (!(await useLink(client, token))) throw deadLink();
    await storePassword(client, person, passwordHash);
    await appendAudit(client, {
      conferenceId: person.conferenceId,
      actorId: person.personId,
      action: person.purpose === 'invitation' ? 'accepted the invitation' : 'set a new password by link',
      subjectKind: 'person',
      subjectId: person.personId,
    });
    return person;
  });
}

/** @throws Problem 400 that names the field, when the password will not do. */
export function requireFitting(password: string, person: LinkedPerson): void {
  const fault = passwordFault(password, person);
  if (fault) throw invalid([{ field: 'password', message: fault }]);
}

/**
 * Changes the password of the signed-in person, who proves to know the present one, and signs them out everywhere:
 * the caller starts a new session.
 * @throws Problem 400 that names the field, TooManyAttempts.
 */
export async function changePassword(
  pool: pg.Pool,
  limit: SignInLimit,
  session: Session,
  from: Omit<Attempt, 'email'>,
  { currentPassword, newPassword }: { currentPassword: string; newPassword: string },
): Promise<void> {
  await requirePresentPassword(pool, limit, session, {
    from,
    password: currentPassword,
    wrong: { field: 'currentPassword', message: 'This is not your present password.' },
  });
  const fault = passwordFault(newPassword, session);
  if (fault) throw invalid([{ field: 'newPassword', message: fault }]);
  const passwordHash = await hashPassword(newPassword);
  await inTransaction(pool, async (client) => {
    await storePassword(client, session, passwordHash);
    await appendAudit(client, {
      conferenceId: session.conferenceId,
      actorId: session.personId,
      action: 'changed the password',
      subjectKind: 'person',
      subjectId: session.personId,
    });
  });
}

/** A new password ends every session and link and makes every device strange: who had one may be the reason for it. */
async function storePassword(client: Queryable, person: Person, passwordHash: string): Promise<void> {
  await client.query('UPDATE person SET password_hash = $3 WHERE conference_id = $1 AND id = $2', [
    person.conferenceId,
    person.personId,
    passwordHash,
  ]);
  await endSessionsOf(client, person);
  await forgetDevicesOf(client, person);
  await cancelLinks(client, person);
}
