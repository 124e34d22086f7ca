import { expect, test } from 'vitest';
import {
  hashPassword,
  needsNewHash,
  passwordFault,
  passwordMatches,
} from '../../server/accounts/password.ts';

const someone = { email: 'ada.muster@example.test', givenName: 'Ada', familyName: 'Muster' };

test('a hash is argon2id with the settings of the OWASP Password Storage Cheat Sheet (m=19456, t=2, p=1)', async () => {
  const hash = await hashPassword('seven quiet whistles');
  expect(hash).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
  expect(needsNewHash(hash)).toBe(false);
  expect(await passwordMatches(hash, 'seven quiet whistles')).toBe(true);
  expect(await passwordMatches(hash, 'seven quiet whistleS')).toBe(false);
  expect(await hashPassword('seven quiet whistles')).not.toBe(hash);
});

test('hashes of another program are read: the argon2 command line tool (reference implementation, test.c)', async () => {
  // github.com/P-H-C/phc-winner-argon2, src/test.c: argon2id, t=2, m=2^16, p=1, password "password", "somesalt".
  const reference = '$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc';
  expect(await passwordMatches(reference, 'password')).toBe(true);
  expect(await passwordMatches(reference, 'Password')).toBe(false);
  expect(needsNewHash(reference)).toBe(true);
});

test('composed and decomposed accents are the same password', async () => {
  const hash = await hashPassword('caf\u00e9 caf\u00e9 caf\u00e9 caf\u00e9');
  expect(await passwordMatches(hash, 'cafe\u0301 cafe\u0301 cafe\u0301 cafe\u0301')).toBe(true);
});

test('what is no hash matches nothing', async () => {
  expect(await passwordMatches('', 'x')).toBe(false);
  expect(await passwordMatches('plain', 'plain')).toBe(false);
});

test.each([
  ['four words hold up', null],
  ['дождь на стадионе', null],
  ['short words', /at least 15 characters \(this has 11\)/],
  ['x'.repeat(257), /at most 256 characters \(this has 257\)/],
  ['aaaaaaaaaaaaaaaaaaaa', /different characters/],
  ['abcabcabcabcabcabc', /different characters/],
  ['12345678901234567', /row of keys/],
  ['qwertyuiopasdfghjkl', /row of keys/],
  ['zyxwvutsrqponmlkjih', /row of keys/],
  ['ada.muster@example.test', /own name or e-mail/],
  ['AdaMuster-Muster-Ada-1', /own name or e-mail/],
])('a new password %j', (password, fault) => {
  const found = passwordFault(password, someone);
  if (fault === null) expect(found).toBeNull();
  else expect(found).toMatch(fault);
});
