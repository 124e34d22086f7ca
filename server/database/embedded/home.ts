import {
  chmod,
  lstat,
  mkdir,
  mkdtemp,
  readlink,
  realpath,
  rm,
  stat,
  symlink,
  writeFile,
} from 'node:fs/promises';
import path from 'node:path';
import { StartupError } from '../startup-error.ts';
import { exists } from './files.ts';
import { canEnter, type ServerAccount } from './server-account.ts';

/** Where root's databases go whose data folder is private. */
const elsewhere = '/var/lib/crewmark';

export async function makeWritable(dataDir: string): Promise<void> {
  try {
    await mkdir(dataDir, { recursive: true });
    const probe = path.join(dataDir, `.write-probe-${process.pid}`);
    await writeFile(probe, '');
    await rm(probe);
  } catch (error) {
    throw new StartupError(
      `The data folder ${path.resolve(dataDir)} cannot be written (${(error as NodeJS.ErrnoException).code}); set DATA_DIR to a folder you own.`,
    );
  }
}

/**
 * The folder that holds the cluster: the data folder itself or, when the server's account cannot walk into it (a
 * clone under root's home), one of its own that `settle` links to from there. Permissions of folders that are not
 * ours are left as they are.
 */
export async function clusterHome(
  dataDir: string,
  account: ServerAccount,
  say: (line: string) => void,
): Promise<string> {
  const real = await realpath(dataDir);
  const place = path.join(real, 'postgres');
  const linked = await lstat(place).then(
    (found) => found.isSymbolicLink(),
    () => false,
  );
  if (linked) {
    const target = await readlink(place);
    if (await exists(path.join(target, 'PG_VERSION'))) return path.dirname(target);
    throw new StartupError(
      `${place} leads to ${target}, where there is no database; put it back, or remove the link to start with an empty one.`,
    );
  }
  // As root, the server's account must be able to walk into the folder (not list it).
  if (account.uid !== undefined) await chmod(real, ((await stat(real)).mode & 0o777) | 0o011);
  if (canEnter(real, account)) return real;
  if (await exists(path.join(place, 'PG_VERSION'))) {
    throw new StartupError(
      `The account "postgres" can no longer enter ${real}; run "chmod a+x" on the folders above it that are private, or move it and set DATA_DIR to the new place.`,
    );
  }
  try {
    await mkdir(elsewhere, { recursive: true, mode: 0o755 });
    const home = await mkdtemp(path.join(elsewhere, 'data-'));
    await chmod(home, 0o711);
    if (!canEnter(home, account)) throw new Error('private');
    say(`The database is kept in ${home}, because the account "postgres" cannot enter ${real}`);
    return home;
  } catch {
    throw new StartupError(
      `The account "postgres", which PostgreSQL runs as, can enter neither ${real} nor ${elsewhere}; set DATA_DIR to a folder that everyone may enter, such as DATA_DIR=/srv/crewmark.`,
    );
  }
}

/** Links the data folder to a cluster kept elsewhere. @returns the home to use: of two starters at once, the first's. */
export async function settle(dataDir: string, home: string): Promise<string> {
  const real = await realpath(dataDir);
  if (home === real) return home;
  const place = path.join(real, 'postgres');
  try {
    await symlink(path.join(home, 'postgres'), place);
    return home;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    const first = path.dirname(await readlink(place));
    if (first !== home) await rm(home, { recursive: true, force: true });
    return first;
  }
}
