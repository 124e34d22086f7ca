import type { Queryable } from '../database/transaction.ts';

/** A name as PostgreSQL reads it whatever it is made of. */
export const quoted = (name: string) => `"${name.replaceAll('"', '""')}"`;

export interface Table {
  readonly name: string;
  /** Without those that PostgreSQL computes from others. */
  readonly columns: string[];
}

/** The tables of the program in the order of their names, without the list of migrations, which a restore makes anew. */
export async function tablesOf(db: Queryable): Promise<Table[]> {
  const { rows } = await db.query<Table>(`
    SELECT c.relname AS name, array_agg(a.attname::text ORDER BY a.attnum) AS columns
      FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid
     WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND c.relname <> '_prisma_migrations'
       AND a.attnum > 0 AND NOT a.attisdropped AND a.attgenerated = ''
       AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = c.oid AND d.deptype = 'e')
     GROUP BY c.relname ORDER BY c.relname`);
  return rows;
}

/** Names of all sequences, those of identity columns too. */
export async function sequencesOf(db: Queryable): Promise<string[]> {
  const { rows } = await db.query<{ name: string }>(`
    SELECT relname AS name FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'S' ORDER BY relname`);
  return rows.map(({ name }) => name);
}

/** Settings by which a text of COPY means the same to every server, for the transaction. */
export const plainTextForms = `
  SET LOCAL client_encoding = 'UTF8'; SET LOCAL datestyle = 'ISO, YMD'; SET LOCAL intervalstyle = 'iso_8601';
  SET LOCAL timezone = 'UTC'; SET LOCAL extra_float_digits = 1; SET LOCAL bytea_output = 'hex';
  SET LOCAL statement_timeout = 0; SET LOCAL idle_in_transaction_session_timeout = 0`;
