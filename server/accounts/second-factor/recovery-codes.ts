import { randomBytes } from 'node:crypto';
import { Secret } from 'otpauth';
import { tokenHash } from '../token.ts';

/** How many are made at a time. */
const howMany = 10;

type Person = { conferenceId: string; personId: string };

/** Ten codes of 80 random bits: `abcd-efgh-ijkl-mnop`. */
export const newRecoveryCodes = (): string[] =>
  Array.from({ length: howMany }, () =>
    new Secret({ buffer: new Uint8Array(randomBytes(10)).buffer }).base32
      .toLowerCase()
      .match(/.{4}/g)!
      .join('-'),
  );

/**
 * What the database keeps of a code; null for what cannot be one. However it was typed: base32 has neither 0 nor 1, so
 * they are read as the letters they look like. A plain hash is enough: 80 random bits cannot be guessed.
 */
export function recoveryCodeHash({ conferenceId, personId }: Person, typed: string): string | null {
  const code = typed
    .toLowerCase()
    .replaceAll(/[^a-z0-9]/g, '')
    .replaceAll('0', 'o')
    .replaceAll('1', 'l');
  return /^[a-z2-7]{16}$/.test(code) ? tokenHash(`${conferenceId}:${personId}:${code}`) : null;
}
