import pg from 'pg';
import { StartupError } from './startup-error.ts';
import type { Queryable } from './transaction.ts';

/** Any constant will do that the migrations' lock does not use. */
const presenceKey = 7_203_115;

const isBeingReplaced = () =>
  new StartupError('The database is being restored from a backup just now; start again when that is done.');

/**
 * A running program's mark in the database, so that nobody restores a backup under it: a shared lock, kept by a
 * connection of its own and taken again when that breaks.
 */
export class Presence {
  readonly #settings: pg.ClientConfig;
  #client: pg.Client | undefined;
  #left = false;

  /** @param settings how to sign in; read at each connection, so that it may follow a server to another port */
  constructor(settings: pg.ClientConfig) {
    this.#settings = settings;
  }

  /** @throws StartupError when a backup is being restored. */
  async take(): Promise<void> {
    const client = new pg.Client(this.#settings);
    client.on('error', () => {});
    try {
      await client.connect();
      const { rows } = await client.query('SELECT pg_try_advisory_lock_shared($1) AS taken', [presenceKey]);
      if (!rows[0].taken) throw isBeingReplaced();
    } catch (error) {
      await client.end().catch(() => {});
      throw error;
    }
    if (this.#left) return client.end();
    this.#client = client;
    client.once('end', () => this.#takeAgain());
  }

  async leave(): Promise<void> {
    this.#left = true;
    await this.#client?.end().catch(() => {});
  }

  #takeAgain(): void {
    if (this.#left) return;
    setTimeout(() => {
      if (!this.#left) this.take().catch(() => this.#takeAgain());
    }, 1000).unref();
  }
}

/** Until the transaction ends no backup is restored here. @throws StartupError when one is. */
export async function keptFromBeingReplaced(client: Queryable): Promise<void> {
  const { rows } = await client.query('SELECT pg_try_advisory_xact_lock_shared($1) AS taken', [presenceKey]);
  if (!rows[0].taken) throw isBeingReplaced();
}

/**
 * Until the transaction ends no program works on this database. Behind a pooler a program keeps no lock, but the pooler
 * keeps connections of the application's role; those are looked for too.
 * @throws StartupError when one does.
 */
export async function aloneInDatabase(client: Queryable, role: string): Promise<void> {
  const { rows } = await client.query<{ taken: boolean; others: number }>(
    `SELECT pg_try_advisory_xact_lock($1) AS taken,
            (SELECT count(*)::int FROM pg_stat_activity a JOIN pg_roles r ON r.oid = a.usesysid
              WHERE a.datname = current_database() AND r.rolname = $2 AND a.pid <> pg_backend_pid()) AS others`,
    [presenceKey, role],
  );
  if (!rows[0]!.taken || rows[0]!.others > 0) {
    throw new StartupError(
      'A program works on this database; stop it first (a pooler in front of it may keep its connections for some minutes), then restore.',
    );
  }
}
