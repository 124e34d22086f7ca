import type pg from 'pg';
import { StartupError } from './startup-error.ts';

/** A right that the database user lacks, and the statement by which an administrator grants it. */
export const missingRight = (what: string, statement: string) =>
  new StartupError(`${what}; let an administrator of the server run in this database: ${statement};`);

type Facts = {
  user: string;
  database: string;
  superuser: boolean;
  schema: string | null;
  public_exists: boolean;
  may_create: boolean | null;
};

/**
 * Looks whether the user may make and change tables here, before anything is done.
 * @throws StartupError that names the first right that is missing, with the statement that grants it.
 */
export async function checkOwnersRights(client: pg.Client): Promise<void> {
  const { rows } = await client.query<Facts>(`
    SELECT quote_ident(current_user) AS user, quote_ident(current_database()) AS database,
           (SELECT rolsuper FROM pg_roles WHERE rolname = current_user) AS superuser,
           current_schema() AS schema, to_regnamespace('public') IS NOT NULL AS public_exists,
           has_schema_privilege(to_regnamespace('public')::oid, 'CREATE') AS may_create`);
  const facts = rows[0]!;
  const { user, database } = facts;
  if (!facts.public_exists) {
    throw missingRight(
      `The database ${database} has no schema "public"`,
      `CREATE SCHEMA public AUTHORIZATION ${user}`,
    );
  }
  if (!facts.may_create) {
    throw missingRight(
      `The database user ${user} may not make tables in the database ${database}`,
      `ALTER DATABASE ${database} OWNER TO ${user}; GRANT ALL ON SCHEMA public TO ${user}`,
    );
  }
  if (facts.schema !== 'public') {
    throw missingRight(
      `Tables of the database user ${user} would go into the schema "${facts.schema}", not "public"`,
      `ALTER ROLE ${user} IN DATABASE ${database} SET search_path = public`,
    );
  }
  const others = await client.query<{ owner: string; first: boolean; name: string }>(`
    SELECT quote_ident(o.rolname) AS owner, o.oid = 10 AS first, c.relname AS name
      FROM pg_class c JOIN pg_roles o ON o.oid = c.relowner
     WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p', 'S', 'v', 'm')
       AND to_regclass('public._prisma_migrations') IS NOT NULL
       AND NOT pg_has_role(current_user, c.relowner, 'USAGE')
       AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = c.oid AND d.deptype = 'e')
     ORDER BY c.relname LIMIT 1`);
  const other = others.rows[0];
  if (!other) return;
  throw missingRight(
    `The table "${other.name}" of the database ${database} belongs to ${other.owner}, not to the database user ${user}`,
    other.first
      ? `DO $$ DECLARE t regclass; f regprocedure; BEGIN FOR t IN SELECT oid FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'v', 'm') LOOP EXECUTE format('ALTER TABLE %s OWNER TO ${user}', t); END LOOP; FOR f IN SELECT oid FROM pg_proc WHERE pronamespace = 'public'::regnamespace LOOP EXECUTE format('ALTER ROUTINE %s OWNER TO ${user}', f); END LOOP; END $$`
      : `REASSIGN OWNED BY ${other.owner} TO ${user}`,
  );
}
