import pg from 'pg';
import type { Config } from '../config.ts';
import { startEmbeddedPostgres } from '../database/embedded.ts';
import { StartupError } from '../database/startup-error.ts';

/** Runs `work` as the owner of the database that the settings name, of which an embedded one is started if need be. */
export async function asOwner<Result>(
  config: Pick<Config, 'DATABASE_URL' | 'DATA_DIR'>,
  work: (client: pg.Client, url: string) => Promise<Result>,
): Promise<Result> {
  const embedded = config.DATABASE_URL
    ? undefined
    : await startEmbeddedPostgres(config.DATA_DIR, (line) => process.stdout.write(`${line}\n`));
  try {
    const url = config.DATABASE_URL ?? embedded!.url;
    const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 10_000 });
    client.on('error', () => {});
    try {
      await client.connect();
    } catch (error) {
      throw new StartupError(
        `The database cannot be reached (${(error as Error).message}); check DATABASE_URL.`,
      );
    }
    try {
      return await work(client, url);
    } finally {
      await client.end().catch(() => {});
    }
  } finally {
    await embedded?.stop();
  }
}

/** Ends a command: 0 done, 1 refused in one sentence, or failed. */
export function endCommand(command: Promise<void>, failed: string): void {
  command.catch((error) => {
    const known = error instanceof StartupError;
    process.stderr.write(`${known ? error.message : `${failed}: ${(error as Error).message}`}\n`);
    process.exitCode = 1;
  });
}
