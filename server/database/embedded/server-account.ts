import { execFileSync } from 'node:child_process';
import { StartupError } from '../startup-error.ts';

/** How PostgreSQL's programs are run: by whom and where. Empty: as we are. */
export type ServerAccount = { uid?: number; gid?: number; cwd?: string };

/** PostgreSQL refuses to run as root, so root runs it as the system's "postgres" account, made if missing. */
export function serverAccount(): ServerAccount {
  if (process.getuid?.() !== 0) return {};
  const id = (flag: string) => Number(execFileSync('id', [flag, 'postgres'], { stdio: 'pipe' }).toString());
  try {
    return { uid: id('-u'), gid: id('-g'), cwd: '/' };
  } catch {
    try {
      execFileSync('useradd', ['--system', '--user-group', '--no-create-home', 'postgres'], {
        stdio: 'pipe',
      });
      return { uid: id('-u'), gid: id('-g'), cwd: '/' };
    } catch {
      throw new StartupError(
        'PostgreSQL cannot run as root and no "postgres" account could be made; start as an ordinary user or set DATABASE_URL.',
      );
    }
  }
}

/** Whether the account can walk to a file or folder and enter or run it. Asked of the system, which knows all its rules. */
export function canEnter(file: string, account: ServerAccount): boolean {
  if (account.uid === undefined) return true;
  try {
    execFileSync('/bin/sh', ['-c', 'test -x "$1"', 'sh', file], { ...account, stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
}
