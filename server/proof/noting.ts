import type { KeyObject } from 'node:crypto';
import { open, readFile } from 'node:fs/promises';
import type pg from 'pg';
import { conferences } from '../accounts/audit/audit-verification.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import type { Mailer } from '../mail/mailer.ts';
import { noteLine } from './notes.ts';
import { noteUnsealed } from './reports-as-noted.ts';

interface Places {
  readonly key: KeyObject;
  /** Appended to. */
  readonly file?: string | undefined;
  readonly mail?: { readonly mailer: Mailer; readonly address: string } | undefined;
}

/**
 * Notes the newest entry of each conference's trail, once a day (by UTC), in every configured place. A place that could
 * not be reached gets its line at a later call.
 * @throws what a place or the database said, after all others were done
 */
export async function noteHeads(pool: pg.Pool, places: Places, now = new Date()): Promise<void> {
  const failed: unknown[] = [];
  for (const { id, slug } of await conferences(pool)) {
    await noteOne(pool, places, { id, slug }, now).catch((error) => failed.push(error));
    if (places.mail) await mailWaiting(pool, places.mail, { id, slug }).catch((error) => failed.push(error));
  }
  if (failed.length > 0) throw failed[0];
}

interface Noting {
  readonly id: string;
  readonly slug: string;
}

async function noteOne(pool: pg.Pool, { key, file }: Places, { id, slug }: Noting, now: Date) {
  const day = now.toISOString().slice(0, 10);
  await inTransaction(pool, async (client) => {
    // One line after the other, whichever process writes it.
    await client.query('SELECT pg_advisory_xact_lock($1)', [7_203_116]);
    const { rowCount } = await client.query('SELECT FROM audit_note WHERE conference_id = $1 AND day = $2', [
      id,
      day,
    ]);
    if (rowCount) return;
    await noteUnsealed(client, id);
    const head = await headOf(client, id);
    const before = file === undefined ? undefined : await lastLine(file);
    const line = noteLine(key, { conference: slug, ...head }, now, before);
    await client.query(
      `INSERT INTO audit_note (conference_id, day, number, hash, line, written_at) VALUES ($1, $2, $3, $4, $5, $6)`,
      [id, day, head.number, head.hash, line, file === undefined ? null : now],
    );
    if (file !== undefined) await append(file, line);
  });
}

async function headOf(client: Queryable, conferenceId: string) {
  const { rows } = await client.query<{ number: number; hash: string }>(
    `SELECT last_number::int AS number, last_hash AS hash FROM lock_audit_trail($1)`,
    [conferenceId],
  );
  return { number: rows[0]?.number ?? 0, hash: rows[0]?.hash ?? '' };
}

async function append(file: string, line: string): Promise<void> {
  const handle = await open(file, 'a', 0o640);
  try {
    await handle.write(`${line}\n`);
    await handle.sync();
  } finally {
    await handle.close();
  }
}

async function lastLine(file: string): Promise<string | undefined> {
  const text = await readFile(file, 'utf8').catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return '';
    throw error;
  });
  return text
    .split('\n')
    .filter((line) => line.trim() !== '')
    .at(-1);
}

async function mailWaiting(
  pool: pg.Pool,
  { mailer, address }: NonNullable<Places['mail']>,
  { id, slug }: Noting,
) {
  const { rows } = await pool.query<{ day: string; line: string }>(
    `SELECT day::text, line FROM audit_note WHERE conference_id = $1 AND mailed_at IS NULL ORDER BY day`,
    [id],
  );
  for (const { day, line } of rows) {
    await mailer.send({
      to: { name: 'Audit notes', address },
      subject: `Audit trail of ${slug}, ${day}`,
      text: `Keep this line where nobody who looks after the database can change it. With others like it in a file it\nproves later that nothing up to it was changed or removed: npm run audit:verify -- --notes FILE\n\n${line}\n`,
      headers: { 'Auto-Submitted': 'auto-generated' },
    });
    await pool.query('UPDATE audit_note SET mailed_at = now() WHERE conference_id = $1 AND day = $2', [
      id,
      day,
    ]);
  }
}
