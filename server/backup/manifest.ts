import { z } from 'zod';

/** Raised when a program that reads earlier files could not read what is written now. */
export const formatVersion = 1;

/** The first entry's name, by which a file is known as a backup; the second-last word on what is in it. */
export const firstEntry = 'crewmark-backup.txt';
export const manifestEntry = 'manifest.json';
export const entryOf = (table: string) => `tables/${table}.copy`;

const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
const identifier = z.string().min(1).max(63);

/** What a backup holds. Rows are PostgreSQL's text format of COPY, which every version from 15 on reads alike. */
export const manifestSchema = z.strictObject({
  format: z.literal('crewmark-backup'),
  formatVersion: z.literal(formatVersion),
  /** The program that wrote it. */
  version: z.string(),
  /** PostgreSQL's, as it tells itself. */
  postgres: z.string(),
  madeAt: z.iso.datetime(),
  conferences: z.array(z.object({ slug: z.string(), name: z.string() })),
  migrations: z.array(z.object({ name: z.string(), checksum: sha256 })).min(1),
  tables: z.array(
    z.object({
      name: identifier,
      columns: z.array(identifier).min(1),
      rows: z.number().int().min(0),
      bytes: z.number().int().min(0),
      sha256,
    }),
  ),
  sequences: z.array(z.object({ name: identifier, value: z.string().regex(/^-?\d+$/), called: z.boolean() })),
});

export type Manifest = z.infer<typeof manifestSchema>;
export type TableOfBackup = Manifest['tables'][number];

/** What is in it, for people: one line. */
export function inWords(manifest: Manifest): string {
  const rows = manifest.tables.reduce((sum, table) => sum + table.rows, 0);
  const names = manifest.conferences.map(({ name }) => name);
  const whose = names.length === 0 ? 'no conference' : names.join(', ');
  return (
    `${whose}; ${rows.toLocaleString('en-US')} rows in ${manifest.tables.length} tables, as of ` +
    `${manifest.madeAt}; written by version ${manifest.version}, its last migration ${manifest.migrations.at(-1)!.name}, ` +
    `from PostgreSQL ${manifest.postgres}`
  );
}
