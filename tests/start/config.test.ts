import { expect, test } from 'vitest';
import { readConfig } from '../../server/config.ts';

test('behind a trusted proxy the address of links must be given, and the sentence says how', () => {
  expect(() => readConfig({ TRUST_PROXY: 'on' })).toThrow(
    /^The settings cannot be used \(PUBLIC_URL: is needed with TRUST_PROXY=on, .*https:\/\//,
  );
  expect(() => readConfig({ TRUST_PROXY: 'on', PUBLIC_URL: '' })).toThrow('PUBLIC_URL');
  const settings = readConfig({ TRUST_PROXY: 'on', PUBLIC_URL: 'https://grades.example.test' });
  expect(settings.PUBLIC_URL).toBe('https://grades.example.test');
  expect(readConfig({}).PUBLIC_URL).toBeUndefined();
});

test.each(['javascript:alert(1)', 'ftp://grades.example.test', 'grades.example.test'])(
  'links cannot begin with %j',
  (PUBLIC_URL) => {
    expect(() => readConfig({ PUBLIC_URL })).toThrow('PUBLIC_URL: must be an address such as https://');
  },
);
