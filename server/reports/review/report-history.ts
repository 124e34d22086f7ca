import { type TrailEntry, trailEntries } from '../../accounts/audit/audit-reading.ts';
import type { Queryable } from '../../database/transaction.ts';
import type { Consequence } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';
import type { MarkStanding } from '../../duties/mark-standing.ts';
import type { Position } from '../../football/positions.ts';

/** Who did what to a report, its marks and the play log under it, oldest first. */
export async function reportTrail(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<TrailEntry[]> {
  const { rows } = await db.query<TrailEntry>(
    `${trailEntries}
      WHERE e.conference_id = $1
        AND (e.subject_kind = 'report' AND e.subject_id = $2::text
          OR e.subject_kind = 'observation' AND e.subject_id IN (
               SELECT id::text FROM observation WHERE conference_id = $1 AND report_id = $2::uuid)
          OR e.subject_kind = 'reply' AND e.subject_id IN (
               SELECT y.id::text FROM reply y JOIN observation o ON o.conference_id = $1 AND o.id = y.observation_id
                WHERE y.conference_id = $1 AND o.report_id = $2::uuid)
          OR e.subject_kind = 'play' AND e.subject_id IN (
               SELECT l.id::text FROM play l JOIN report r ON r.conference_id = $1 AND r.game_id = l.game_id
                WHERE l.conference_id = $1 AND r.id = $2::uuid))
      ORDER BY e.number`,
    [conferenceId, reportId],
  );
  return rows;
}

interface RevisionLine {
  revision: number;
  reason: string;
  /** Who made it; the program's own name when nobody did. */
  madeBy: string;
  madeAt: Date;
  marks: number;
}

/** What a report said at each release, oldest first. */
export async function reportRevisions(
  db: Queryable,
  conferenceId: string,
  reportId: string,
): Promise<RevisionLine[]> {
  const { rows } = await db.query<RevisionLine>(
    `SELECT v.revision, v.reason, COALESCE(p.given_name || ' ' || p.family_name, 'Crewmark') AS "madeBy",
            v.made_at AS "madeAt", jsonb_array_length(v.content->'observations') AS marks
       FROM report_revision v LEFT JOIN person p ON p.conference_id = v.conference_id AND p.id = v.made_by
      WHERE v.conference_id = $1 AND v.report_id = $2 ORDER BY v.revision`,
    [conferenceId, reportId],
  );
  return rows;
}

interface RevisionMark {
  number: number;
  official: string;
  position: Position;
  duty: string;
  finding: Finding;
  consequence: Consequence | null;
  comment: string;
  /** Null in revisions from before marks said whether they count. */
  standing: MarkStanding | null;
}

/** The marks of one revision as they were then, in the order of plays. */
export async function revisionMarks(
  db: Queryable,
  conferenceId: string,
  reportId: string,
  revision: number,
): Promise<RevisionMark[]> {
  const { rows } = await db.query<RevisionMark>(
    `SELECT l.number, p.given_name || ' ' || p.family_name AS official, o->>'position' AS position,
            COALESCE(d.title, o->>'dutyKey') AS duty, o->>'finding' AS finding, o->>'consequence' AS consequence,
            o->>'comment' AS comment, o->>'standing' AS standing
       FROM report_revision v
       CROSS JOIN LATERAL jsonb_array_elements(v.content->'observations') o
       JOIN play l ON l.conference_id = v.conference_id AND l.id = (o->>'playId')::uuid
       JOIN person p ON p.conference_id = v.conference_id AND p.id = (o->>'personId')::uuid
       LEFT JOIN duty d ON d.conference_id = v.conference_id AND d.key = o->>'dutyKey'
                       AND d.rubric_version_id = (v.content->>'rubricVersionId')::uuid
      WHERE v.conference_id = $1 AND v.report_id = $2 AND v.revision = $3
      ORDER BY l.number, o->>'position', o->>'id'`,
    [conferenceId, reportId, revision],
  );
  return rows;
}

/** An official's answer to a mark and the ruling on it, oldest first. */
export async function replyTrail(
  db: Queryable,
  conferenceId: string,
  replyId: string,
): Promise<TrailEntry[]> {
  const { rows } = await db.query<TrailEntry>(
    `${trailEntries}
      WHERE e.conference_id = $1
        AND (e.subject_kind = 'reply' AND e.subject_id = $2::text
          OR e.subject_kind = 'observation' AND e.subject_id = (
               SELECT observation_id::text FROM reply WHERE conference_id = $1 AND id = $2::uuid))
      ORDER BY e.number`,
    [conferenceId, replyId],
  );
  return rows;
}
