import { execFileSync } from 'node:child_process';
import { open, rm } from 'node:fs/promises';
import path from 'node:path';

/**
 * A folder on a small disk of its own, which can be filled without touching the machine's.
 * @returns undefined when this account may not mount one.
 */
export function smallDisk(folder: string, megabytes: number): SmallDisk | undefined {
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${megabytes}m,mode=755`, 'crewmark-faults', folder], {
      stdio: 'pipe',
    });
    return new SmallDisk(folder);
  } catch {
    return undefined;
  }
}

export class SmallDisk {
  readonly #folder: string;
  readonly #ballast: string;
  constructor(folder: string) {
    this.#folder = folder;
    this.#ballast = path.join(folder, 'ballast');
  }

  async fill(): Promise<void> {
    const file = await open(this.#ballast, 'a');
    try {
      const block = Buffer.alloc(1024 * 1024);
      // To the last byte: what no longer fits whole is tried in smaller pieces.
      for (let size = block.length; size >= 1; size = Math.floor(size / 4)) {
        try {
          for (;;) await file.write(block, 0, size);
        } catch (error) {
          if ((error as NodeJS.ErrnoException).code !== 'ENOSPC') throw error;
        }
      }
    } finally {
      await file.close();
    }
  }

  async free(): Promise<void> {
    await rm(this.#ballast, { force: true });
  }

  unmount(): void {
    execFileSync('umount', ['-l', this.#folder], { stdio: 'pipe' });
  }
}
