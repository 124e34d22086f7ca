import type { Queryable } from '../database/transaction.ts';

interface RecentImport {
  kind: string;
  fileName: string;
  added: number;
  changed: number;
  unchanged: number;
  importedBy: string | null;
  importedAt: Date;
}

/** The last imports of a conference, newest first. */
export async function recentImports(db: Queryable, conferenceId: string, most = 20): Promise<RecentImport[]> {
  const { rows } = await db.query<RecentImport>(
    `SELECT f.kind, f.file_name AS "fileName", f.added, f.changed, f.unchanged, f.imported_at AS "importedAt",
            p.given_name || ' ' || p.family_name AS "importedBy"
       FROM import_file f
       LEFT JOIN person p ON p.conference_id = f.conference_id AND p.id = f.imported_by
      WHERE f.conference_id = $1 AND f.file_name <> ''
      ORDER BY f.imported_at DESC, f.file_name LIMIT $2`,
    [conferenceId, most],
  );
  return rows;
}
