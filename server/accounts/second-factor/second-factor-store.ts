import type pg from 'pg';
import { inTransaction, type Queryable } from '../../database/transaction.ts';
import type { FactsOf } from '../../messages/kinds.ts';
import { tell } from '../../messages/tell.ts';
import { conflict, invalid } from '../../web/problem.ts';
import { appendAudit } from '../audit/audit.ts';
import { requirePresentPassword } from '../present-password.ts';
import { notYours } from '../refusal.ts';
import { endSessionsOf, type Session } from '../session.ts';
import type { Attempt, SignInLimit } from '../sign-in-limit.ts';
import { clockAhead, newestStep, newSecret, stepOfCode } from './one-time-code.ts';
import { newRecoveryCodes, recoveryCodeHash } from './recovery-codes.ts';

type Person = { conferenceId: string; personId: string };

/** Where an act comes from: its limits are counted by network and device. */
type From = Omit<Attempt, 'email'>;

/** What the person shows to change it: where they ask from, the session that stays, a code and the password. */
interface Proof {
  readonly from: From;
  readonly sessionToken: string;
  readonly code: string;
  readonly password: string;
}

interface SecondFactor {
  readonly secret: string;
  /** Null while no first code has proved that an app has the secret. */
  readonly confirmedAt: Date | null;
  /** Recovery codes not used yet. */
  readonly codesLeft: number;
}

export async function readSecondFactor(db: Queryable, person: Person): Promise<SecondFactor | null> {
  const { rows } = await db.query<SecondFactor>(
    `SELECT f.secret, f.confirmed_at AS "confirmedAt",
            (SELECT count(*)::int FROM recovery_code r
              WHERE r.conference_id = f.conference_id AND r.person_id = f.person_id AND r.used_at IS NULL) AS "codesLeft"
       FROM second_factor f WHERE f.conference_id = $1 AND f.person_id = $2`,
    [person.conferenceId, person.personId],
  );
  return rows[0] ?? null;
}

export async function hasSecondFactor(db: Queryable, person: Person): Promise<boolean> {
  return (await readSecondFactor(db, person))?.confirmedAt != null;
}

/** Makes a secret to be shown; one that waits for its first code is replaced, one in use stays. */
export async function beginSecondFactor(db: Queryable, person: Person): Promise<void> {
  await db.query(
    `INSERT INTO second_factor AS f (conference_id, person_id, secret) VALUES ($1, $2, $3)
     ON CONFLICT (conference_id, person_id) DO UPDATE SET secret = excluded.secret, begun_at = now()
      WHERE f.confirmed_at IS NULL`,
    [person.conferenceId, person.personId, newSecret()],
  );
}

/** Sent twice, say by a second click, the first answer with the recovery codes is lost. */
const alreadySetUp =
  'Your second factor is set up already. If you have not seen its recovery codes, make new ones here with the next code of your app.';
const noneAnyMore =
  'There is no second factor any more: it was removed or reset. Sign in once more, with the password alone.';
const clockWasAhead =
  'No code of the app fits, since this server’s clock was ahead when one was last taken. Use a recovery code, then set up the second factor anew; without any, another coordinator or whoever runs the server can reset it.';
const wrongCode =
  'This code does not fit. Type the newest one of your app; if that does not help either, check that the phone’s clock is set by the network, since a code fits for about half a minute.';
const usedCode = 'This code was used already; wait for the next one, which comes within half a minute.';

/**
 * Puts the second factor to use: a first code proves that the app has the secret. Every other session of the person ends.
 * @returns the recovery codes, which cannot be shown again.
 * @throws Problem 400 that names the field, 409 when there is nothing to confirm, TooManyAttempts.
 */
export async function confirmSecondFactor(
  pool: pg.Pool,
  limits: { password: SignInLimit; code: SignInLimit },
  session: Session,
  { from, sessionToken, code, password }: Proof,
): Promise<string[]> {
  await requirePassword(pool, limits.password, session, from, password);
  return counted(limits.code, { ...from, email: personKey(session) }, () =>
    inTransaction(pool, async (client) => {
      const found = await lockSecondFactor(client, session);
      if (!found) throw conflict('There is no second factor to confirm; begin again.');
      if (found.confirmedAt) throw conflict(alreadySetUp);
      const at = Date.now();
      const step = stepOfCode(found.secret, digits(code), at);
      if (step === null) throw invalid([{ field: 'code', message: whyNot(found.secret, digits(code), at) }]);
      await client.query(
        'UPDATE second_factor SET confirmed_at = now(), last_step = $3 WHERE conference_id = $1 AND person_id = $2',
        [session.conferenceId, session.personId, step],
      );
      const codes = await replaceCodes(client, session);
      await endSessionsOf(client, session, sessionToken);
      await tellOfFactor(client, session, 'set up', nameOf(session));
      await audit(client, session, session.personId, 'set up a second factor');
      return codes;
    }),
  );
}

const digits = (typed: string) => typed.replaceAll(/\s/g, '');

/** Who sets it up holds the secret, and so may be told how far the clocks are apart. */
function whyNot(secret: string, code: string, at: number): string {
  const ahead = clockAhead(secret, code, at);
  if (ahead === null) return wrongCode;
  const minutes = Math.max(1, Math.round(Math.abs(ahead) / 60));
  const far = `${minutes} ${minutes === 1 ? 'minute' : 'minutes'} ${ahead > 0 ? 'ahead of' : 'behind'}`;
  return `The phone’s clock is about ${far} this server’s: let the phone set its clock by the network, then type a new code.`;
}

/**
 * Takes a code of the app or a recovery code, once (RFC 6238, section 5.2), in the caller's transaction.
 * @throws Problem 400 that names the field `code`.
 */
async function takeCode(client: Queryable, person: Person, typed: string): Promise<'app' | 'recovery'> {
  const found = await lockSecondFactor(client, person);
  if (!found?.confirmedAt) throw invalid([{ field: 'code', message: noneAnyMore }]);
  const hash = recoveryCodeHash(person, typed);
  if (hash !== null) {
    const { rowCount } = await client.query(
      `UPDATE recovery_code SET used_at = now()
        WHERE conference_id = $1 AND person_id = $2 AND code_hash = $3 AND used_at IS NULL`,
      [person.conferenceId, person.personId, hash],
    );
    if (rowCount === 1) return 'recovery';
    throw invalid([{ field: 'code', message: 'This recovery code does not fit, or was used already.' }]);
  }
  const at = Date.now();
  const step = stepOfCode(found.secret, digits(typed), at);
  if (step === null) throw invalid([{ field: 'code', message: wrongCode }]);
  if (found.lastStep > newestStep(at)) throw invalid([{ field: 'code', message: clockWasAhead }]);
  if (step <= found.lastStep) throw invalid([{ field: 'code', message: usedCode }]);
  await client.query('UPDATE second_factor SET last_step = $3 WHERE conference_id = $1 AND person_id = $2', [
    person.conferenceId,
    person.personId,
    step,
  ]);
  return 'app';
}

/**
 * The second step of signing in. A recovery code is noted in the trail.
 * @param alongside what is kept with it or not at all
 * @throws Problem 400 that names the field `code`, TooManyAttempts.
 */
export async function passSecondStep(
  pool: pg.Pool,
  limit: SignInLimit,
  person: Person,
  from: From,
  code: string,
  alongside: (client: Queryable) => Promise<void> = async () => {},
): Promise<void> {
  await counted(limit, { ...from, email: personKey(person) }, () =>
    inTransaction(pool, async (client) => {
      const kind = await takeCode(client, person, code);
      await alongside(client);
      if (kind === 'recovery') await audit(client, person, person.personId, 'signed in with a recovery code');
    }),
  );
}

/** Takes the second factor away from oneself. Every other session ends. @throws as `confirmSecondFactor` */
export async function removeOwnSecondFactor(
  pool: pg.Pool,
  limits: { password: SignInLimit; code: SignInLimit },
  session: Session,
  { from, sessionToken, code, password }: Proof,
): Promise<void> {
  await requirePassword(pool, limits.password, session, from, password);
  await counted(limits.code, { ...from, email: personKey(session) }, () =>
    inTransaction(pool, async (client) => {
      await takeCode(client, session, code);
      await deleteSecondFactor(client, session);
      await endSessionsOf(client, session, sessionToken);
      await tellOfFactor(client, session, 'removed', nameOf(session));
      await audit(client, session, session.personId, 'removed the second factor');
    }),
  );
}

/** Makes ten new recovery codes; the earlier ones stop working. @throws as `passSecondStep` */
export async function renewRecoveryCodes(
  pool: pg.Pool,
  limit: SignInLimit,
  session: Session,
  from: From,
  code: string,
): Promise<string[]> {
  return counted(limit, { ...from, email: personKey(session) }, () =>
    inTransaction(pool, async (client) => {
      await takeCode(client, session, code);
      const codes = await replaceCodes(client, session);
      await tellOfFactor(client, session, 'new recovery codes', nameOf(session));
      await audit(client, session, session.personId, 'made new recovery codes');
      return codes;
    }),
  );
}

/**
 * Takes a lost second factor away from somebody: the password alone lets them in, and every session of theirs ends.
 * They are told, and so is the trail.
 * @throws Problem 409 when they have none, or it is one's own; Refusal 404.
 */
export async function resetSecondFactor(pool: pg.Pool, actor: Session, personId: string): Promise<void> {
  const { conferenceId } = actor;
  if (personId === actor.personId) {
    throw conflict('Your own second factor is removed on your account page, with a code or a recovery code.');
  }
  await inTransaction(pool, async (client) => {
    const person = { conferenceId, personId };
    const { rowCount } = await client.query('SELECT FROM person WHERE conference_id = $1 AND id = $2', [
      conferenceId,
      personId,
    ]);
    if (rowCount === 0) throw notYours('person');
    if (!(await deleteSecondFactor(client, person))) throw conflict('They have no second factor to reset.');
    await endSessionsOf(client, person);
    await tellOfFactor(client, person, 'reset', nameOf(actor));
    await audit(client, actor, personId, 'reset the second factor');
  });
}

/** The same for whoever runs the server. @returns false when they have none. */
export async function resetSecondFactorFromOutside(client: Queryable, person: Person): Promise<boolean> {
  if (!(await deleteSecondFactor(client, person))) return false;
  await endSessionsOf(client, person);
  await tellOfFactor(client, person, 'reset', 'whoever runs the server');
  await audit(
    client,
    { conferenceId: person.conferenceId, personId: null },
    person.personId,
    'reset the second factor by the command on the server',
  );
  return true;
}

/** Whoever got hold of an account changes nothing of this unnoticed. */
const tellOfFactor = (
  client: Queryable,
  { conferenceId, personId }: Person,
  what: FactsOf['second factor']['what'],
  by: string,
) => tell(client, { conferenceId, personIds: [personId], kind: 'second factor', facts: { what, by } });

const nameOf = ({ givenName, familyName }: Session) => `${givenName} ${familyName}`;

async function lockSecondFactor(client: Queryable, person: Person) {
  const { rows } = await client.query<{ secret: string; confirmedAt: Date | null; lastStep: number }>(
    `SELECT secret, confirmed_at AS "confirmedAt", last_step::float8 AS "lastStep" FROM second_factor
      WHERE conference_id = $1 AND person_id = $2 FOR UPDATE`,
    [person.conferenceId, person.personId],
  );
  return rows[0];
}

async function deleteSecondFactor(client: Queryable, person: Person): Promise<boolean> {
  const { rows } = await client.query<{ used: boolean }>(
    `DELETE FROM second_factor WHERE conference_id = $1 AND person_id = $2 RETURNING confirmed_at IS NOT NULL AS used`,
    [person.conferenceId, person.personId],
  );
  return rows[0]?.used ?? false;
}

async function replaceCodes(client: Queryable, person: Person): Promise<string[]> {
  const codes = newRecoveryCodes();
  await client.query('DELETE FROM recovery_code WHERE conference_id = $1 AND person_id = $2', [
    person.conferenceId,
    person.personId,
  ]);
  await client.query(
    'INSERT INTO recovery_code (conference_id, person_id, code_hash) SELECT $1, $2, unnest($3::text[])',
    [person.conferenceId, person.personId, codes.map((code) => recoveryCodeHash(person, code))],
  );
  return codes;
}

const requirePassword = (
  pool: pg.Pool,
  limit: SignInLimit,
  session: Session,
  from: From,
  password: string,
): Promise<void> =>
  requirePresentPassword(pool, limit, session, {
    from,
    password,
    wrong: { field: 'password', message: 'This is not your password.' },
  });

/** By what wrong codes of a person are counted, in the place of an e-mail. */
const personKey = ({ conferenceId, personId }: Person): string => `${conferenceId}/${personId}`;
export const personOfKey = (key: string): Person => {
  const [conferenceId = '', personId = ''] = key.split('/');
  return { conferenceId, personId };
};

/** Counts an attempt before it is tried, and forgets it when it was right. */
async function counted<Result>(
  limit: SignInLimit,
  attempt: Attempt,
  work: () => Promise<Result>,
): Promise<Result> {
  await limit.count(attempt);
  const result = await work();
  await limit.forget(attempt);
  return result;
}

const audit = (
  client: Queryable,
  actor: { conferenceId: string; personId: string | null },
  personId: string,
  action: string,
) =>
  appendAudit(client, {
    conferenceId: actor.conferenceId,
    actorId: actor.personId,
    action,
    subjectKind: 'person',
    subjectId: personId,
  });
