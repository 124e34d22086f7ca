import fc from 'fast-check';
import { expect, test } from 'vitest';
import { keepable, textFault } from '../../server/text/keepable.ts';
import { exactText, typedDay, typedText } from '../../server/text/typed-text.ts';
import { anyCharacters } from '../support/any-characters.ts';

// What PostgreSQL keeps as text: any code points but U+0000 (PostgreSQL 18 documentation, section 8.3), in UTF-8, which
// has no surrogates (RFC 3629, section 3). What is well-formed UTF-16 is said by ECMA-262, String.prototype.isWellFormed.

const anyText = fc.oneof(
  anyCharacters(),
  fc
    .array(fc.integer({ min: 0, max: 0xffff }), { maxLength: 12 })
    .map((units) => String.fromCharCode(...units)),
);

test('what passes is well-formed and without NUL, and of such text only control characters are refused', () => {
  fc.assert(
    fc.property(anyText, (text) => {
      const wellFormed = (text as unknown as { isWellFormed(): boolean }).isWellFormed();
      const controls = /\p{Cc}/u.test(text.replaceAll(/[\t\n\v\f\r\x80-\x9f]/g, ''));
      expect(textFault(text) === null).toBe(wellFormed && !controls);
      expect(exactText({ most: 1000 }).safeParse(text).success).toBe(wellFormed && !controls);
      expect(textFault(keepable(text))).toBeNull();
      if (textFault(text) === null) expect(keepable(text)).toBe(text);
    }),
    { numRuns: 3000 },
  );
});

test('the fault says where, counted as a person counts', () => {
  expect(textFault('🏈🏈\u0000')).toContain('number 3');
  expect(textFault('late \ud83c')).toContain('number 6');
});

test('blanks at both ends go, lengths are told, every line break and script stays', () => {
  const short = typedText({ least: 2, most: 5, tooShort: 'write more', tooLong: 'write less' });
  expect(short.parse('  ab \n')).toBe('ab');
  expect(short.safeParse('  a  ').error!.issues[0]!.message).toBe('write more');
  expect(short.safeParse('abcdef').error!.issues[0]!.message).toBe('write less');
  for (const text of [
    'a\nb',
    'a\r\nb',
    'a\tb',
    'a\vb',
    'Ärger',
    'नमस्ते',
    '👩🏽‍⚖️',
    'مرحبا',
    '\u200b',
    '\ufeff',
  ]) {
    expect(exactText({ most: 20 }).parse(text)).toBe(text);
  }
});

test.each(['2031-02-29', '0000-01-01', '1899-12-31', '2200-01-01', '2031-9-6', '', '9999-12-31'])(
  'no day of use here: %j',
  (day) => expect(typedDay().safeParse(day).success).toBe(false),
);
test('a leap day is a day', () => expect(typedDay().parse('2032-02-29')).toBe('2032-02-29'));
