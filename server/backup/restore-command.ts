import path from 'node:path';
import { createInterface } from 'node:readline/promises';
import { parseArgs } from 'node:util';
import { readConfig } from '../config.ts';
import { refreshStatistics } from '../database/database.ts';
import { readMigrations } from '../database/migrations.ts';
import { StartupError } from '../database/startup-error.ts';
import { version } from '../version.ts';
import { inWords } from './manifest.ts';
import { asOwner, endCommand } from './owner-connection.ts';
import { openBackup } from './read-backup.ts';
import { restoreBackup } from './restore.ts';

// npm run restore -- FILE                    into a database without a conference
// npm run restore -- FILE --replace [--yes]  in place of what is there, after a question

const usage = 'Say from where: npm run restore -- FILE [--replace [--yes]].';

function given(args: string[]) {
  try {
    const { values, positionals } = parseArgs({
      args,
      allowPositionals: true,
      options: { replace: { type: 'boolean' }, yes: { type: 'boolean' } },
    });
    if (positionals.length === 1) return { ...values, file: path.resolve(positionals[0]!) };
  } catch {
    // said below
  }
  throw new StartupError(usage);
}

async function askOnTerminal(what: string): Promise<boolean> {
  if (!process.stdin.isTTY) {
    throw new StartupError(
      `The database holds ${what}, and there is no terminal to ask on; add --yes if all of it may go.`,
    );
  }
  const terminal = createInterface({ input: process.stdin, output: process.stdout });
  try {
    const answer = await terminal.question(`All of this goes for good: ${what}. Type "replace" to go on: `);
    return answer.trim().toLowerCase() === 'replace';
  } finally {
    terminal.close();
  }
}

async function run(): Promise<void> {
  const { file, replace = false, yes = false } = given(process.argv.slice(2));
  const say = (line: string) => process.stdout.write(`${line}\n`);
  const backup = await openBackup(file);
  try {
    say(`${file} is whole: ${inWords(backup.manifest)}.`);
    await asOwner(readConfig(process.env), async (client, url) => {
      await restoreBackup(client, backup, {
        migrations: await readMigrations(),
        say,
        mayReplace: async (what) => {
          if (!replace) {
            throw new StartupError(
              `The database holds ${what}; restore into an empty one, or add --replace to put the backup in its place.`,
            );
          }
          return yes || askOnTerminal(what);
        },
      });
      await refreshStatistics(url);
    });
    say(`Restored by version ${version}. Start the program; people sign in as before.`);
  } finally {
    await backup.close();
  }
}

endCommand(run(), 'The backup could not be restored; the database is as it was');
