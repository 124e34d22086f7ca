import { PrismaPg } from '@prisma/adapter-pg';
import pg from 'pg';
import { applicationSignIn, ownerSignIn } from './application-role.ts';
import { PrismaClient } from './generated/client.ts';
import { applyMigrations, readMigrations } from './migrations.ts';
import { checkOwnersRights } from './missing-right.ts';
import { type Asking, Pipeline } from './pipeline.ts';
import { Presence } from './presence.ts';
import { letIn, type Reached, tryApplicationSignIn } from './sign-in-role.ts';
import { StartupError } from './startup-error.ts';

/** The application's ways to its database: Prisma for ordinary rows by key, SQL for what counts, locks or streams. */
export type Database = {
  prisma: PrismaClient;
  pool: pg.Pool;
  /** For the short reads that every request makes. */
  asking: Asking;
  /** What keeps it from answering or keeping anything, in words, as far as it is known; /ready tells it. */
  outage: { reason: string | undefined; full: boolean };
  /** The server listens at another port now. */
  moveTo(port: number): void;
  close(): Promise<void>;
  /** Cuts every connection: what was under way is rolled back by the server, and its callers get an error. */
  abandon(): Promise<void>;
};

const oldestServer = 15;

/**
 * Migrates the database at `url` (as its owner) and opens it as the application's own role, which cannot rewrite the
 * audit trail.
 * @throws StartupError when the server cannot be reached, is too old, refuses a right, or cannot be migrated.
 */
export async function openDatabase(url: string, say: (line: string) => void = () => {}): Promise<Database> {
  const reached = await migrate(url, say);
  if (reached.pooled) say('A pooler is in front of the database: nothing is kept on its connections');
  const { presence, ...database } = connect(url, reached);
  try {
    if (!reached.pooled) await presence.take();
  } catch (error) {
    await database.close();
    throw error;
  }
  return database;
}

/** A pooler may hand each transaction another connection, on which a prepared statement's name means nothing. */
class NamelessClient extends pg.Client {
  // biome-ignore lint/suspicious/noExplicitAny: the library's many ways to call it, passed on as they are
  override query(config: any, ...more: any[]): any {
    const named =
      typeof config === 'object' && config !== null && typeof config.submit !== 'function' && config.name;
    // biome-ignore lint/suspicious/noExplicitAny: as above
    return (super.query as any)(named ? { ...config, name: undefined } : config, ...more);
  }
}

/** Opens a database that is already migrated; `url` is its owner's. */
export function connect(
  url: string,
  { pooled }: Reached = { pooled: false },
): Database & { presence: Presence } {
  const settings = {
    application_name: 'crewmark',
    ...applicationSignIn(ownerSignIn(url)),
    connectionTimeoutMillis: 15_000,
    keepAlive: true,
  };
  const pool = new pg.Pool({ ...settings, max: 20, ...(pooled ? { Client: NamelessClient } : {}) });
  const clients = new Set<pg.PoolClient>();
  // An idle connection that breaks (server restart) is replaced at the next query.
  pool.on('error', () => {});
  pool.on('connect', (client) => {
    clients.add(client);
    // Whoever has taken the connection learns of its end by the query that fails; without a listener the process ends.
    client.on('error', () => {});
  });
  pool.on('remove', (client) => clients.delete(client));
  const prisma = new PrismaClient({ adapter: new PrismaPg(pool, { disposeExternalPool: false }) });
  const pipeline = pooled ? undefined : new Pipeline(settings, pool);
  const presence = new Presence(settings);
  return {
    presence,
    prisma,
    pool,
    asking: pipeline ?? pool,
    outage: { reason: undefined, full: false },
    moveTo(port) {
      settings.port = port;
      pool.options.port = port;
    },
    async close() {
      await prisma.$disconnect();
      await pipeline?.close();
      await pool.end();
      await presence.leave();
    },
    async abandon() {
      const pids = [...clients].map((client) => (client as { processID?: number }).processID).filter(Boolean);
      if (!pooled) await endBackends(settings, pids as number[]);
      for (const client of clients) socketOf(client)?.destroy();
    },
  };
}

const socketOf = (client: pg.ClientBase) =>
  (client as unknown as { connection?: { stream?: { destroy(): void } } }).connection?.stream;

/** A server busy with a query does not notice that its client is gone; it is told. */
async function endBackends(settings: pg.ClientConfig, pids: number[]): Promise<void> {
  const client = new pg.Client({ ...settings, connectionTimeoutMillis: 2000 });
  client.on('error', () => {});
  try {
    await client.connect();
    await client.query('SELECT pg_terminate_backend(pid) FROM unnest($1::int[]) AS pid', [pids]);
  } catch {
    // Not reachable: there is nothing to end.
  } finally {
    await client.end().catch(() => {});
  }
}

async function migrate(url: string, say: (line: string) => void): Promise<Reached> {
  const client = await reach(url);
  try {
    const { rows } = await client.query('SHOW server_version_num');
    const major = Math.floor(Number(rows[0].server_version_num) / 10_000);
    if (major < oldestServer) {
      throw new StartupError(
        `The database server is PostgreSQL ${major}; Crewmark needs ${oldestServer} or newer (it is tested on 15 and 18).`,
      );
    }
    await checkOwnersRights(client);
    await applyMigrations(client, await readMigrations(), say);
    const signIn = applicationSignIn(ownerSignIn(url));
    await letIn(client, signIn.user);
    return await tryApplicationSignIn(client, signIn);
  } finally {
    await client.end();
  }
}

async function reach(url: string): Promise<pg.Client> {
  let where = 'DATABASE_URL';
  try {
    const parsed = new URL(url);
    where = `${parsed.hostname}:${parsed.port || 5432}${parsed.pathname}`;
    const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 10_000 });
    client.on('error', () => {});
    await client.connect();
    return client;
  } catch (error) {
    const reason = (error as { code?: string }).code ?? '';
    const detail = (error as Error).message || reason;
    throw new StartupError(`The database at ${where} cannot be reached (${detail}); check DATABASE_URL.`);
  }
}

/** Tells the server's planner how the tables are filled, as their owner; after a bulk load it would guess badly. */
export async function refreshStatistics(url: string): Promise<void> {
  const client = await reach(url);
  try {
    await client.query('ANALYZE');
  } finally {
    await client.end();
  }
}
