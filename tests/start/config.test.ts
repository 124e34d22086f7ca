import { expect, test } from 'vitest';
import { readConfig } from '../../server/config.ts';
import { publicAddress } from '../../server/mail/mailer.ts';

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

test.each(['too-short', 'sixteen and more with spaces', '"sixteen-and-more"'])(
  'no program could send %j as a bearer (the syntax of RFC 6750, section 2.1)',
  (METRICS_TOKEN) => {
    expect(() => readConfig({ METRICS_TOKEN })).toThrow('METRICS_TOKEN: must have at least 16 letters');
  },
);

test.each([
  [{}, 'http://127.0.0.1:3000'],
  [{ HOST: '0.0.0.0' }, 'http://localhost:3000'],
  [{ HOST: '::', PORT: '80' }, 'http://localhost:80'],
  [{ HOST: '::1' }, 'http://[::1]:3000'],
  [{ HOST: '0.0.0.0', PUBLIC_URL: 'https://grades.example.test/' }, 'https://grades.example.test'],
])('links begin with an address that can be opened (%j)', (env, address) => {
  expect(publicAddress(readConfig(env))).toBe(address);
  expect(URL.canParse(address)).toBe(true);
});
