import { PrismaPg } from '@prisma/adapter-pg';
import pg from 'pg';
import { PrismaClient } from './generated/client.ts';
import { applyMigrations, readMigrations } from './migrations.ts';
import { type Asking, Pipeline } from './pipeline.ts';
import { StartupError } from './startup-error.ts';

/** The application's ways to its database: Prisma for ordinary rows by key, SQL for what counts, locks or streams. */
export type Database = {
  prisma: PrismaClient;
  pool: pg.Pool;
  /** For the short reads that every request makes. */
  asking: Asking;
  close(): Promise<void>;
};

const oldestServer = 15;

/**
 * Migrates the database at `url` (as its owner) and opens it as the application's role, which cannot rewrite the
 * audit trail.
 * @throws StartupError when the server cannot be reached, is too old, or cannot be migrated.
 */
export async function openDatabase(url: string, say: (line: string) => void = () => {}): Promise<Database> {
  await migrate(url, say);
  return connect(url);
}

/** Opens a database that is already migrated. */
export function connect(url: string): Database {
  const settings = {
    connectionString: url,
    application_name: 'crewmark',
    options: '-c role=crewmark_app',
    connectionTimeoutMillis: 15_000,
  };
  const pool = new pg.Pool({ ...settings, max: 20 });
  // An idle connection that breaks (server restart) is replaced at the next query.
  pool.on('error', () => {});
  const prisma = new PrismaClient({ adapter: new PrismaPg(pool, { disposeExternalPool: false }) });
  const asking = new Pipeline(settings, pool);
  return {
    prisma,
    pool,
    asking,
    async close() {
      await prisma.$disconnect();
      await asking.close();
      await pool.end();
    },
  };
}

async function migrate(url: string, say: (line: string) => void): Promise<void> {
  const client = await reach(url);
  try {
    const { rows } = await client.query('SHOW server_version_num');
    const major = Math.floor(Number(rows[0].server_version_num) / 10_000);
    if (major < oldestServer) {
      throw new StartupError(
        `The database server is PostgreSQL ${major}; Crewmark needs ${oldestServer} or newer (it is tested on 18).`,
      );
    }
    await applyMigrations(client, await readMigrations(), say);
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
