import { expect, test } from 'vitest';
import { canonicalJson } from '../../server/accounts/audit/canonical-json.ts';

test('RFC 8785, section 3.2.2: the sample object', () => {
  const sample = String.raw`{
    "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
    "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
    "literals": [null, true, false]
  }`;
  expect(canonicalJson(JSON.parse(sample))).toBe(
    String.raw`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
  );
});

test('RFC 8785, section 3.2.3: members are sorted by UTF-16 code units', () => {
  const sample = String.raw`{
    "\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
    "\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control", "\u00f6": "Latin Small Letter O With Diaeresis"
  }`;
  const order = [...canonicalJson(JSON.parse(sample)).matchAll(/:"([^"]+)"/g)].map((match) => match[1]);
  expect(order).toEqual([
    'Carriage Return',
    'One',
    'Control',
    'Latin Small Letter O With Diaeresis',
    'Euro Sign',
    'Emoji: Grinning Face',
    'Hebrew Letter Dalet With Dagesh',
  ]);
});

test('what JSON cannot say is left out as JSON.stringify does, and the order of writing does not matter', () => {
  expect(canonicalJson({ b: undefined, a: [undefined, new Date(0)] })).toBe(
    '{"a":[null,"1970-01-01T00:00:00.000Z"]}',
  );
  expect(canonicalJson({ a: 1, b: { d: 2, c: 3 } })).toBe(canonicalJson({ b: { c: 3, d: 2 }, a: 1 }));
});
