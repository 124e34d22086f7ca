import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';

/** 256 random bits as 43 characters that are safe in a cookie, a form and an address. */
export const newToken = () => randomBytes(32).toString('base64url');

/**
 * What the database keeps of a token, so that who reads the table cannot use what is in it. A plain SHA-256 is
 * enough: unlike a password, 256 random bits cannot be guessed.
 */
export const tokenHash = (token: string) => createHash('sha256').update(token).digest('hex');

/** Compares in a time that does not depend on where the two differ. */
export function sameToken(one: string, other: string): boolean {
  return timingSafeEqual(
    createHash('sha256').update(one).digest(),
    createHash('sha256').update(other).digest(),
  );
}
