import { execFile } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { chown, mkdir, open, readFile, rename, rm, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { promisify } from 'node:util';
import { StartupError } from '../startup-error.ts';
import type { Binaries } from './binaries.ts';
import { superuser } from './connection.ts';
import { exists, pause } from './files.ts';
import type { ServerAccount } from './server-account.ts';

const run = promisify(execFile);

/** Made beside and moved into place, so that a half-made cluster is never found and two starters cannot collide. */
export async function createCluster(
  binaries: Binaries,
  folder: string,
  passwordFile: string,
  account: ServerAccount,
): Promise<void> {
  const password = await agreedPassword(passwordFile);
  const fresh = `${folder}.new-${randomBytes(6).toString('hex')}`;
  const oneTimePasswordFile = `${fresh}.password`;
  try {
    await rm(fresh, { recursive: true, force: true });
    await mkdir(fresh, { mode: 0o700 });
    await writeFile(oneTimePasswordFile, `${password}\n`, { mode: 0o600 });
    if (account.uid !== undefined && account.gid !== undefined) {
      await chown(fresh, account.uid, account.gid);
      await chown(oneTimePasswordFile, account.uid, account.gid);
    }
    await run(
      binaries.initdb,
      [
        '-D',
        fresh,
        '-U',
        superuser,
        '--pwfile',
        oneTimePasswordFile,
        '--auth',
        'scram-sha-256',
        '--encoding',
        'UTF8',
        '--locale',
        'C',
        '--no-instructions',
      ],
      { ...account, env: { ...process.env, LC_ALL: 'C' } },
    );
    await rename(fresh, folder).catch(async (error) => {
      if (!(await exists(path.join(folder, 'PG_VERSION')))) throw error; // otherwise another starter was first
    });
  } catch (error) {
    const detail = String((error as { stderr?: string }).stderr || (error as Error).message).trim();
    throw new StartupError(
      `The database could not be created in ${folder}: ${detail.split('\n').at(-1)} Move the data folder with DATA_DIR, or set DATABASE_URL.`,
    );
  } finally {
    await rm(oneTimePasswordFile, { force: true });
    await rm(fresh, { recursive: true, force: true });
  }
}

/** The first starter writes the password; a second one reads it. */
async function agreedPassword(passwordFile: string): Promise<string> {
  try {
    const file = await open(passwordFile, 'wx', 0o600);
    await file.writeFile(randomBytes(24).toString('base64url'));
    await file.close();
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  }
  for (const deadline = Date.now() + 10_000; Date.now() < deadline; await pause(20)) {
    const password = (await readFile(passwordFile, 'utf8')).trim();
    if (password) return password;
  }
  throw new Error(`${passwordFile} is empty, left by a start that was cut off; delete it.`);
}
