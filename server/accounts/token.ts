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

/**
 * A token as a page shows it: other characters each time, so that the length of a compressed page tells nothing of it
 * (BREACH; the paper's "masking secrets"). The random mask, then the token under it.
 */
export function masked(token: string): string {
  const plain = Buffer.from(token, 'base64url');
  const mask = randomBytes(plain.length);
  return Buffer.concat([mask, xor(plain, mask)]).toString('base64url');
}

/** The token of `masked`; a text of another length as it is. */
export function unmasked(text: string): string {
  const bytes = Buffer.from(text, 'base64url');
  if (bytes.length !== 64) return text;
  return xor(bytes.subarray(32), bytes.subarray(0, 32)).toString('base64url');
}

const xor = (one: Buffer, other: Buffer) => Buffer.from(one.map((byte, at) => byte ^ other[at]!));
