import path from 'node:path';
import { parseArgs } from 'node:util';
import { readConfig } from '../config.ts';
import { readMigrations } from '../database/migrations.ts';
import { StartupError } from '../database/startup-error.ts';
import { version } from '../version.ts';
import { filmsBeside } from './films-beside.ts';
import { inWords } from './manifest.ts';
import { asOwner, endCommand } from './owner-connection.ts';
import { openBackup, refuseOtherMigrations } from './read-backup.ts';
import { writeBackup } from './write-backup.ts';

// npm run backup -- FILE [--overwrite]    writes a backup, while the program runs or not
// npm run backup -- --check FILE          reads one, and says what is in it

const usage = 'Say where to: npm run backup -- FILE [--overwrite], or npm run backup -- --check FILE.';

function given(args: string[]) {
  try {
    const { values, positionals } = parseArgs({
      args,
      allowPositionals: true,
      options: { check: { type: 'boolean' }, overwrite: { type: 'boolean' } },
    });
    if (positionals.length === 1 && !(values.check && values.overwrite)) {
      return { ...values, file: path.resolve(positionals[0]!) };
    }
  } catch {
    // said below
  }
  throw new StartupError(usage);
}

async function run(): Promise<void> {
  const { file, check, overwrite = false } = given(process.argv.slice(2));
  const say = (line: string) => process.stdout.write(`${line}\n`);
  if (check) {
    const backup = await openBackup(file);
    await backup.close();
    refuseOtherMigrations(backup.manifest, await readMigrations());
    say(`${file} is whole: ${inWords(backup.manifest)}.`);
    return;
  }
  const stop = new AbortController();
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.once(signal, () => stop.abort());
  const config = readConfig(process.env);
  await asOwner(config, async (client) => {
    const manifest = await writeBackup(client, file, { version, overwrite, signal: stop.signal });
    say(`Written to ${file}: ${inWords(manifest)}.`);
    say('It holds everything that the database holds: keep it where nobody else can read it.');
    const films = await filmsBeside(client, config);
    if (films) say(films);
  });
}

endCommand(run(), 'The backup could not be written');
