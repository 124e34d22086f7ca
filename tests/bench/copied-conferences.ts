import type pg from 'pg';

/** What a copy leaves out: the trail, what was sent, who is signed in, and what is found anew when asked for. */
const leftOut = new Set([
  'account_link',
  'audit_entry',
  'audit_note',
  'audit_trail',
  'import_upload',
  'import_upload_file',
  'import_upload_piece',
  'kept_result',
  'known_device',
  'letter',
  'letter_batch',
  'letter_job',
  'message',
  'report_change',
  'report_revision',
  'result_underway',
  'session',
]);

interface Column {
  table: string;
  column: string;
  type: string;
  generated: boolean;
  /** Table that a foreign key of this column alone, or with the conference, leads to. */
  refers: string | null;
}

/**
 * Copies the database's one conference and season, all as SQL on the server: `conferences` more, each with `seasons`
 * seasons that share people, teams and venues. An id becomes a hash of itself and the number of the copy, the same
 * wherever it is referred to, so the copies hang together without a look-up. Triggers and references rest meanwhile, so
 * the pool has to be a superuser's. The copies have no letters, no trail and no kept results.
 */
export async function copyConferences(
  owner: pg.Client,
  { conferences, seasons }: { conferences: number; seasons: number },
): Promise<void> {
  const tables = await readTables(owner);
  const ofSeason = tablesOfSeason(tables);
  const statements = [...tables].map(([table, columns]) => copyOf(table, columns, ofSeason));
  await owner.query("SET session_replication_role = 'replica'");
  await owner.query("SET synchronous_commit = 'off'");
  await owner.query('CREATE TEMPORARY TABLE original AS SELECT id FROM conference LIMIT 1');
  for (let copy = 1; copy <= conferences; copy += 1) {
    await owner.query('BEGIN');
    for (let season = 1; season <= seasons; season += 1)
      for (const { sql, perSeason } of statements)
        if (perSeason || season === 1)
          await owner.query(sql.replaceAll('$copy', String(copy)).replaceAll('$season', String(season)));
    await owner.query('COMMIT');
  }
  await owner.query("SET session_replication_role = 'origin'");
  await owner.query('DROP TABLE original');
  await owner.query('ANALYZE');
}

async function readTables(owner: pg.Client): Promise<Map<string, Column[]>> {
  const { rows } = await owner.query<Column>(
    `SELECT c.relname AS table, a.attname AS column, format_type(a.atttypid, NULL) AS type,
            a.attgenerated <> '' OR a.attidentity <> '' AS generated,
            (SELECT k.confrelid::regclass::text FROM pg_constraint k
              WHERE k.conrelid = c.oid AND k.contype = 'f' AND a.attnum = ANY (k.conkey)
                AND (a.attname <> 'conference_id' OR cardinality(k.conkey) = 1)
              ORDER BY cardinality(k.conkey) LIMIT 1) AS refers
       FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
      WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace
        AND (c.relname = 'conference' OR EXISTS (SELECT FROM pg_attribute x
              WHERE x.attrelid = c.oid AND x.attname = 'conference_id' AND NOT x.attisdropped))
      ORDER BY c.oid, a.attnum`,
  );
  const tables = new Map<string, Column[]>();
  for (const row of rows)
    if (!leftOut.has(row.table)) tables.set(row.table, [...(tables.get(row.table) ?? []), row]);
  return tables;
}

/** Those whose rows belong to one season, by way of their references. */
function tablesOfSeason(tables: ReadonlyMap<string, readonly Column[]>): Set<string> {
  const found = new Set(['season']);
  for (let before = 0; before !== found.size; ) {
    before = found.size;
    for (const [table, columns] of tables)
      if (table !== 'conference' && columns.some(({ refers }) => refers !== null && found.has(refers)))
        found.add(table);
  }
  return found;
}

function copyOf(table: string, columns: readonly Column[], ofSeason: ReadonlySet<string>) {
  const perSeason = ofSeason.has(table);
  const kept = columns.filter(({ generated }) => !generated);
  const values = kept.map(({ column, type, refers }) => {
    const name = `t."${column}"`;
    if (type === 'uuid') {
      const season = ofSeason.has(refers ?? table) && column !== 'conference_id';
      return `md5(${name}::text || ' $copy${season ? ' $season' : ''}')::uuid`;
    }
    if (table === 'conference' && column === 'slug') return `'copy-$copy'`;
    if (table === 'season' && column === 'name') return `${name} || ' $season'`;
    return name;
  });
  const own = table === 'conference' ? 'id' : 'conference_id';
  return {
    perSeason,
    sql: `INSERT INTO "${table}" (${kept.map(({ column }) => `"${column}"`).join(', ')})
          SELECT ${values.join(', ')} FROM "${table}" t WHERE t.${own} = (SELECT id FROM original)`,
  };
}
