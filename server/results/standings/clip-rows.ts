import type { Queryable } from '../../database/transaction.ts';
import type { ClipMark } from '../../grading/clip-marks.ts';
import { countsIn, type GradeKind } from '../../grading/grade-kinds.ts';

/** An observer's mark of a clip, with what sort of duty it is of. */
export interface ClipRow extends ClipMark {
  gradedAs: 'mechanics' | 'call';
}

/**
 * SQL of the calibration sets `c` that count in a season `s`: closed, and before the season was, which stays as it was
 * closed.
 */
const countsInSeason = `c.conference_id = s.conference_id AND c.season_id = s.id AND c.state = 'closed'
       AND (s.closed_at IS NULL OR c.closed_at <= s.closed_at)`;

/** Of a set `c` the marks `m` of those who handed in. */
const handedIn = `calibration_observer o
  JOIN calibration_mark m ON m.conference_id = o.conference_id AND m.set_id = o.set_id AND m.observer_id = o.observer_id
 WHERE o.conference_id = c.conference_id AND o.set_id = c.id AND o.done_at IS NOT NULL`;

/**
 * An SQL expression of a row `s` of `season`: the sets whose marks severity rests on as well, with how many marks each
 * has, as jsonb; NULL where it rests on reports alone. Marks of a closed set never change, but people and what is theirs
 * can be taken away.
 */
export const clipsInSeverity = `CASE WHEN s.calibration_in_severity THEN (
            SELECT coalesce(jsonb_agg(jsonb_build_array(c.id, (SELECT count(*) FROM ${handedIn})) ORDER BY c.id), '[]')
              FROM calibration_set c WHERE ${countsInSeason}) END`;

/** Marks of the season's clips; null where its severity rests on reports alone. */
export async function readClipRows(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<ClipRow[] | null> {
  const { rows: seasons } = await db.query<{ taken: boolean }>(
    'SELECT calibration_in_severity AS taken FROM season WHERE conference_id = $1 AND id = $2',
    [conferenceId, seasonId],
  );
  if (!seasons[0]?.taken) return null;
  const { rows } = await db.query<ClipRow>({
    name: 'clip-rows',
    text: `SELECT c.id AS set, m.number AS clip, m.item, k.position, m.observer_id AS observer,
                  m.finding = 'not met' AS missed, i."gradedAs"
             FROM season s
             JOIN calibration_set c ON ${countsInSeason}
            CROSS JOIN LATERAL (SELECT m.number, m.item, m.observer_id, m.finding FROM ${handedIn} OFFSET 0) m
             JOIN calibration_clip k ON k.conference_id = c.conference_id AND k.set_id = c.id AND k.number = m.number
            CROSS JOIN LATERAL jsonb_to_recordset(k.items) AS i (key text, "gradedAs" text)
            WHERE s.conference_id = $1 AND s.id = $2 AND i.key = m.item AND m.finding <> 'not seen'
            ORDER BY c.id, m.number, m.item, m.observer_id`,
    values: [conferenceId, seasonId],
  });
  return rows;
}

/** Marks as one kind of grade takes them. */
export const clipsOfKind = (rows: readonly ClipRow[] | null, kind: GradeKind): ClipMark[] | null =>
  rows === null ? null : rows.filter(({ gradedAs }) => countsIn(kind, gradedAs));
