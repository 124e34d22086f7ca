import { parseArgs } from 'node:util';
import { readConfig } from '../config.ts';
import { openDatabase } from '../database/database.ts';
import { startEmbeddedPostgres } from '../database/embedded.ts';
import { StartupError } from '../database/startup-error.ts';
import { publicAddress } from '../mail/mailer.ts';
import { moment } from '../web/format.ts';
import { makeLinkFromOutside } from './link-from-outside.ts';

// npm run reset-password -- --email ADDRESS [--conference SHORT-NAME]
// Prints a link to choose a new password, for a coordinator whom nobody else can let in. Works beside a running server.

const usage = 'Write: npm run reset-password -- --email ADDRESS [--conference SHORT-NAME]';

function inputOf(args: string[]): { email: string; conference: string | undefined } {
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

async function run(): Promise<void> {
  const input = inputOf(process.argv.slice(2));
  const config = readConfig(process.env);
  const embedded = config.DATABASE_URL ? undefined : await startEmbeddedPostgres(config.DATA_DIR);
  try {
    const database = await openDatabase(config.DATABASE_URL ?? embedded!.url);
    try {
      const made = await makeLinkFromOutside(database.pool, input);
      const page = made.purpose === 'reset' ? 'new-password' : 'invitation';
      process.stdout.write(
        `${made.name}, ${made.conference}: choose a new password until ${moment(made.expiresAt, made.timeZone)} at\n${publicAddress(config)}/${page}/${made.token}\n`,
      );
    } finally {
      await database.close();
    }
  } finally {
    await embedded?.stop();
  }
}

run().catch((error) => {
  const known = error instanceof StartupError;
  process.stderr.write(`${known ? error.message : `No link could be made: ${error.message}`}\n`);
  process.exitCode = 1;
});
