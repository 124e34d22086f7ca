// @module-tag rest
import { createHmac, randomUUID } from 'node:crypto';
import pg from 'pg';
import supertest from 'supertest';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import {
  applicationRoleOf,
  applicationSignIn,
  ownerSignIn,
  scramSecret,
} from '../../server/database/application-role.ts';
import { type Database, openDatabase } from '../../server/database/database.ts';
import { readMigrations } from '../../server/database/migrations.ts';
import { StartupError } from '../../server/database/startup-error.ts';
import { startDebianPostgres, startPgBouncer } from '../support/debian-postgres.ts';
import { makeConference } from '../support/people.ts';
import { personSignedIn } from '../support/signed-in.ts';
import { testApp } from '../support/test-app.ts';

// A PostgreSQL of one's own, given as docs/running.md says: an owner with CREATEROLE, who is no superuser.

let debian: Awaited<ReturnType<typeof startDebianPostgres>>;
beforeAll(async () => {
  debian = await startDebianPostgres();
});
afterAll(() => debian.stop());

const servers = [
  ['the embedded server', () => inject('postgresUrl')],
  ["Debian's server", () => debian.url],
] as const;

async function sql(url: string, ...statements: string[]): Promise<pg.QueryResult> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    let result: pg.QueryResult | undefined;
    for (const statement of statements) result = await client.query(statement);
    return result!;
  } finally {
    await client.end();
  }
}

const at = (url: string, change: { database?: string; user?: string; password?: string }) => {
  const changed = new URL(url);
  if (change.database) changed.pathname = `/${change.database}`;
  if (change.user) changed.username = change.user;
  if (change.password) changed.password = change.password;
  return changed.href;
};

const made: Array<{ admin: string; name: string }> = [];
afterAll(async () => {
  // Databases first: a role may have rights in more than its own.
  for (const { admin, name } of made) await sql(admin, `DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
  for (const { admin, name } of made)
    await sql(admin, `DROP ROLE IF EXISTS ${applicationRoleOf(name)}, ${name}`);
});

/** The guide's two statements, run by an administrator. */
async function ownDatabase(admin: string, rights = 'LOGIN CREATEROLE', owned = true) {
  const name = `crew_${randomUUID().slice(0, 8)}`;
  await sql(admin, `CREATE ROLE ${name} ${rights} PASSWORD 'a secret of the owner'`);
  await sql(admin, owned ? `CREATE DATABASE ${name} OWNER ${name}` : `CREATE DATABASE ${name}`);
  made.push({ admin, name });
  return {
    name,
    url: at(admin, { database: name, user: name, password: 'a secret of the owner' }),
    asAdmin: at(admin, { database: name }),
  };
}

async function using(url: string, use: (database: Database) => Promise<unknown>): Promise<void> {
  const database = await openDatabase(url);
  try {
    await use(database);
  } finally {
    await database.close();
  }
}

/** Everything that a request may do to a database: read, write, sign in, COPY into a temporary table, refuse. */
async function works(database: Database, pagesAtOnce = 3): Promise<void> {
  const app = await testApp(database);
  try {
    expect((await supertest(app.server).get('/ready')).body).toEqual({ status: 'ready' });
    const conferenceId = await makeConference(database.pool);
    const { agent } = await personSignedIn(app, conferenceId, ['coordinator']);
    const file = 'name,latitude,longitude,time zone\nOak Park,41.88,-87.78,America/Chicago\n';
    const answer = await agent.post('/api/imports/venues').set('content-type', 'text/csv').send(file);
    expect([answer.status, answer.body.added]).toEqual([200, 1]);
    const pages = await Promise.all(Array.from({ length: pagesAtOnce }, () => agent.get('/import')));
    expect(new Set(pages.map((page) => page.status))).toEqual(new Set([200]));
    await expect(database.pool.query('DELETE FROM audit_entry')).rejects.toThrow(/permission denied/);
  } finally {
    await app.close();
  }
}

/** What of that the application's role needs rights for: where a first test has shown the rest. */
async function worksAsRole({ pool }: Database): Promise<void> {
  await makeConference(pool);
  expect((await pool.query('SELECT FROM conference')).rowCount).toBeGreaterThan(0);
  await pool.query('CREATE TEMPORARY TABLE brought (line int)');
  await expect(pool.query('DELETE FROM audit_entry')).rejects.toThrow(/permission denied/);
}

/** Refused for one missing right; what the sentence says to run is run, as an administrator. */
async function refusedThenGranted(own: { url: string; asAdmin: string }, sentence: RegExp): Promise<void> {
  const refusal = await openDatabase(own.url).catch((error) => error);
  expect(refusal).toBeInstanceOf(StartupError);
  expect(refusal.message).toMatch(sentence);
  const statement = /run in this database: (.*);$/s.exec(refusal.message)?.[1];
  await sql(own.asAdmin, statement!);
}

describe.each(servers)('on %s', (_, admin) => {
  test('an owner with CREATEROLE is enough, and the program signs in as a role of its own', async () => {
    const own = await ownDatabase(admin());
    await using(own.url, async (database) => {
      await works(database, 30); // more than the pool has connections
      const role = applicationRoleOf(own.name);
      const asked = 'SELECT current_user AS works_as, session_user AS signed_in_as';
      const client = await database.pool.connect();
      await client.query('RESET ROLE');
      expect((await client.query(asked)).rows).toEqual([{ works_as: role, signed_in_as: role }]);
      await expect(client.query(`SET ROLE ${own.name}`)).rejects.toThrow(/permission denied/);
      client.release();
    });
    // Started again, with no more right than to own what is there.
    await sql(admin(), `ALTER ROLE ${own.name} NOCREATEROLE`);
    await using(own.url, works);
  });

  test('two databases of two owners in one cluster both work, and neither reads the other', async () => {
    const [one, two] = [await ownDatabase(admin()), await ownDatabase(admin())];
    await using(one.url, worksAsRole);
    await using(two.url, worksAsRole);
    const stranger = new pg.Client({ ...applicationSignIn(ownerSignIn(one.url)), database: two.name });
    await stranger.connect();
    await expect(stranger.query('SELECT FROM conference')).rejects.toThrow(/permission denied/);
    await stranger.end();
  });

  test('each missing right is told with the statement that grants it', async () => {
    // One after the other, so that each statement is seen to be enough for what the next refusal is not about.
    const own = await ownDatabase(admin(), 'LOGIN');
    await refusedThenGranted(own, /may not make the role .* ALTER ROLE \S+ CREATEROLE;$/);

    await sql(own.asAdmin, `ALTER DATABASE ${own.name} OWNER TO postgres`);
    await refusedThenGranted(own, /may not make tables in the database .* ALTER DATABASE /);

    await sql(own.asAdmin, 'DROP SCHEMA public');
    await refusedThenGranted(own, /has no schema "public".* CREATE SCHEMA public AUTHORIZATION /);

    await sql(own.url, 'CREATE SCHEMA other');
    await sql(own.asAdmin, `ALTER ROLE ${own.name} SET search_path = other, public`);
    await refusedThenGranted(own, /would go into the schema "other".* SET search_path = public;$/);
    await using(own.url, worksAsRole);

    await sql(
      own.asAdmin,
      'ALTER SCHEMA public OWNER TO postgres',
      `GRANT ALL ON SCHEMA public TO ${own.name}`,
      'REVOKE USAGE ON SCHEMA public FROM PUBLIC',
      `REVOKE USAGE ON SCHEMA public FROM ${applicationRoleOf(own.name)}`,
    );
    await refusedThenGranted(own, /may not enter .* GRANT USAGE ON SCHEMA public TO /);
    await using(own.url, worksAsRole);
  });

  test('tables of another owner are told, and once handed over they are worked with', async () => {
    const [first, second] = [await ownDatabase(admin()), await ownDatabase(admin())];
    await using(first.url, worksAsRole);
    const url = at(second.url, { database: first.name });
    const moved = { url, asAdmin: first.asAdmin };
    await sql(first.asAdmin, `GRANT ALL ON SCHEMA public TO ${second.name}`);
    await refusedThenGranted(moved, /belongs to \S+, not to .* REASSIGN OWNED BY \S+ TO \S+;$/);
    await using(url, worksAsRole);
    await sql(first.asAdmin, `REASSIGN OWNED BY ${second.name} TO postgres`);
    await refusedThenGranted(moved, /belongs to postgres, not to .* DO \$\$ /);
    await using(url, worksAsRole);
  });

  test("the owner's password may change: the next start gives the application's role the new one", async () => {
    const own = await ownDatabase(admin());
    await using(own.url, async () => {});
    await sql(admin(), `ALTER ROLE ${own.name} PASSWORD 'another secret of the owner'`);
    await using(at(own.url, { password: 'another secret of the owner' }), worksAsRole);
  });

  test('a database that was migrated for the role of an earlier version is taken over with the same rights', async () => {
    const own = await ownDatabase(admin());
    const before = (await readMigrations()).slice(0, 8);
    const shared = (await sql(admin(), "SELECT FROM pg_roles WHERE rolname = 'crewmark_app'")).rowCount;
    if (!shared) await sql(admin(), 'CREATE ROLE crewmark_app NOLOGIN');
    await sql(admin(), `GRANT crewmark_app TO ${own.name}`);
    await sql(
      own.url,
      `CREATE TABLE _prisma_migrations (id varchar(36) PRIMARY KEY, checksum varchar(64) NOT NULL, finished_at timestamptz,
         migration_name varchar(255) NOT NULL, logs text, rolled_back_at timestamptz,
         started_at timestamptz NOT NULL DEFAULT now(), applied_steps_count integer NOT NULL DEFAULT 0)`,
      ...before.flatMap(({ name, sql: text, checksum }) => [
        text,
        `INSERT INTO _prisma_migrations (id, checksum, migration_name, finished_at)
         VALUES ('${randomUUID()}', '${checksum}', '${name}', now())`,
      ]),
    );
    await using(own.url, works);
    await sql(own.asAdmin, 'DROP OWNED BY crewmark_app');
    if (!shared) await sql(admin(), 'DROP ROLE crewmark_app');
  });

  test('behind PgBouncer in transaction mode it works, or says what the pooler has to know', async () => {
    const own = await ownDatabase(admin());
    const alone = await startPgBouncer(own.url, false);
    await expect(openDatabase(alone.url)).rejects.toThrow(/own role \S+ cannot sign in .*auth_query/);
    await alone.stop();
    const pooler = await startPgBouncer(admin(), true);
    try {
      const through = at(own.url, { database: own.name });
      const url = new URL(through);
      url.port = new URL(pooler.url).port;
      const said: string[] = [];
      const database = await openDatabase(url.href, (line) => said.push(line));
      expect(said).toContain('A pooler is in front of the database: nothing is kept on its connections');
      await works(database, 30);
      await database.close();
    } finally {
      await pooler.stop();
    }
  });
});

test("the secret made of a password gives the server's signature of RFC 7677's example", () => {
  // RFC 7677, section 3: user "user", password "pencil", and this exchange; v is the server's signature in it.
  const nonce = 'rOprNGfwEbeRWgbNEkqO%hvYDpWUa2RaTCAfuxFIlj)hNlF$k0';
  const salt = 'W22ZaJ0SNY7soEsUEjb6gQ==';
  const exchange = `n=user,r=rOprNGfwEbeRWgbNEkqO,r=${nonce},s=${salt},i=4096,c=biws,r=${nonce}`;
  const v = '6rriTRBi23WpRR/wtup+mMhUZUn/dB5nLTJRsjl95G4=';
  const secret = scramSecret('pencil', Buffer.from(salt, 'base64'), 4096);
  const [, iterationsAndSalt, keys] = secret.split('$');
  expect(iterationsAndSalt).toBe(`4096:${salt}`);
  const serverKey = Buffer.from(keys!.split(':')[1]!, 'base64');
  expect(createHmac('sha256', serverKey).update(exchange).digest('base64')).toBe(v);
});
