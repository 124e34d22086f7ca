// @module-tag long
import { spawnSync } from 'node:child_process';
import { pathToFileURL } from 'node:url';
import { expect, test } from 'vitest';

// In a process of its own, since it ends it. The errors carry a marker as libraries put what somebody wrote into them.
const marker = 'quillfeather';
const module = pathToFileURL('server/web/end-by-error.ts').href;
const fails = {
  'thrown later': `setTimeout(() => { throw Object.assign(new Error(said), { detail: said, where: said }); })`,
  'a promise nobody waits for': `Promise.reject(Object.assign(new Error(said), { code: '23505', detail: said }))`,
  'a promise refused without an error': `Promise.reject(said)`,
  'an error of errors': `Promise.any([Promise.reject(new Error(said))])`,
  'a parser in a promise': `Promise.resolve().then(() => JSON.parse('{' + said))`,
};

const ended = (fail: string, handled: boolean) =>
  spawnSync(
    process.execPath,
    [
      ...['--import', 'tsx', '--input-type=module', '--eval'],
      `const said = ${JSON.stringify(`dear ${marker}@example.test`)};
       if (${handled}) (await import(${JSON.stringify(module)})).endByUncaughtErrors();
       setTimeout(() => {}, 60_000);
       ${fail};`,
    ],
    { encoding: 'utf8' },
  );

test.each(Object.entries(fails))(
  '%s: the last line says what and where, not what was written',
  (_name, fail) => {
    const { status, stderr, stdout } = ended(fail, true);
    expect(status).toBe(1);
    expect(stderr + stdout).not.toContain(marker);
    const lines = stderr.trim().split('\n');
    expect(lines).toHaveLength(1);
    expect(JSON.parse(lines[0]!)).toMatchObject({
      level: 60,
      msg: 'ended by an error',
      err: expect.anything(),
    });
  },
);

test('without it Node would print what was written: what the search above would find', () => {
  expect(ended(fails['a promise nobody waits for'], false).stderr).toContain(marker);
});
