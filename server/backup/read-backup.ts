import { type FileHandle, open } from 'node:fs/promises';
import type { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import yauzl from 'yauzl';
import type { Migration } from '../database/migrations.ts';
import { StartupError } from '../database/startup-error.ts';
import {
  entryOf,
  firstEntry,
  formatVersion,
  type Manifest,
  manifestEntry,
  manifestSchema,
  type TableOfBackup,
} from './manifest.ts';
import { sealHolds } from './seal.ts';
import { Tally } from './tally.ts';

/** A backup that was found whole, opened to be read. */
export interface Backup {
  readonly manifest: Manifest;
  /** A table's rows as COPY wants them; the stream fails at its end when they are not what the manifest says. */
  rowsOf(table: TableOfBackup): Promise<Readable>;
  close(): Promise<void>;
}

const largestManifest = 16 * 1024 * 1024;

/**
 * Opens a backup after reading all of it: its seal, its list, every table's rows.
 * @throws StartupError in one sentence when it is no backup, damaged, cut off, or of a newer program.
 */
export async function openBackup(file: string): Promise<Backup> {
  const handle = await open(file, 'r').catch((error: NodeJS.ErrnoException) => {
    throw new StartupError(
      error.code === 'ENOENT' ? `There is no file ${file}.` : `${file} cannot be read (${error.code}).`,
    );
  });
  try {
    await lookLikeOne(handle, file);
    if (!(await sealHolds(handle))) throw damaged(file);
    const zip = await openZip(handle).catch(() => {
      throw damaged(file);
    });
    const entries = await entriesOf(zip).catch(() => {
      throw damaged(file);
    });
    const manifest = await readManifest(zip, entries, file);
    const backup: Backup = {
      manifest,
      async rowsOf(table) {
        const entry = entries.get(entryOf(table.name));
        if (!entry) throw damaged(file);
        const tally = new Tally(({ rows, bytes, sha256 }) => {
          if (rows !== table.rows || bytes !== table.bytes || sha256 !== table.sha256) throw damaged(file);
        });
        const content = await contentOf(zip, entry);
        content.once('error', () => tally.destroy(damaged(file)));
        return content.pipe(tally);
      },
      close: () => handle.close(),
    };
    for (const table of manifest.tables) {
      await pipeline(await backup.rowsOf(table), async (rows) => {
        for await (const _ of rows);
      });
    }
    return backup;
  } catch (error) {
    await handle.close();
    throw error;
  }
}

/**
 * Whether this program can take the backup over.
 * @throws StartupError when it was written by a newer one, or by one with other migrations.
 */
export function refuseOtherMigrations(manifest: Manifest, migrations: readonly Migration[]): void {
  const known = new Map(migrations.map(({ name, checksum }) => [name, checksum]));
  for (const { name, checksum } of manifest.migrations) {
    const here = known.get(name);
    if (here === undefined) {
      throw new StartupError(
        `The backup is of a newer Crewmark (${manifest.version}, with ${name}); restore it with that version or a later one.`,
      );
    }
    if (here !== checksum) {
      throw new StartupError(
        `The backup was made with another form of the migration ${name}; restore it with the program that wrote it.`,
      );
    }
  }
}

const damaged = (file: string) =>
  new StartupError(
    `${file} is damaged or cut off: its content is not what was written. Take another backup.`,
  );

/** The first entry's name stands at the beginning of the file, uncompressed. */
async function lookLikeOne(handle: FileHandle, file: string): Promise<void> {
  if (!(await handle.stat()).isFile()) throw new StartupError(`${file} is no file that could be read.`);
  const beginning = Buffer.alloc(30 + firstEntry.length);
  await handle.read(beginning, 0, beginning.length, 0);
  if (!beginning.subarray(30).equals(Buffer.from(firstEntry))) {
    throw new StartupError(`${file} is no backup of Crewmark.`);
  }
}

function openZip(handle: FileHandle): Promise<yauzl.ZipFile> {
  return new Promise((resolve, reject) => {
    yauzl.fromFd(handle.fd, { lazyEntries: true, autoClose: false }, (error, zip) =>
      error ? reject(error) : resolve(zip),
    );
  });
}

function entriesOf(zip: yauzl.ZipFile): Promise<ReadonlyMap<string, yauzl.Entry>> {
  return new Promise((resolve, reject) => {
    const entries = new Map<string, yauzl.Entry>();
    zip.on('entry', (entry: yauzl.Entry) => {
      entries.set(entry.fileName, entry);
      zip.readEntry();
    });
    zip.once('end', () => resolve(entries));
    zip.once('error', reject);
    zip.readEntry();
  });
}

function contentOf(zip: yauzl.ZipFile, entry: yauzl.Entry): Promise<Readable> {
  return new Promise((resolve, reject) => {
    zip.openReadStream(entry, (error, stream) => (error ? reject(error) : resolve(stream)));
  });
}

async function readManifest(
  zip: yauzl.ZipFile,
  entries: ReadonlyMap<string, yauzl.Entry>,
  file: string,
): Promise<Manifest> {
  const entry = entries.get(manifestEntry);
  if (!entry || entry.uncompressedSize > largestManifest) throw damaged(file);
  const chunks: Buffer[] = [];
  for await (const chunk of await contentOf(zip, entry)) chunks.push(chunk as Buffer);
  const told: unknown = JSON.parse(Buffer.concat(chunks).toString());
  const { formatVersion: told_version, version } = told as { formatVersion?: unknown; version?: unknown };
  if (typeof told_version === 'number' && told_version > formatVersion) {
    throw new StartupError(
      `The backup is of a newer Crewmark (${version}) in a form that this one does not know; restore it with that version or a later one.`,
    );
  }
  const parsed = manifestSchema.safeParse(told);
  if (!parsed.success) throw damaged(file);
  return parsed.data;
}
