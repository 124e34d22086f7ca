import { mkdtemp, readdir, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';

const beginning = 'crewmark-import-';

/** A new folder for the files of one request, to be removed with it. Its name tells which process has it. */
export const uploadFolder = (): Promise<string> =>
  mkdtemp(path.join(os.tmpdir(), `${beginning}${process.pid}-`));

/** Removes the upload folders of processes that were killed before they could. @returns how many. */
export async function sweepUploads(): Promise<number> {
  const names = await readdir(os.tmpdir()).catch(() => []);
  let removed = 0;
  for (const name of names.filter((candidate) => candidate.startsWith(beginning))) {
    const owner = Number(/^(\d+)-/.exec(name.slice(beginning.length))?.[1] ?? 0);
    if (owner > 0 && lives(owner)) continue;
    // Another account's are left to it.
    const gone = await rm(path.join(os.tmpdir(), name), { recursive: true, force: true }).then(
      () => true,
      () => false,
    );
    if (gone) removed += 1;
  }
  return removed;
}

function lives(pid: number): boolean {
  if (pid === process.pid) return true;
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}
