import { isDeepStrictEqual } from 'node:util';
import type { Acting } from '../../accounts/acting.ts';
import { appendAudit } from '../../accounts/audit/audit.ts';
import type { Queryable } from '../../database/transaction.ts';
import { conflict, notFound } from '../../web/problem.ts';
import { sameColumns } from './foreign-file.ts';
import { columnsUsed, type Mapping, mappingSchema } from './mapping.ts';

/** A mapping as the conference keeps it, with the columns of the file it was made for. */
export interface KeptMapping {
  readonly id: string;
  readonly name: string;
  readonly columns: readonly string[];
  readonly mapping: Mapping;
  readonly changedAt: Date;
  readonly changedBy: string | null;
}

const select = `
  SELECT m.id, m.name, m.columns, m.mapping, m.changed_at AS "changedAt",
         p.given_name || ' ' || p.family_name AS "changedBy"
    FROM log_mapping m
    LEFT JOIN person p ON p.conference_id = m.conference_id AND p.id = m.changed_by`;

/** The conference's mappings by name. */
export async function keptMappings(db: Queryable, conferenceId: string): Promise<KeptMapping[]> {
  const { rows } = await db.query<KeptMapping>(
    `${select} WHERE m.conference_id = $1 ORDER BY lower(m.name)`,
    [conferenceId],
  );
  return rows.map(sound);
}

/** @throws Problem 404 */
export async function keptMapping(db: Queryable, conferenceId: string, id: string): Promise<KeptMapping> {
  const { rows } = await db.query<KeptMapping>(`${select} WHERE m.conference_id = $1 AND m.id = $2`, [
    conferenceId,
    id,
  ]);
  if (!rows[0]) throw notFound('mapping');
  return sound(rows[0]);
}

/** What was kept by an earlier program is read by today's schema, which fills in what it did not know. */
const sound = (row: KeptMapping): KeptMapping => ({ ...row, mapping: mappingSchema.parse(row.mapping) });

/**
 * The kept mappings that fit a file, best first: those made for the very same columns, then those whose every column the
 * file has. `columnsOf` gives the file's columns when headings stand in that line.
 */
export function fitting(
  kept: readonly KeptMapping[],
  columnsOf: (headings: number) => readonly string[],
): KeptMapping[] {
  const same = kept.filter(({ columns, mapping }) => sameColumns(columns, columnsOf(mapping.headings)));
  const enough = kept.filter((one) => {
    const used = columnsUsed(one.mapping);
    const there = columnsOf(one.mapping.headings);
    return !same.includes(one) && used.size > 0 && [...used].every((column) => there.includes(column));
  });
  return [...same, ...enough];
}

/**
 * Keeps a mapping under a name; one of that name is replaced by it.
 * @returns its id. With `id` that one is renamed or changed. @throws Problem 404, 409 when another has the name.
 */
export async function keepMapping(
  client: Queryable,
  { conferenceId, personId }: Acting,
  { id, name, columns, mapping }: { id?: string; name: string; columns: readonly string[]; mapping: Mapping },
): Promise<string> {
  const { rows: named } = await client.query<{ id: string }>(
    'SELECT id FROM log_mapping WHERE conference_id = $1 AND name = $2 FOR UPDATE',
    [conferenceId, name],
  );
  const sameName = named[0]?.id;
  if (id !== undefined && sameName !== undefined && sameName !== id) {
    const message = 'Another mapping has this name; choose another, or delete that one first.';
    throw conflict(message, [{ field: 'name', message }]);
  }
  const target = id ?? sameName;
  const before = target === undefined ? undefined : await keptMapping(client, conferenceId, target);
  const after = { name, columns: [...columns], mapping };
  if (before) {
    const { name: was, columns: of, mapping: said } = before;
    if (isDeepStrictEqual({ name: was, columns: of, mapping: said }, after)) return before.id;
  }
  const { rows } = await client.query<{ id: string }>(
    `INSERT INTO log_mapping (conference_id, id, name, columns, mapping, changed_by)
     VALUES ($1, COALESCE($2::uuid, gen_random_uuid()), $3, $4, $5, $6)
     ON CONFLICT (conference_id, id) DO UPDATE
       SET name = excluded.name, columns = excluded.columns, mapping = excluded.mapping,
           changed_by = excluded.changed_by, changed_at = now()
     RETURNING id`,
    [conferenceId, target ?? null, name, JSON.stringify(columns), JSON.stringify(mapping), personId],
  );
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: before ? 'log mapping changed' : 'log mapping kept',
    subjectKind: 'log_mapping',
    subjectId: rows[0]!.id,
    before: before && { name: before.name, columns: before.columns, mapping: before.mapping },
    after,
  });
  return rows[0]!.id;
}

/** Forgets a mapping; logs that were read with it stay as they are. @throws Problem 404 */
export async function deleteMapping(
  client: Queryable,
  { conferenceId, personId }: Acting,
  id: string,
): Promise<void> {
  const before = await keptMapping(client, conferenceId, id);
  await client.query('DELETE FROM log_mapping WHERE conference_id = $1 AND id = $2', [conferenceId, id]);
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'log mapping deleted',
    subjectKind: 'log_mapping',
    subjectId: id,
    before: { name: before.name, columns: before.columns, mapping: before.mapping },
  });
}
