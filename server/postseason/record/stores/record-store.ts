import type { Queryable } from '../../../database/transaction.ts';
import { notFound, Problem } from '../../../web/problem.ts';

interface RecordKept {
  readonly sha256: string;
  /** False once its bytes are no longer kept; the hash stays. */
  readonly kept: boolean;
  /** Why they are not; null where they are, or nobody wrote it down. */
  readonly goneBecause: 'erasure' | 'retention' | null;
  /** Whether it was kept whom it names; of one written before that, any erasure takes the file. */
  readonly listed: boolean;
  readonly bytes: number | null;
  readonly madeBy: string;
  readonly madeAt: Date;
}

/** What is known of a selection's record; null while it is not closed. */
export async function readRecordKept(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<RecordKept | null> {
  const { rows } = await db.query<RecordKept>(
    `SELECT sha256, pdf IS NOT NULL AS kept, gone_because AS "goneBecause", named IS NOT NULL AS listed,
            length(pdf) AS bytes, made_by AS "madeBy", made_at AS "madeAt"
       FROM selection_record WHERE conference_id = $1 AND selection_id = $2`,
    [conferenceId, selectionId],
  );
  return rows[0] ?? null;
}

/** @throws Problem 404 when there is none, or its bytes are no longer kept */
export async function readRecordFile(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<{ pdf: Buffer; sha256: string; title: string }> {
  const { rows } = await db.query<{ pdf: Buffer | null; sha256: string; title: string }>(
    `SELECT r.pdf, r.sha256, s.title FROM selection_record r
       JOIN selection s ON s.conference_id = r.conference_id AND s.id = r.selection_id
      WHERE r.conference_id = $1 AND r.selection_id = $2`,
    [conferenceId, selectionId],
  );
  const record = rows[0];
  if (!record) throw notFound('record');
  if (!record.pdf)
    throw new Problem(
      404,
      'Not kept',
      `The file of the record of ${record.title} is no longer kept: the selection’s page Record says why, and its hash stays.`,
    );
  return { ...record, pdf: record.pdf };
}
