import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { inTransaction } from '../database/transaction.ts';
import { fileKindNamed } from './files/index.ts';
import type { FileToImport } from './import-file.ts';

/** Kept this long after a check or a question, unless they are imported before. */
const keptFor = '2 hours';

const pieceLength = 1024 * 1024;

type Owner = Acting & { personId: string };

async function* inPieces(source: AsyncIterable<Uint8Array>): AsyncGenerator<Buffer> {
  let piece: Buffer[] = [];
  let length = 0;
  for await (const chunk of source) {
    piece.push(Buffer.from(chunk));
    length += chunk.length;
    if (length < pieceLength) continue;
    yield Buffer.concat(piece);
    piece = [];
    length = 0;
  }
  if (length > 0) yield Buffer.concat(piece);
}

/** Keeps files for the person who sent them, so that they need not be chosen again. Returns the id to ask for them by. */
export async function keepUpload(
  pool: pg.Pool,
  { conferenceId, personId }: Owner,
  files: readonly FileToImport[],
): Promise<string> {
  return inTransaction(pool, async (client) => {
    await client.query(
      `DELETE FROM import_upload
        WHERE conference_id = $1 AND (person_id = $2 OR kept_at < now() - $3::interval)`,
      [conferenceId, personId, keptFor],
    );
    const { rows } = await client.query<{ id: string }>(
      'INSERT INTO import_upload (conference_id, person_id) VALUES ($1, $2) RETURNING id',
      [conferenceId, personId],
    );
    const id = rows[0]!.id;
    for (const [number, { kind, fileName, open }] of files.entries()) {
      await client.query(
        `INSERT INTO import_upload_file (conference_id, upload_id, number, kind, file_name)
         VALUES ($1, $2, $3, $4, $5)`,
        [conferenceId, id, number, kind.format.name, fileName],
      );
      let at = 0;
      for await (const bytes of inPieces(open())) {
        await client.query(
          `INSERT INTO import_upload_piece (conference_id, upload_id, number, piece, bytes)
           VALUES ($1, $2, $3, $4, $5)`,
          [conferenceId, id, number, at, bytes],
        );
        at += 1;
      }
    }
    return id;
  });
}

/** The files that this person sent, in the order in which they were kept; undefined when they are not kept any more. */
export async function keptUpload(
  pool: pg.Pool,
  { conferenceId, personId }: Owner,
  id: string,
): Promise<FileToImport[] | undefined> {
  const { rows } = await pool.query<{ number: number; kind: string; fileName: string }>(
    `SELECT f.number, f.kind, f.file_name AS "fileName"
       FROM import_upload u
       JOIN import_upload_file f ON f.conference_id = u.conference_id AND f.upload_id = u.id
      WHERE u.conference_id = $1 AND u.id = $2 AND u.person_id = $3 AND u.kept_at >= now() - $4::interval
      ORDER BY f.number`,
    [conferenceId, id, personId, keptFor],
  );
  if (rows.length === 0) return undefined;
  return rows.flatMap(({ number, kind, fileName }) => {
    const found = fileKindNamed(kind);
    return found === undefined
      ? []
      : [{ kind: found, fileName, open: () => pieces(pool, [conferenceId, id, number]) }];
  });
}

async function* pieces(pool: pg.Pool, file: readonly [string, string, number]): AsyncGenerator<Uint8Array> {
  for (let piece = 0; ; piece += 1) {
    const { rows } = await pool.query<{ bytes: Buffer }>(
      `SELECT bytes FROM import_upload_piece
        WHERE conference_id = $1 AND upload_id = $2 AND number = $3 AND piece = $4`,
      [...file, piece],
    );
    if (rows[0] === undefined) return;
    yield rows[0].bytes;
  }
}

export async function forgetUpload(
  pool: pg.Pool,
  { conferenceId, personId }: Owner,
  id: string,
): Promise<void> {
  await pool.query('DELETE FROM import_upload WHERE conference_id = $1 AND id = $2 AND person_id = $3', [
    conferenceId,
    id,
    personId,
  ]);
}
