import fc from 'fast-check';
import { expect, test } from 'vitest';
import { nextAddress } from '../../server/accounts/next-address.ts';
import { anyCharacters } from '../support/any-characters.ts';

// Held against the WHATWG URL standard (https://url.spec.whatwg.org/), by which browsers follow a Location header, as
// implemented by the runtime's URL class.

const server = 'https://crewmark.example/sign-in';
const where = (location: string) => new URL(location, server);

test.each([
  'https://elsewhere.test/',
  '//elsewhere.test',
  '///elsewhere.test',
  '/\\elsewhere.test',
  '/\t/elsewhere.test',
  '/\n/elsewhere.test',
  '/.//elsewhere.test',
  '/..//elsewhere.test',
  '/%2e//elsewhere.test',
  '/%2E%2e//elsewhere.test',
  '/a/..//elsewhere.test',
  '/a/%2e%2E//elsewhere.test',
  '/.\\/elsewhere.test',
  ' //elsewhere.test',
  '\u0000//elsewhere.test',
  '/\u0000/elsewhere.test',
  'javascript:alert(1)',
  '\\\\elsewhere.test',
  '/\u007f//elsewhere.test',
  'x',
  '',
])('leads nowhere else: %j', (asked) => {
  expect(nextAddress(asked)).toBe('/');
});

test.each(['/', '/my/games', '/people?x=1&y=%2F', '/seasons/a/../b'])('leads to a page here: %j', (asked) => {
  expect(nextAddress(asked)).toBe(where(asked).pathname + where(asked).search);
});

test('whatever path is asked for, a browser stays on this server, also when it is handed on twice', {
  tags: ['long'],
}, () => {
  const piece = fc.constantFrom(
    ...[
      '/',
      '//',
      '\\',
      '.',
      '..',
      '%2e',
      '%2E',
      '%2f',
      '%5c',
      '%09',
      '\t',
      '\n',
      '\r',
      ' ',
      '\u0000',
      '\u007f',
    ],
    ...[
      '@',
      ':',
      '?',
      '#',
      ';',
      'a',
      'elsewhere.test',
      'https:',
      'javascript:',
      'ⓔ',
      '。',
      '\ud800',
      '\u2028',
    ],
  );
  const path = fc.oneof(
    fc.array(piece, { maxLength: 9 }).map((pieces) => pieces.join('')),
    fc.array(piece, { maxLength: 9 }).map((pieces) => `/${pieces.join('')}`),
    anyCharacters(),
    fc.webUrl(),
  );
  fc.assert(
    fc.property(path, (asked) => {
      const next = nextAddress(asked);
      expect(next).toMatch(/^\/(?![/\\])/);
      expect(where(next).origin).toBe('https://crewmark.example');
      expect(nextAddress(next)).toBe(next);
    }),
    { numRuns: 2000 },
  );
});
