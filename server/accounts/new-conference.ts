import { parseArgs } from 'node:util';
import { readConfig } from '../config.ts';
import { openDatabase } from '../database/database.ts';
import { startEmbeddedPostgres } from '../database/embedded.ts';
import { StartupError } from '../database/startup-error.ts';
import { publicAddress } from '../mail/mailer.ts';
import { conferenceInput, openConference } from './open-conference.ts';

// npm run new-conference -- --name NAME --given NAME --family NAME --email ADDRESS [--slug SLUG] [--time-zone ZONE]
// Opens an empty conference and prints the link by which its first coordinator sets a password.

const options = {
  name: { type: 'string' },
  slug: { type: 'string' },
  'time-zone': { type: 'string' },
  given: { type: 'string' },
  family: { type: 'string' },
  email: { type: 'string' },
} as const;
const flagOf: Record<string, string> = {
  'coordinator.givenName': 'given',
  'coordinator.familyName': 'family',
  'coordinator.email': 'email',
  timeZone: 'time-zone',
};

function inputOf(args: string[]) {
  let given: ReturnType<typeof parseArgs<{ options: typeof options }>>['values'];
  try {
    given = parseArgs({ args, options }).values;
  } catch (error) {
    throw new StartupError((error as Error).message);
  }
  const name = given.name ?? '';
  const slug = name
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '')
    .slice(0, 63);
  const parsed = conferenceInput.safeParse({
    name,
    slug: given.slug ?? (slug || 'conference'),
    timeZone: given['time-zone'] ?? 'America/Chicago',
    coordinator: { givenName: given.given ?? '', familyName: given.family ?? '', email: given.email ?? '' },
  });
  if (parsed.success) return parsed.data;
  const wrong = parsed.error.issues.map((issue) => {
    const field = issue.path.join('.');
    return `--${flagOf[field] ?? field}: ${issue.message}`;
  });
  throw new StartupError(`The conference cannot be opened. ${wrong.join(' ')}`);
}

async function run(): Promise<void> {
  const input = inputOf(process.argv.slice(2));
  const config = readConfig(process.env);
  const embedded = config.DATABASE_URL ? undefined : await startEmbeddedPostgres(config.DATA_DIR);
  try {
    const database = await openDatabase(config.DATABASE_URL ?? embedded!.url);
    try {
      const { token } = await openConference(database.pool, input);
      process.stdout.write(
        `Opened "${input.name}" (${input.slug}). Within 14 days ${input.coordinator.givenName} sets a password at\n${publicAddress(config)}/invitation/${token}\n`,
      );
    } catch (error) {
      if ((error as { code?: string }).code !== '23505') throw error;
      throw new StartupError(
        `There is a conference with the short name "${input.slug}" already; choose another with --slug.`,
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
  process.stderr.write(`${known ? error.message : `The conference could not be opened: ${error.message}`}\n`);
  process.exitCode = 1;
});
