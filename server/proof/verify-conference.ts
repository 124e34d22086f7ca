import type { KeyObject } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import type pg from 'pg';
import { type AuditHead, verifyAudit } from '../accounts/audit/audit-verification.ts';
import type { Queryable } from '../database/transaction.ts';
import { type Note, readNotes } from './notes.ts';
import { compareReports } from './reports-as-noted.ts';

/** Notes kept elsewhere, of all conferences, and what is wrong with them by themselves. */
export interface KeptNotes {
  readonly notes: readonly Note[];
  readonly faults: readonly string[];
}

/** @throws the file system's error when the file cannot be read */
export async function notesIn(file: string, key: KeyObject): Promise<KeptNotes> {
  return readNotes(await readFile(file, 'utf8'), key);
}

interface Proof {
  readonly entries: number;
  readonly head: AuditHead | null;
  readonly reports: number;
  readonly marks: number;
  readonly unsealed: number;
  /** How many notes of this conference the trail was held against, and the latest one's time. */
  readonly notes: number;
  readonly lastNote: string | null;
  readonly faults: readonly string[];
}

/** Holds a conference's trail against itself, against notes kept elsewhere, and reports and marks against the trail. */
export async function verifyConference(
  client: pg.Client | pg.PoolClient,
  conference: { readonly id: string; readonly slug: string },
  { heads = [], kept }: { heads?: readonly AuditHead[]; kept?: KeptNotes | undefined } = {},
): Promise<Proof> {
  const notes = (kept?.notes ?? []).filter((note) => note.conference === conference.slug);
  const noted = notes.filter(({ number }) => number > 0).map(({ number, hash }) => ({ number, hash }));
  const chain = await verifyAudit(client, conference.id, [...heads, ...noted]);
  const compared = await compareReports(client, conference.id);
  const missing = kept ? await notesTakenOut(client, conference.id, notes) : [];
  return {
    entries: chain.entries,
    head: chain.head,
    reports: compared.reports,
    marks: compared.marks,
    unsealed: compared.unsealed.length,
    notes: notes.length,
    lastNote: notes.at(-1)?.at ?? null,
    faults: [...chain.faults, ...missing, ...compared.faults],
  };
}

/** A cut end of the notes' file shows by what the database says was written to it. */
async function notesTakenOut(db: Queryable, conferenceId: string, notes: readonly Note[]): Promise<string[]> {
  const { rows } = await db.query<{ day: string; hash: string }>(
    `SELECT day::text, hash FROM audit_note
      WHERE conference_id = $1 AND written_at IS NOT NULL ORDER BY day`,
    [conferenceId],
  );
  return rows
    .filter(({ day, hash }) => !notes.some((note) => note.hash === hash && note.at.startsWith(day)))
    .map(({ day }) => `the note of ${day} was written and is not among the notes`);
}
