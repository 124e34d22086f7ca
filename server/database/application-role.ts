import { createHash, createHmac, pbkdf2Sync, randomBytes } from 'node:crypto';
import pg from 'pg';
import { parseIntoClientConfig } from 'pg-connection-string';

/** The name that migrations use for whatever role the application works as. */
export const roleInMigrations = 'crewmark_app';

/** Who signs in, and how: the owner of the database or the application. */
export type SignIn = pg.ClientConfig & { user: string };

/** The owner's sign-in as `DATABASE_URL` (and the PG* variables) say it. */
export function ownerSignIn(url: string): SignIn {
  const config = parseIntoClientConfig(url);
  // The library fills in what the address leaves out, as every program of PostgreSQL does.
  const { user, password } = new pg.Client(config) as pg.Client & { password?: unknown };
  const known = typeof password === 'string' && password !== '' ? { password } : {};
  return { ...config, ...known, user: user ?? 'postgres' };
}

/**
 * The application's sign-in, made from the owner's. Each owner has a role of its own for the application, so that two
 * databases of different owners in one cluster have nothing in common. Its password is derived from the owner's: all
 * processes find the same one and nobody has to keep it.
 */
export function applicationSignIn(owner: SignIn): SignIn {
  const user = applicationRoleOf(owner.user);
  const { password: secret, ...rest } = owner;
  if (typeof secret !== 'string') return { ...rest, user };
  const password = createHmac('sha256', secret)
    .update(`Crewmark's application role ${user}`)
    .digest('base64url');
  return { ...rest, user, password };
}

/** A name that needs no quotes and fits PostgreSQL's 63 bytes. */
export function applicationRoleOf(owner: string): string {
  const plain = /^[a-z_][a-z0-9_]{0,40}$/.test(owner);
  return `crewmark_app_of_${plain ? owner : createHash('sha256').update(owner).digest('hex').slice(0, 16)}`;
}

/** What PostgreSQL keeps of a password (RFC 5803), made here so that the password itself is in no statement or log. */
export function scramSecret(password: string, salt = randomBytes(16), iterations = 4096): string {
  const salted = pbkdf2Sync(password, salt, iterations, 32, 'sha256');
  const keyed = (key: Buffer, text: string) => createHmac('sha256', key).update(text).digest();
  const stored = createHash('sha256').update(keyed(salted, 'Client Key')).digest('base64');
  const server = keyed(salted, 'Server Key').toString('base64');
  return `SCRAM-SHA-256$${iterations}:${salt.toString('base64')}$${stored}:${server}`;
}
