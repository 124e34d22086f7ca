import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { mkdir, readdir, rm, stat, statfs } from 'node:fs/promises';
import path from 'node:path';
import { pipeline } from 'node:stream/promises';
import type { Config } from '../config.ts';

const hour = 3_600_000;

/**
 * Where recordings are: beside a conference's films, FOLDER/CONFERENCE/narration/RECORDING.flac, so that whoever copies
 * films copies them too: they cannot be made again. Names tell nobody.
 */
export class RecordingFiles {
  readonly folder: string;

  constructor({ FILM_STORE, DATA_DIR }: Pick<Config, 'FILM_STORE' | 'DATA_DIR'>) {
    this.folder = path.resolve(FILM_STORE ?? path.join(DATA_DIR, 'films'));
  }

  kept(conferenceId: string, recordingId: string): string {
    return path.join(this.#of(conferenceId), `${recordingId}.flac`);
  }

  /** A file as it comes in, and as it is being made; both are gone when that is done. */
  unfinished(conferenceId: string, recordingId: string, what: 'came' | 'made'): string {
    return path.join(this.#of(conferenceId), `${recordingId}.${what}.part`);
  }

  async prepare(conferenceId: string): Promise<void> {
    await mkdir(this.#of(conferenceId), { recursive: true, mode: 0o700 });
  }

  /** Bytes left on the disk; undefined where the system does not tell. */
  async room(): Promise<number | undefined> {
    const { bavail, bsize } = (await statfs(this.folder).catch(() => undefined)) ?? {};
    return bavail === undefined || bsize === undefined ? undefined : bavail * bsize;
  }

  async remove(conferenceId: string, recordingId: string): Promise<void> {
    await rm(this.kept(conferenceId, recordingId), { force: true });
  }

  /** Removes files of recordings that are not known, and what was begun and broke off; nothing that was made just now. */
  async sweep(conferenceId: string, known: ReadonlySet<string>): Promise<void> {
    const folder = this.#of(conferenceId);
    for (const name of await readdir(folder).catch(() => [])) {
      const id = /^([0-9a-f-]{36})\.flac$/.exec(name)?.[1];
      if (id !== undefined ? known.has(id) : !name.endsWith('.part')) continue;
      const file = path.join(folder, name);
      const { mtimeMs } = await stat(file).catch(() => ({ mtimeMs: Date.now() }));
      if (Date.now() - mtimeMs > hour) await rm(file, { force: true });
    }
  }

  #of(conferenceId: string): string {
    return path.join(this.folder, conferenceId, 'narration');
  }
}

export async function sha256Of(file: string): Promise<string> {
  const hash = createHash('sha256');
  await pipeline(createReadStream(file), hash);
  return hash.digest('hex');
}
