import type { Queryable } from '../../server/database/transaction.ts';

/**
 * Each table of a database with its rows' number and the digest of all rows as PostgreSQL writes them out, by the
 * server's own hash: rows that differ in anything make another one. `without` leaves out one conference's rows.
 */
export async function everyRow(db: Queryable, without: string | null = null) {
  const { rows: tables } = await db.query<{ name: string; column: string | null }>(
    `SELECT c.relname AS name, min(a.attname) FILTER (WHERE a.attname = 'conference_id') AS column
       FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid
      WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND c.relname <> '_prisma_migrations'
      GROUP BY c.relname ORDER BY c.relname`,
  );
  const found: Record<string, { rows: number; digest: string | null }> = {};
  for (const { name, column } of tables) {
    const whose = column ?? (name === 'conference' ? 'id' : null);
    const { rows } = await db.query(
      `SELECT count(*)::int AS rows, md5(string_agg(digest, '' ORDER BY digest)) AS digest
         FROM (SELECT md5(t::text) AS digest FROM ${name} t
                WHERE $1::text IS NULL OR ${whose === null ? 'true' : `${whose}::text <> $1`}) AS hashed`,
      [without],
    );
    found[name] = rows[0];
  }
  return found;
}
