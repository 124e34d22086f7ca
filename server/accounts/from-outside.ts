import { parseArgs } from 'node:util';
import type pg from 'pg';
import { type Config, readConfig } from '../config.ts';
import { openDatabase } from '../database/database.ts';
import { startEmbeddedPostgres } from '../database/embedded.ts';
import { StartupError } from '../database/startup-error.ts';
import type { Queryable } from '../database/transaction.ts';

// What commands on the server have in common that help one person. They work beside a running server.

export interface WhoIsMeant {
  readonly email: string;
  readonly conference: string | undefined;
}

/** Reads `--email ADDRESS [--conference SHORT-NAME]`. @throws StartupError with the usage */
export function whoIsMeant(args: string[], usage: string): WhoIsMeant {
  try {
    const { values } = parseArgs({
      args,
      options: { email: { type: 'string' }, conference: { type: 'string' } },
    });
    const email = values.email?.trim().toLowerCase();
    if (email) return { email, conference: values.conference };
  } catch {
    // Told below.
  }
  throw new StartupError(usage);
}

interface PersonFromOutside {
  readonly conferenceId: string;
  readonly personId: string;
  readonly name: string;
  readonly conference: string;
  readonly timeZone: string;
  readonly hasPassword: boolean;
}

/** @throws StartupError that says which address or conference to give instead, or that the person is deactivated. */
export async function findFromOutside(
  db: Queryable,
  { email, conference }: WhoIsMeant,
): Promise<PersonFromOutside> {
  const { rows: all } = await db.query<PersonFromOutside & { slug: string; active: boolean }>(
    `SELECT p.conference_id AS "conferenceId", p.id AS "personId", p.given_name || ' ' || p.family_name AS name,
            c.name AS conference, c.slug, c.time_zone AS "timeZone", p.active,
            p.password_hash IS NOT NULL AS "hasPassword"
       FROM person p JOIN conference c ON c.id = p.conference_id WHERE p.email = $1 ORDER BY c.slug`,
    [email],
  );
  if (all.length === 0) throw new StartupError(`Nobody has the address ${email}.`);
  const rows = all.filter(({ slug }) => conference === undefined || slug === conference);
  const slugs = all.map(({ slug }) => slug).join(', ');
  if (rows.length === 0)
    throw new StartupError(`${email} is in no conference "${conference}", but in: ${slugs}.`);
  if (rows.length > 1)
    throw new StartupError(`${email} is in several conferences: choose one with --conference (${slugs}).`);
  const person = rows[0]!;
  if (!person.active)
    throw new StartupError(
      `${person.name} is deactivated; another coordinator can activate them on the People page.`,
    );
  return person;
}

/** Runs a command on the settings' database, and tells what kept it from being done. */
export function runOnDatabase(
  failed: string,
  work: (pool: pg.Pool, config: Config) => Promise<string>,
): void {
  const run = async () => {
    const config = readConfig(process.env);
    const embedded = config.DATABASE_URL ? undefined : await startEmbeddedPostgres(config.DATA_DIR);
    try {
      const database = await openDatabase(config.DATABASE_URL ?? embedded!.url);
      try {
        process.stdout.write(`${await work(database.pool, config)}\n`);
      } finally {
        await database.close();
      }
    } finally {
      await embedded?.stop();
    }
  };
  run().catch((error) => {
    const known = error instanceof StartupError;
    process.stderr.write(`${known ? error.message : `${failed}: ${error.message}`}\n`);
    process.exitCode = 1;
  });
}
