import { mkdir, readdir, rm, stat, statfs } from 'node:fs/promises';
import path from 'node:path';
import type { Config } from '../config.ts';

/** Where a film's files are: FOLDER/CONFERENCE/FILM as it came, and FILM.mp4 as it was made for browsers. */
export class FilmFiles {
  readonly folder: string;

  constructor({ FILM_STORE, DATA_DIR }: Pick<Config, 'FILM_STORE' | 'DATA_DIR'>) {
    this.folder = path.resolve(FILM_STORE ?? path.join(DATA_DIR, 'films'));
  }

  /** Of a file as it was uploaded. */
  came(conferenceId: string, filmId: string): string {
    return path.join(this.folder, conferenceId, filmId);
  }

  made(conferenceId: string, filmId: string): string {
    return `${this.came(conferenceId, filmId)}.mp4`;
  }

  /** When its frames are shown (`looking/kept-frames.ts`). */
  frames(conferenceId: string, filmId: string): string {
    return `${this.came(conferenceId, filmId)}.frames`;
  }

  /** While it is being made, by whoever has it in hand. */
  unfinished(conferenceId: string, filmId: string, holder: string): string {
    return `${this.came(conferenceId, filmId)}.${holder}.part`;
  }

  /** Bytes of an upload that are here. */
  async arrived(conferenceId: string, filmId: string): Promise<number> {
    return bytesOf(this.came(conferenceId, filmId));
  }

  async prepare(conferenceId: string): Promise<void> {
    await mkdir(path.join(this.folder, conferenceId), { recursive: true, mode: 0o700 });
  }

  /** Bytes left on the disk; undefined where the system does not tell. */
  async room(): Promise<number | undefined> {
    const { bavail, bsize } = (await statfs(this.folder).catch(() => undefined)) ?? {};
    return bavail === undefined || bsize === undefined ? undefined : bavail * bsize;
  }

  async remove(conferenceId: string, filmId: string): Promise<void> {
    for (const name of await this.#namesOf(conferenceId))
      if (idOf(name) === filmId) await rm(path.join(this.folder, conferenceId, name), { force: true });
  }

  /** Ids of the films of which a conference has files here. */
  async ids(conferenceId: string): Promise<Set<string>> {
    return new Set((await this.#namesOf(conferenceId)).flatMap((name) => idOf(name) ?? []));
  }

  /**
   * Removes what was begun and is in nobody's hands any more, as of a process that was killed.
   * @param holders who have films in hand
   */
  async sweepUnfinished(conferenceId: string, holders: ReadonlySet<string>): Promise<void> {
    for (const name of await this.#namesOf(conferenceId)) {
      const holder = /\.([0-9a-f-]{36})\.part$/.exec(name)?.[1];
      const file = path.join(this.folder, conferenceId, name);
      if (holder && !holders.has(holder) && (await ageOf(file)) > 3600_000) await rm(file, { force: true });
    }
  }

  async #namesOf(conferenceId: string): Promise<string[]> {
    return readdir(path.join(this.folder, conferenceId)).catch(() => []);
  }
}

const idOf = (name: string) => /^([0-9a-f-]{36})(\.|$)/.exec(name)?.[1];

/** 0 where there is no such file. */
export const bytesOf = (file: string): Promise<number> =>
  stat(file).then(
    ({ size }) => size,
    () => 0,
  );

const ageOf = (file: string): Promise<number> =>
  stat(file).then(
    ({ mtimeMs }) => Date.now() - mtimeMs,
    () => 0,
  );
