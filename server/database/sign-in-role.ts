import { createHmac } from 'node:crypto';
import pg from 'pg';
import { roleInMigrations, type SignIn, scramSecret } from './application-role.ts';
import { missingRight } from './missing-right.ts';
import { StartupError } from './startup-error.ts';

const noRight = '42501';
const madeMeanwhile = new Set(['42710', '23505']);
const codeOf = (error: unknown) => (error as { code?: string }).code ?? '';

/** Makes the role that the application signs in as, when there is none yet. Called before the first migration names it. */
export async function ensureApplicationRole(owner: pg.Client, role: string): Promise<void> {
  const { rowCount } = await owner.query('SELECT FROM pg_roles WHERE rolname = $1', [role]);
  if (rowCount) return;
  try {
    await owner.query(`CREATE ROLE ${role} LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION`);
  } catch (error) {
    if (madeMeanwhile.has(codeOf(error))) return;
    if (codeOf(error) !== noRight) throw error;
    const user = await quotedUser(owner);
    throw missingRight(
      `The database user ${user} may not make the role that the application works as`,
      `ALTER ROLE ${user} CREATEROLE`,
    );
  }
}

/** Lets the application's role enter the database and its schema, where that is not everybody's right. */
export async function letIn(owner: pg.Client, role: string): Promise<void> {
  const { rows } = await owner.query<{ connects: boolean; enters: boolean; database: string }>(
    `SELECT has_database_privilege($1, current_database(), 'CONNECT')
              AND has_database_privilege($1, current_database(), 'TEMPORARY') AS connects,
            has_schema_privilege($1, 'public', 'USAGE') AS enters,
            quote_ident(current_database()) AS database`,
    [role],
  );
  const { connects, enters, database } = rows[0]!;
  if (!connects) {
    await orTell(owner, `GRANT CONNECT, TEMPORARY ON DATABASE ${database} TO ${role}`, role, async () => {
      const after = await owner.query(
        `SELECT has_database_privilege($1, current_database(), 'CONNECT')
            AND has_database_privilege($1, current_database(), 'TEMPORARY') AS held`,
        [role],
      );
      return after.rows[0].held;
    });
  }
  if (!enters) {
    await orTell(owner, `GRANT USAGE ON SCHEMA public TO ${role}`, role, async () => {
      const after = await owner.query("SELECT has_schema_privilege($1, 'public', 'USAGE') AS held", [role]);
      return after.rows[0].held;
    });
  }
}

/**
 * PostgreSQL refuses one of two processes that change the same role or the rights on the same database at once ("tuple
 * concurrently updated", no SQLSTATE of its own); the other's change is made by then, and ours is the same.
 */
async function changed(owner: pg.Client, statement: string): Promise<void> {
  for (let tries = 1; ; tries += 1) {
    try {
      await owner.query(statement);
      return;
    } catch (error) {
      if (codeOf(error) !== 'XX000' || tries === 20) throw error;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }
}

/** Grants, or says what an administrator has to grant: without the right to, GRANT warns only. */
async function orTell(
  owner: pg.Client,
  statement: string,
  role: string,
  held: () => Promise<boolean>,
): Promise<void> {
  await changed(owner, statement).catch((error) => {
    if (codeOf(error) !== noRight) throw error;
  });
  if (!(await held()))
    throw missingRight(`The application's role ${role} may not enter the database`, statement);
}

/**
 * Gives the application's role what another one has in a database that was migrated for that: by an earlier version,
 * or under another owner. Done before further migrations, which grant and revoke by the new name.
 */
export async function takeOverRights(owner: pg.Client, role: string): Promise<void> {
  const { rows } = await owner.query(
    "SELECT has_table_privilege($1, to_regclass('public.conference')::oid, 'SELECT') AS held",
    [role],
  );
  if (rows[0].held !== false) return; // null: there is no table yet
  const { rows: from } = await owner.query<{ oid: number }>(
    `SELECT DISTINCT a.grantee AS oid
       FROM pg_class c, aclexplode(c.relacl) a JOIN pg_roles r ON r.oid = a.grantee
      WHERE c.oid = 'public.conference'::regclass AND a.privilege_type = 'SELECT'
        AND (r.rolname = $1 OR r.rolname LIKE $1 || '\\_of\\_%')`,
    [roleInMigrations],
  );
  if (from[0] === undefined) return;
  const { rows: grants } = await owner.query<{ sql: string }>(
    `SELECT format('GRANT %s ON %s %s TO %I', string_agg(DISTINCT a.privilege_type, ', '),
                   CASE c.relkind WHEN 'S' THEN 'SEQUENCE' ELSE 'TABLE' END, c.oid::regclass, $2::text) AS sql
       FROM pg_class c, aclexplode(c.relacl) a
      WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'm', 'S') AND a.grantee = $1
      GROUP BY c.oid, c.relkind`,
    [from[0].oid, role],
  );
  await owner.query('BEGIN');
  for (const { sql } of grants) await owner.query(sql);
  await owner.query(`GRANT USAGE ON SCHEMA public TO ${role}`);
  await owner.query(
    `ALTER DEFAULT PRIVILEGES IN SCHEMA public GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO ${role}`,
  );
  await owner.query('COMMIT');
}

/** What the first sign-in as the application found. */
export type Reached = {
  /** Something between here and the server hands out its connections anew: nothing may be kept on one. */
  pooled: boolean;
};

/**
 * Signs in as the application, after setting its password if need be.
 * @throws StartupError in one sentence that says what to do.
 */
export async function tryApplicationSignIn(owner: pg.Client, signIn: SignIn): Promise<Reached> {
  const first = await attempt(signIn);
  if (!(first instanceof Error)) return first;
  if (!/^(28|08P01)/.test(codeOf(first)) && !/password/i.test(first.message)) throw cannot(signIn, first);
  try {
    const password =
      typeof signIn.password === 'string'
        ? `'${scramSecret(signIn.password, saltOf(signIn.user, signIn.password))}'`
        : 'NULL';
    await changed(owner, `ALTER ROLE ${signIn.user} LOGIN PASSWORD ${password}`);
  } catch (error) {
    if (codeOf(error) !== noRight) throw error;
    const user = await quotedUser(owner);
    throw missingRight(
      `The database user ${user} may not set the password of the application's role ${signIn.user}`,
      `ALTER ROLE ${user} CREATEROLE; GRANT ${signIn.user} TO ${user} WITH ADMIN OPTION`,
    );
  }
  const second = await attempt(signIn);
  if (second instanceof Error) throw cannot(signIn, second);
  return second;
}

/**
 * The same for every process: of two that set the password at once the later would otherwise make another secret of it,
 * and a pooler goes on signing in by the one that it read. The password is 256 bits of its own, so no salt need hide it.
 */
const saltOf = (role: string, password: string) =>
  createHmac('sha256', password).update(`salt of ${role}`).digest().subarray(0, 16);

async function attempt(signIn: SignIn): Promise<Reached | Error> {
  const client = new pg.Client({ ...signIn, connectionTimeoutMillis: 10_000 });
  client.on('error', () => {});
  try {
    await client.connect();
    const { rows } = await client.query('SELECT pg_backend_pid() AS pid');
    // A pooler makes up the process number that it tells its clients.
    const told = (client as pg.Client & { processID?: number | null }).processID;
    return { pooled: told !== rows[0].pid };
  } catch (error) {
    return error as Error;
  } finally {
    await client.end().catch(() => {});
  }
}

function cannot(signIn: SignIn, error: Error): StartupError {
  const advice =
    typeof signIn.password === 'string'
      ? 'let pg_hba.conf, and a pooler such as PgBouncer by its auth_query, accept this role by password as they accept the owner, or let DATABASE_URL name the server itself'
      : 'put the password of the owner into DATABASE_URL: the one of this role is derived from it';
  return new StartupError(
    `The application's own role ${signIn.user} cannot sign in to the database (${error.message}); ${advice}.`,
  );
}

async function quotedUser(client: pg.Client): Promise<string> {
  return (await client.query('SELECT quote_ident(current_user) AS user')).rows[0].user;
}
