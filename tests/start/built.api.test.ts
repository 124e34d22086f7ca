// @module-tag rest
import { execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdir, readdir, readFile, symlink } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { demoPassword } from '../../seed-demo/load.ts';
import { type DemoDatabase, demoDatabase } from '../support/demo-database.ts';
import { ownPort } from '../support/own-port.ts';
import { folderInRun } from '../support/test-run.ts';

// What `npm run build` leaves, moved away from the sources, with the packages beside it.

let folder: string;
let database: DemoDatabase;
beforeAll(async () => {
  folder = await folderInRun('built');
  await mkdir(path.join(folder, 'built'));
  await symlink(path.resolve('node_modules'), path.join(folder, 'node_modules'));
  await mkdir(path.join(folder, 'build'));
  await symlink(path.resolve('build/launch.mjs'), path.join(folder, 'build/launch.mjs'));
  execFileSync(process.execPath, ['--import', 'tsx', 'build/build.ts', path.join(folder, 'built')]);
  database = await demoDatabase();
});
afterAll(() => database?.drop());

test('runs without the sources: pages with what they load, signing in, and what threads compute', async () => {
  await database.pool.query('DELETE FROM kept_result');
  const port = await ownPort();
  const server = spawn(process.execPath, [path.join(folder, 'built/server/start.mjs')], {
    cwd: folder,
    env: {
      ...process.env,
      PORT: String(port),
      DATABASE_URL: database.url,
      DEMO: 'off',
      CREWMARK_TEST_BUILT: '',
    },
  });
  try {
    let said = '';
    for (const stream of [server.stdout, server.stderr])
      stream.on('data', (data) => {
        said += data;
      });
    await Promise.race([
      new Promise<void>((resolve) => server.stdout.on('data', () => said.includes('ready at') && resolve())),
      once(server, 'exit').then(() => Promise.reject(new Error(said))),
    ]);
    const ask = (at: string, init?: RequestInit) => fetch(`http://127.0.0.1:${port}${at}`, init);
    const page = await (await ask('/sign-in')).text();
    const loaded = [...page.matchAll(/(?:href|src)="(\/assets\/[^"]+)"/g)].map(([, url]) => url!);
    expect(loaded.some((url) => url.endsWith('.woff2'))).toBe(true);
    for (const url of loaded) expect([url, (await ask(url)).status]).toEqual([url, 200]);

    const signedIn = await ask('/api/session', {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ email: database.signIns.coordinator, password: demoPassword }),
    });
    expect(signedIn.status).toBe(200);
    const cookie = signedIn.headers
      .getSetCookie()
      .map((one) => one.split(';')[0])
      .join('; ');
    const standings = await ask(`/api/seasons/${database.seasonId}/standings`, { headers: { cookie } });
    expect(standings.status).toBe(200);
    const { lines } = (await standings.json()) as { lines: { adjusted: { low: number } | null }[] };
    expect(lines.filter(({ adjusted }) => adjusted && adjusted.low > 0).length).toBeGreaterThan(20);
  } finally {
    server.kill('SIGTERM');
    if (server.exitCode === null) await once(server, 'exit');
  }
});

test('needs no package that is for development only', async () => {
  const { dependencies } = JSON.parse(await readFile('package.json', 'utf8'));
  const server = path.join(folder, 'built/server');
  const files = (await readdir(server)).filter((file) => file.endsWith('.mjs'));
  const needed = new Map<string, string>();
  for (const file of files) {
    const text = await readFile(path.join(server, file), 'utf8');
    for (const [, name] of text.matchAll(/^(?:import|export)\b[^"'\n]*["']([^."'/][^"'\n]*)["'];?$/gm)) {
      if (!name!.startsWith('node:')) needed.set(/^(@[^/]+\/)?[^/]+/.exec(name!)![0], file);
    }
  }
  expect(needed.has('pdfkit')).toBe(true);
  // Files for browsers are built: what makes them is never loaded.
  const maker = needed.get('esbuild');
  expect(maker).toMatch(/^make-assets-/);
  needed.delete('esbuild');
  const builtins = (await import('node:module')).builtinModules;
  expect([...needed.keys()].filter((name) => !(name in dependencies) && !builtins.includes(name))).toEqual(
    [],
  );
});

test('is started by its name where the sources are not', async () => {
  const asked = () =>
    new Promise<string>((resolve) => {
      const run = spawn(
        process.execPath,
        [
          '--preserve-symlinks-main',
          path.join(folder, 'build/launch.mjs'),
          'server/backup/backup-command.ts',
        ],
        { cwd: folder },
      );
      let said = '';
      run.stdout.on('data', (data) => {
        said += data;
      });
      run.stderr.on('data', (data) => {
        said += data;
      });
      run.on('close', () => resolve(said));
    });
  expect(await asked()).toMatch(/FILE/);
});
