import { mkdir, readdir, rm, stat, statfs, utimes } from 'node:fs/promises';
import path from 'node:path';
import type { Config } from '../config.ts';

/** A conference's finished clips take this much at most; those used longest ago go first. */
const mostClipBytes = 4e9;
/** Clips that no reel used for so long go. */
const keptClipsMs = 60 * 86_400_000;
const hour = 3_600_000;

/**
 * Where reels lie: FOLDER/CONFERENCE/REEL.mp4, the finished clips that they were joined from in `clips`, and in `work`
 * what whoever has a reel in hand needs for it. All of it can be made again.
 */
export class ReelFiles {
  readonly folder: string;

  constructor({ DATA_DIR }: Pick<Config, 'DATA_DIR'>) {
    this.folder = path.resolve(DATA_DIR, 'reels');
  }

  reel(conferenceId: string, reelId: string): string {
    return path.join(this.folder, conferenceId, `${reelId}.mp4`);
  }

  clip(conferenceId: string, key: string): string {
    return path.join(this.folder, conferenceId, 'clips', `${key}.mov`);
  }

  work(conferenceId: string, holder: string): string {
    return path.join(this.folder, conferenceId, 'work', holder);
  }

  async prepare(conferenceId: string, holder: string): Promise<void> {
    await mkdir(path.join(this.folder, conferenceId, 'clips'), { recursive: true, mode: 0o700 });
    await mkdir(this.work(conferenceId, holder), { recursive: true, mode: 0o700 });
  }

  /** Bytes left on the disk; undefined where the system does not tell. */
  async room(): Promise<number | undefined> {
    const { bavail, bsize } = (await statfs(this.folder).catch(() => undefined)) ?? {};
    return bavail === undefined || bsize === undefined ? undefined : bavail * bsize;
  }

  /** A finished clip, noted as used; undefined when there is none. */
  async finished(conferenceId: string, key: string): Promise<string | undefined> {
    const file = this.clip(conferenceId, key);
    const now = new Date();
    return utimes(file, now, now).then(
      () => file,
      () => undefined,
    );
  }

  async removeReel(conferenceId: string, reelId: string): Promise<void> {
    await rm(this.reel(conferenceId, reelId), { force: true });
  }

  async endWork(conferenceId: string, holder: string): Promise<void> {
    await rm(this.work(conferenceId, holder), { recursive: true, force: true });
  }

  async conferences(): Promise<string[]> {
    return readdir(this.folder).catch(() => []);
  }

  /** Ids of the reels of which a conference has files that were not made just now. */
  async reels(conferenceId: string): Promise<string[]> {
    const names = await this.#in(conferenceId);
    return names.flatMap(({ name, age }) =>
      age > hour ? (/^([0-9a-f-]{36})\.mp4$/.exec(name)?.[1] ?? []) : [],
    );
  }

  /**
   * Removes clips beyond the limits, those with a voice whose recording is gone, and what was begun and is in nobody's hands.
   * @param recordings that are there
   */
  async sweep(
    conferenceId: string,
    holders: ReadonlySet<string>,
    recordings: ReadonlySet<string>,
    most = mostClipBytes,
  ): Promise<void> {
    const clips = (await this.#in(conferenceId, 'clips')).sort((one, other) => one.age - other.age);
    let bytes = 0;
    for (const { name, age, size } of clips) {
      bytes += size;
      const voice = /\.([0-9a-f-]{36})\.mov$/.exec(name)?.[1];
      const isGone = voice !== undefined && !recordings.has(voice);
      const isOver = name.endsWith('.mov') ? isGone || age > keptClipsMs || bytes > most : age > hour;
      // What is used just now stays, whatever the limit.
      if (isOver && age > hour / 60)
        await rm(path.join(this.folder, conferenceId, 'clips', name), { force: true });
    }
    for (const { name, age } of await this.#in(conferenceId, 'work'))
      if (!holders.has(name) && age > hour) await this.endWork(conferenceId, name);
  }

  /** All that a conference has here, for one that is gone. */
  async removeAll(conferenceId: string): Promise<void> {
    await rm(path.join(this.folder, conferenceId), { recursive: true, force: true });
  }

  async #in(...parts: string[]): Promise<{ name: string; age: number; size: number }[]> {
    const folder = path.join(this.folder, ...parts);
    const found = [];
    for (const name of await readdir(folder).catch(() => [])) {
      const { mtimeMs, size } = await stat(path.join(folder, name)).catch(() => ({
        mtimeMs: Date.now(),
        size: 0,
      }));
      found.push({ name, age: Date.now() - mtimeMs, size });
    }
    return found;
  }
}
