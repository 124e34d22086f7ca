import { createHash, createPrivateKey, createPublicKey, type KeyObject, sign, verify } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { z } from 'zod';
import { canonicalJson } from '../accounts/audit/canonical-json.ts';
import { StartupError } from '../database/startup-error.ts';

/**
 * One noted head: the newest entry of a conference's trail on a day, signed (Ed25519, RFC 8032) by a key that the
 * database's owner does not have, and following the note before it.
 */
const noteSchema = z.strictObject({
  note: z.literal('crewmark audit trail'),
  conference: z.string(),
  number: z.number().int().min(0),
  hash: z.string().regex(/^([0-9a-f]{64})?$/),
  at: z.iso.datetime(),
  /** SHA-256 of the line before it in the file; empty in the first. */
  previous: z.string(),
  signature: z.base64(),
});
export type Note = z.infer<typeof noteSchema>;

const covered = ({ signature: _, ...rest }: Note) => Buffer.from(canonicalJson(rest));
const lineDigest = (line: string) => createHash('sha256').update(line).digest('hex');

/** @throws StartupError when the file holds no Ed25519 key. */
export async function readKey(file: string): Promise<KeyObject> {
  const text = await readFile(file, 'utf8').catch((error: NodeJS.ErrnoException) => {
    throw new StartupError(`The key ${file} cannot be read (${error.code}).`);
  });
  try {
    const key = text.includes('PRIVATE KEY') ? createPrivateKey(text) : createPublicKey(text);
    if (key.asymmetricKeyType === 'ed25519') return key;
  } catch {
    // said below
  }
  throw new StartupError(
    `${file} holds no Ed25519 key; make one with: openssl genpkey -algorithm ed25519 -out ${file}`,
  );
}

/** One line for a file or a mail. `before` is the file's last line, if there is one. */
export function noteLine(
  key: KeyObject,
  head: { conference: string; number: number; hash: string },
  at: Date,
  before: string | undefined,
): string {
  const note: Note = {
    note: 'crewmark audit trail',
    ...head,
    at: at.toISOString(),
    previous: before === undefined ? '' : lineDigest(before),
    signature: '',
  };
  return canonicalJson({ ...note, signature: sign(null, covered(note), key).toString('base64') });
}

/** Notes as they were kept, and what is wrong with them, line by line. Notes whose signature fails are left out. */
export function readNotes(text: string, key: KeyObject): { notes: Note[]; faults: string[] } {
  const publicKey = key.type === 'private' ? createPublicKey(key) : key;
  const notes: Note[] = [];
  const faults: string[] = [];
  let before: string | undefined;
  for (const [at, line] of text.split('\n').entries()) {
    if (line.trim() === '') continue;
    const parsed = noteSchema.safeParse(jsonOf(line));
    if (
      !parsed.success ||
      !verify(null, covered(parsed.data), publicKey, Buffer.from(parsed.data.signature, 'base64'))
    ) {
      faults.push(`note ${at + 1} was changed, or was signed by another key`);
    } else {
      if (before !== undefined && parsed.data.previous !== lineDigest(before)) {
        faults.push(`note ${at + 1} does not follow the one before it: a note was changed or taken out`);
      }
      if (before === undefined && parsed.data.previous !== '') {
        faults.push(`note ${at + 1} is not the first that was written: earlier ones were taken out`);
      }
      notes.push(parsed.data);
    }
    before = line;
  }
  return { notes, faults };
}

function jsonOf(line: string): unknown {
  try {
    return JSON.parse(line);
  } catch {
    return undefined;
  }
}
