import { parseArgs } from 'node:util';
import pg from 'pg';
import { readConfig } from '../../config.ts';
import { startEmbeddedPostgres } from '../../database/embedded.ts';
import { StartupError } from '../../database/startup-error.ts';
import { type AuditHead, conferences, verifyAudit } from './audit-verification.ts';

// npm run audit:verify [-- --head CONFERENCE:NUMBER:HASH ...]
// Exit code 0: every conference's trail holds. 1: some row was tampered with, and is named. 2: could not look.

const usage = 'Write a noted head as --head CONFERENCE:NUMBER:HASH, as this program printed it.';

function notedHeads(args: string[]): Map<string, AuditHead[]> {
  let given: string[];
  try {
    given = parseArgs({ args, options: { head: { type: 'string', multiple: true } } }).values.head ?? [];
  } catch {
    throw new StartupError(usage);
  }
  const heads = new Map<string, AuditHead[]>();
  for (const text of given) {
    const match = /^([a-z0-9-]+):(\d+):([0-9a-f]{64})$/.exec(text);
    if (!match) throw new StartupError(`"${text}" is no noted head. ${usage}`);
    const slug = match[1]!;
    heads.set(slug, [...(heads.get(slug) ?? []), { number: Number(match[2]), hash: match[3]! }]);
  }
  return heads;
}

async function verifyAll(url: string, heads: Map<string, AuditHead[]>): Promise<boolean> {
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
    let sound = true;
    const all = await conferences(client);
    for (const { id, slug } of all) {
      const { entries, head, faults } = await verifyAudit(client, id, heads.get(slug));
      heads.delete(slug);
      for (const fault of faults) process.stdout.write(`${slug}: ${fault}\n`);
      if (faults.length > 0) {
        sound = false;
      } else {
        process.stdout.write(
          head
            ? `${slug}: ${entries} entries hold. Note elsewhere: --head ${slug}:${head.number}:${head.hash}\n`
            : `${slug}: no entries yet.\n`,
        );
      }
    }
    for (const slug of heads.keys()) {
      process.stdout.write(`${slug}: there is no such conference, though a head of it was noted.\n`);
      sound = false;
    }
    if (all.length === 0) process.stdout.write('There is no conference yet.\n');
    process.stdout.write(
      'Without a head noted earlier, removal of the newest entries and a rewriting of all hashes cannot be seen.\n',
    );
    return sound;
  } finally {
    await client.end();
  }
}

async function run(): Promise<number> {
  const heads = notedHeads(process.argv.slice(2));
  const config = readConfig(process.env);
  if (config.DATABASE_URL) return (await verifyAll(config.DATABASE_URL, heads)) ? 0 : 1;
  const embedded = await startEmbeddedPostgres(config.DATA_DIR, () => {});
  try {
    return (await verifyAll(embedded.url, heads)) ? 0 : 1;
  } finally {
    await embedded.stop();
  }
}

run().then(
  (code) => process.exit(code),
  (error) => {
    const known = error instanceof StartupError;
    process.stderr.write(
      `${known ? error.message : `The audit trail could not be read: ${error.message}`}\n`,
    );
    process.exit(2);
  },
);
