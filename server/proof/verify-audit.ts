import { parseArgs } from 'node:util';
import pg from 'pg';
import { type AuditHead, conferences } from '../accounts/audit/audit-verification.ts';
import { type Config, readConfig } from '../config.ts';
import { startEmbeddedPostgres } from '../database/embedded.ts';
import { StartupError } from '../database/startup-error.ts';
import { readKey } from './notes.ts';
import { type KeptNotes, notesIn, verifyConference } from './verify-conference.ts';

// npm run audit:verify [-- --head CONFERENCE:NUMBER:HASH ...] [--notes FILE] [--key FILE]
// Exit code 0: every conference's trail holds, and reports and marks are what it says. 1: something was tampered with,
// and is named. 2: could not look.

const usage =
  'Write a noted head as --head CONFERENCE:NUMBER:HASH, as this program printed it; --notes FILE with --key FILE (the public key will do).';

interface Given {
  readonly heads: Map<string, AuditHead[]>;
  readonly notes: string | undefined;
  readonly key: string | undefined;
}

function given(args: string[]): Given {
  let values: { head?: string[]; notes?: string; key?: string };
  try {
    ({ values } = parseArgs({
      args,
      options: {
        head: { type: 'string', multiple: true },
        notes: { type: 'string' },
        key: { type: 'string' },
      },
    }));
  } catch {
    throw new StartupError(usage);
  }
  const heads = new Map<string, AuditHead[]>();
  for (const text of values.head ?? []) {
    const match = /^([a-z0-9-]+):(\d+):([0-9a-f]{64})$/.exec(text);
    if (!match) throw new StartupError(`"${text}" is no noted head. ${usage}`);
    const slug = match[1]!;
    heads.set(slug, [...(heads.get(slug) ?? []), { number: Number(match[2]), hash: match[3]! }]);
  }
  return { heads, notes: values.notes, key: values.key };
}

async function keptNotes({ notes, key }: Given, config: Config): Promise<KeptNotes | undefined> {
  const file = notes ?? config.AUDIT_NOTES_FILE;
  if (file === undefined) return undefined;
  const keyFile = key ?? config.AUDIT_KEY_FILE;
  if (keyFile === undefined) throw new StartupError(`Notes are signed: give the key too. ${usage}`);
  const read = await readKey(keyFile);
  return notesIn(file, read).catch((error: NodeJS.ErrnoException) => {
    throw new StartupError(`The notes ${file} cannot be read (${error.code}).`);
  });
}

async function verifyAll(url: string, { heads }: Given, kept: KeptNotes | undefined): Promise<boolean> {
  const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 10_000 });
  client.on('error', () => {});
  try {
    await client.connect();
  } catch (error) {
    throw new StartupError(
      `The database cannot be reached (${(error as Error).message}); check DATABASE_URL.`,
    );
  }
  const say = (line: string) => process.stdout.write(`${line}\n`);
  try {
    let sound = true;
    const all = await conferences(client);
    for (const fault of kept?.faults ?? []) {
      say(fault);
      sound = false;
    }
    for (const conference of all) {
      const { slug } = conference;
      const proof = await verifyConference(client, conference, { heads: heads.get(slug) ?? [], kept });
      heads.delete(slug);
      for (const fault of proof.faults) say(`${slug}: ${fault}`);
      if (proof.faults.length > 0) {
        sound = false;
      } else if (proof.head === null) {
        say(`${slug}: no entries yet.`);
      } else {
        say(
          `${slug}: ${proof.entries} entries hold; ${proof.reports} reports and ${proof.marks} marks are what they say. Note elsewhere: --head ${slug}:${proof.head.number}:${proof.head.hash}`,
        );
      }
      if (proof.unsealed > 0) {
        say(
          `${slug}: ${proof.unsealed} reports were filed before marks were noted; the program notes them at its next start.`,
        );
      }
    }
    const gone = [...heads.keys(), ...(kept?.notes ?? []).map((note) => note.conference)];
    for (const slug of new Set(gone)) {
      if (all.some((conference) => conference.slug === slug)) continue;
      say(`${slug}: there is no such conference, though a head of it was noted.`);
      sound = false;
    }
    if (all.length === 0) say('There is no conference yet.');
    if (!kept) {
      say(
        'Without a head noted earlier, removal of the newest entries and a rewriting of all hashes cannot be seen.',
      );
    }
    return sound;
  } finally {
    await client.end();
  }
}

async function run(): Promise<number> {
  const asked = given(process.argv.slice(2));
  const config = readConfig(process.env);
  const kept = await keptNotes(asked, config);
  if (config.DATABASE_URL) return (await verifyAll(config.DATABASE_URL, asked, kept)) ? 0 : 1;
  const embedded = await startEmbeddedPostgres(config.DATA_DIR, () => {});
  try {
    return (await verifyAll(embedded.url, asked, kept)) ? 0 : 1;
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
