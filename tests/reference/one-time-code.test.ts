import { Secret } from 'otpauth';
import { expect, test } from 'vitest';
import {
  clockAhead,
  codeAt,
  inGroups,
  keyAddress,
  newSecret,
  stepOfCode,
} from '../../server/accounts/second-factor/one-time-code.ts';

// RFC 6238, appendix B: the table of test vectors. Its seeds are ASCII digits, as long as the hash's output (erratum
// 2866; the program of appendix A has them).
const seedOf = { SHA1: 20, SHA256: 32, SHA512: 64 } as const;
const secretOf = (algorithm: keyof typeof seedOf) =>
  new Secret({
    buffer: new TextEncoder().encode('1234567890'.repeat(7).slice(0, seedOf[algorithm])).buffer,
  }).base32;

const vectors: [seconds: number, step: string, SHA1: string, SHA256: string, SHA512: string][] = [
  [59, '0000000000000001', '94287082', '46119246', '90693936'],
  [1111111109, '00000000023523EC', '07081804', '68084774', '25091201'],
  [1111111111, '00000000023523ED', '14050471', '67062674', '99943326'],
  [1234567890, '000000000273EF07', '89005924', '91819424', '93441116'],
  [2000000000, '0000000003F940AA', '69279037', '90698825', '38618901'],
  [20000000000, '0000000027BC86AA', '65353130', '77737706', '47863826'],
];

test.each(vectors)('the codes of second %i are those of RFC 6238', (seconds, _step, ...codes) => {
  const made = (['SHA1', 'SHA256', 'SHA512'] as const).map((algorithm) =>
    codeAt(secretOf(algorithm), seconds * 1000, { algorithm, digits: 8 }),
  );
  expect(made).toEqual(codes);
});

// RFC 4226, section 5.3: a code of fewer digits is the same number modulo a smaller power of ten.
test.each(vectors)(
  'six digits of second %i are taken, half a minute early or late too, no more',
  (seconds, step, sha1) => {
    const secret = secretOf('SHA1');
    const code = sha1.slice(2);
    const begins = Number.parseInt(step, 16) * 30;
    const at = (second: number) => stepOfCode(secret, code, second * 1000);
    expect(codeAt(secret, seconds * 1000)).toBe(code);
    for (const second of [begins - 30, begins, seconds, begins + 30, begins + 59]) {
      expect(at(second)).toBe(Number.parseInt(step, 16));
    }
    expect([at(begins - 31), at(begins + 60)]).toEqual([null, null]);
  },
);

test('who sets it up is told by how much the clocks differ, within an hour', () => {
  const secret = secretOf('SHA1');
  const now = 1234567890_000;
  const from = (seconds: number) => clockAhead(secret, codeAt(secret, now + seconds * 1000), now);
  expect([from(300), from(-300), from(3600), from(7200)]).toEqual([300, -300, 3600, null]);
});

test('a secret has 160 bits (RFC 4226, section 4, R6), and what a camera reads names conference and account', () => {
  const secret = newSecret();
  expect(Secret.fromBase32(secret).bytes).toHaveLength(20);
  expect(newSecret()).not.toBe(secret);
  expect(inGroups(secret).replaceAll(' ', '')).toBe(secret);
  // The form that authenticator apps read: "Key Uri Format" of their common practice; no standard.
  const address = new URL(keyAddress(secret, { issuer: 'Lake & Hill', account: 'ada@example.test' }));
  expect(address.protocol).toBe('otpauth:');
  expect(decodeURIComponent(address.pathname)).toMatch(/Lake & Hill:ada@example\.test$/);
  expect(Object.fromEntries(address.searchParams)).toEqual({
    issuer: 'Lake & Hill',
    secret,
    algorithm: 'SHA1',
    digits: '6',
    period: '30',
  });
});
