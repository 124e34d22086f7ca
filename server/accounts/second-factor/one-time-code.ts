import { Secret, TOTP } from 'otpauth';

// One-time codes by RFC 6238, with what every authenticator app takes: SHA-1, six digits, 30 seconds.

const period = 30;
/** How many steps a code may be off: the clocks of telephone and server differ, and typing takes its time (section 5.2). */
const toleratedSteps = 1;

interface Form {
  readonly algorithm?: 'SHA1' | 'SHA256' | 'SHA512';
  readonly digits?: number;
}

/** A new secret in base32: 160 bits, as RFC 4226 (section 4, R6) recommends. */
export const newSecret = (): string => new Secret({ size: 20 }).base32;

const generatorOf = (secret: string, { algorithm = 'SHA1', digits = 6 }: Form = {}) =>
  new TOTP({ secret: Secret.fromBase32(secret), algorithm, digits, period });

/** The code of an instant (milliseconds since 1970). */
export const codeAt = (secret: string, at: number, form?: Form): string =>
  generatorOf(secret, form).generate({ timestamp: at });

/** The time step to which a code belongs, at most one from `at` (milliseconds since 1970); null when to none. */
export function stepOfCode(secret: string, code: string, at: number): number | null {
  const delta = generatorOf(secret).validate({ token: code, timestamp: at, window: toleratedSteps });
  return delta === null ? null : TOTP.counter({ period, timestamp: at }) + delta;
}

/** The newest time step of which a code is taken at an instant: one later was taken by a clock that was ahead. */
export const newestStep = (at: number): number => TOTP.counter({ period, timestamp: at }) + toleratedSteps;

/**
 * By how many seconds, about, the clock that made a code is ahead of `at`, looked for within an hour; null when the code
 * is of no time near. Only for someone to whom the secret was just shown: it tells when a guess will be right.
 */
export function clockAhead(secret: string, code: string, at: number): number | null {
  const delta = generatorOf(secret).validate({ token: code, timestamp: at, window: 3600 / period });
  return delta === null ? null : delta * period;
}

/** What an authenticator app reads from a square: issuer and account are what it shows beside the code. */
export const keyAddress = (
  secret: string,
  { issuer, account }: { issuer: string; account: string },
): string =>
  new TOTP({
    secret: Secret.fromBase32(secret),
    issuer,
    label: account,
    algorithm: 'SHA1',
    digits: 6,
    period,
  }).toString();

/** A secret as it is typed: groups of four. */
export const inGroups = (text: string): string => text.match(/.{1,4}/g)!.join(' ');
