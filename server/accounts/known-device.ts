import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Queryable } from '../database/transaction.ts';
import { cookieName } from './session-cookie.ts';
import { newToken, tokenHash } from './token.ts';

type Person = { conferenceId: string; personId: string };

const day = 24 * 3600;
/** A device not signed in on for this long (seconds) is strange again. */
const lifetime = 180 * day;

/** The token that the device brings; one that we cannot have given counts as none. */
function deviceToken(request: FastifyRequest): string | undefined {
  const token = request.cookies[cookieName(request, 'device')];
  return token !== undefined && /^[\w-]{43}$/.test(token) ? token : undefined;
}

/** What of a request tells a known from a strange attempt to sign in. */
export const comingFrom = (request: FastifyRequest) => ({
  address: request.ip,
  device: deviceToken(request),
});

/**
 * Remembers that the person signed in on the device that made the request. Its cookie opens nothing: it only says that
 * whoever tries the password here is not a stranger. It outlives the session.
 */
export async function rememberDevice(
  db: Queryable,
  request: FastifyRequest,
  reply: FastifyReply,
  person: Person,
): Promise<void> {
  const token = deviceToken(request) ?? newToken();
  await db.query(
    `INSERT INTO known_device (conference_id, person_id, token_hash) VALUES ($1, $2, $3)
     ON CONFLICT (conference_id, person_id, token_hash) DO UPDATE SET last_seen_at = now()`,
    [person.conferenceId, person.personId, tokenHash(token)],
  );
  reply.setCookie(cookieName(request, 'device'), token, {
    path: '/',
    httpOnly: true,
    sameSite: 'lax',
    secure: request.protocol === 'https',
    expires: new Date(Date.now() + lifetime * 1000),
  });
}

/** Whether a person of this e-mail, in whichever conference, has signed in on the device. */
export async function isKnownDevice(db: Queryable, email: string, token: string): Promise<boolean> {
  const { rows } = await db.query(
    `SELECT FROM person p
       JOIN known_device d ON d.conference_id = p.conference_id AND d.person_id = p.id
      WHERE p.email = $1 AND d.token_hash = $2 AND d.last_seen_at > now() - make_interval(secs => $3)`,
    [email, tokenHash(token), lifetime],
  );
  return rows.length > 0;
}

/** Whether this very person has signed in on the device. */
export async function isDeviceOf(db: Queryable, person: Person, token: string): Promise<boolean> {
  const { rows } = await db.query(
    `SELECT FROM known_device WHERE conference_id = $1 AND person_id = $2 AND token_hash = $3
        AND last_seen_at > now() - make_interval(secs => $4)`,
    [person.conferenceId, person.personId, tokenHash(token), lifetime],
  );
  return rows.length > 0;
}

export async function forgetDevicesOf(db: Queryable, person: Person): Promise<void> {
  await db.query('DELETE FROM known_device WHERE conference_id = $1 AND person_id = $2', [
    person.conferenceId,
    person.personId,
  ]);
}

export async function removeOldDevices(db: Queryable): Promise<void> {
  await db.query('DELETE FROM known_device WHERE last_seen_at < now() - make_interval(secs => $1)', [
    lifetime,
  ]);
}
