// @module-tag long
import { readFile } from 'node:fs/promises';
import internals from '@prisma/internals';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type TestDatabase, testDatabase } from '../support/test-database.ts';

// schema.prisma is written by hand beside the SQL migrations; here the two are held together: every table, column,
// type, nullability, primary key, unique constraint and foreign key of one is in the other.

const typeOfPostgres: Record<string, string> = {
  uuid: 'String Uuid',
  text: 'String',
  'timestamp with time zone': 'DateTime Timestamptz',
  boolean: 'Boolean',
  integer: 'Int',
  bigint: 'BigInt',
  'double precision': 'Float',
  jsonb: 'Json',
  bytea: 'Bytes',
  date: 'DateTime Date',
};

let database: TestDatabase;
beforeAll(async () => {
  database = await testDatabase();
});
afterAll(() => database.drop());

async function fromSchema(): Promise<string[]> {
  const datamodel = await readFile(new URL('../../prisma/schema.prisma', import.meta.url), 'utf8');
  const { datamodel: parsed } = await internals.getDMMF({ datamodel });
  const facts: string[] = [];
  for (const model of parsed.models) {
    const table = model.dbName ?? model.name;
    const column = (name: string) => model.fields.find((field) => field.name === name)?.dbName ?? name;
    for (const field of model.fields) {
      if (field.kind === 'object') {
        const from = field.relationFromFields ?? [];
        if (from.length === 0) continue;
        const target = parsed.models.find((other) => other.name === field.type);
        const to = (field.relationToFields ?? []).map(
          (name) => target?.fields.find((other) => other.name === name)?.dbName ?? name,
        );
        facts.push(`${table}: (${from.map(column)}) references ${target?.dbName} (${to})`);
        continue;
      }
      const native = field.nativeType ? ` ${field.nativeType[0]}` : '';
      facts.push(
        `${table}.${field.dbName ?? field.name}: ${field.type}${native} ${field.isRequired ? 'required' : 'optional'}`,
      );
      if (field.isId) facts.push(`${table}: primary key (${field.dbName ?? field.name})`);
      if (field.isUnique) facts.push(`${table}: unique (${field.dbName ?? field.name})`);
    }
    if (model.primaryKey) facts.push(`${table}: primary key (${model.primaryKey.fields.map(column)})`);
    for (const unique of model.uniqueFields) facts.push(`${table}: unique (${unique.map(column)})`);
  }
  return facts.sort();
}

async function fromDatabase(): Promise<string[]> {
  const columns = await database.pool.query<{ fact: string; type: string; needed: boolean }>(`
    SELECT c.relname || '.' || a.attname AS fact, format_type(a.atttypid, NULL) AS type, a.attnotnull AS needed
      FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid JOIN pg_namespace n ON n.oid = c.relnamespace
     WHERE n.nspname = 'public' AND c.relkind = 'r' AND a.attnum > 0 AND NOT a.attisdropped
       AND c.relname <> '_prisma_migrations'`);
  const keys = await database.pool.query<{ fact: string }>(`
    SELECT conrelid::regclass || ': ' || CASE contype WHEN 'p' THEN 'primary key ' WHEN 'u' THEN 'unique ' ELSE '' END
           || '(' || (SELECT string_agg(attname, ',' ORDER BY o) FROM unnest(conkey) WITH ORDINALITY k (n, o)
                        JOIN pg_attribute ON attrelid = conrelid AND attnum = n) || ')'
           || CASE contype WHEN 'f' THEN ' references ' || confrelid::regclass || ' ('
           || (SELECT string_agg(attname, ',' ORDER BY o) FROM unnest(confkey) WITH ORDINALITY k (n, o)
                 JOIN pg_attribute ON attrelid = confrelid AND attnum = n) || ')' ELSE '' END AS fact
      FROM pg_constraint
     WHERE contype IN ('p', 'u', 'f') AND connamespace = 'public'::regnamespace
       AND conrelid::regclass::text <> '_prisma_migrations'`);
  return [
    ...columns.rows.map(
      (row) => `${row.fact}: ${typeOfPostgres[row.type] ?? row.type} ${row.needed ? 'required' : 'optional'}`,
    ),
    ...keys.rows.map((row) => row.fact),
  ].sort();
}

test('schema.prisma and the migrated database agree', async () => {
  const schema = await fromSchema();
  expect(schema.length).toBeGreaterThan(150);
  expect(schema).toEqual(await fromDatabase());
});

test('every table of a conference has conference_id first in its primary key', async () => {
  const { rows } = await database.pool.query(`
    SELECT conrelid::regclass::text AS table_name,
           (SELECT attname FROM pg_attribute WHERE attrelid = conrelid AND attnum = conkey[1]) AS first
      FROM pg_constraint WHERE contype = 'p' AND connamespace = 'public'::regnamespace`);
  // Looked up before the conference is known: by token or e-mail, or the conference itself.
  const foundOtherwise = [
    'conference',
    'session',
    'account_link',
    '_prisma_migrations',
    'sign_in_attempt',
    'password_request',
  ];
  const others = rows.filter((row) => row.first !== 'conference_id').map((row) => row.table_name);
  expect(others.filter((name) => !foundOtherwise.includes(name))).toEqual([]);
});
