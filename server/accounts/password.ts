import { type Algorithm, hash, verify } from '@node-rs/argon2';

/**
 * Argon2id with 19 MiB of memory, 2 passes, 1 lane: the first of the settings that the OWASP Password Storage Cheat
 * Sheet recommends (cheatsheetseries.owasp.org, "Argon2id").
 */
const parameters = { algorithm: 2 as Algorithm.Argon2id, memoryCost: 19_456, timeCost: 2, parallelism: 1 };
const asHashedNow = '$argon2id$v=19$m=19456,t=2,p=1$';

/**
 * NIST SP 800-63B-4, section 3.1.1.2 (from memory): at least 15 characters where the password is all that guards an
 * account, at least 64 allowed, no rules on kinds of characters. The upper limit keeps hashing from being abused.
 */
export const shortestPassword = 15;
export const longestPassword = 256;

/** Composed and decomposed accents are one password, whichever keyboard typed it (same section: NFKC). */
const normalized = (password: string) => password.normalize('NFKC');

export const hashPassword = (password: string) => hash(normalized(password), parameters);

export const needsNewHash = (passwordHash: string) => !passwordHash.startsWith(asHashedNow);

/** True when the password is the hash's. A hash that cannot be read matches nothing. */
export async function passwordMatches(passwordHash: string, password: string): Promise<boolean> {
  if (password.length > longestPassword * 4) return false;
  return verify(passwordHash, normalized(password)).catch(() => false);
}

let noOnesHash: Promise<string> | undefined;

/** Takes as long as a check that fails, so that an unknown e-mail is not told from a wrong password by the clock. */
export async function spendAsLongAsACheck(password: string): Promise<void> {
  noOnesHash ??= hashPassword('the password of no one at all');
  await passwordMatches(await noOnesHash, password);
}

/**
 * What is wrong with a new password, as a sentence for the person who chose it, or null when nothing is.
 * `about` is what an attacker would try first: the person's e-mail and names.
 */
export function passwordFault(
  password: string,
  about: { email: string; givenName: string; familyName: string },
): string | null {
  const text = normalized(password);
  const length = [...text].length;
  if (length < shortestPassword) {
    return `Use at least ${shortestPassword} characters (this has ${length}); four unrelated words are easy to remember and hard to guess.`;
  }
  if (length > longestPassword) return `Use at most ${longestPassword} characters (this has ${length}).`;
  if (new Set(text).size < 5) return 'Use more than a few different characters; this would be guessed early.';
  if (isRun(text)) return 'Do not use a row of keys or a count; this would be guessed early.';
  const rest = [about.email, ...about.email.split(/[@.]/), about.givenName, about.familyName]
    .filter((part) => part.length >= 3)
    .reduce((left, part) => left.replaceAll(part.toLowerCase(), ''), text.toLowerCase());
  if ([...rest.replace(/[^\p{L}\p{N}]/gu, '')].length < 8) {
    return 'Do not build it from your own name or e-mail; add words that have nothing to do with you.';
  }
  return null;
}

const rows = ['abcdefghijklmnopqrstuvwxyz', '01234567890123456789', 'qwertyuiopasdfghjklzxcvbnm'];

/** One row of keys or letters, forward or backward, perhaps begun again. */
function isRun(text: string): boolean {
  const lower = text.toLowerCase();
  return rows.some((row) => {
    const forward = row.repeat(3);
    const backward = [...forward].reverse().join('');
    return forward.includes(lower) || backward.includes(lower);
  });
}
