import type { Queryable } from '../database/transaction.ts';
import { fewestTakers } from '../knowledge/quiz-results.ts';
import { groundsOfFigures } from '../results/season-results.ts';
import type { LetterKind } from './letter-data.ts';

// Season $2 of conference $1, with what its figures rest on now; worked out once for all letters.
export const seasonNow = `season_now AS MATERIALIZED (
  SELECT s.*, ${groundsOfFigures} AS grounds FROM season s WHERE s.conference_id = $1 AND s.id = $2)`;

// Since what a letter l tells was read, its official sat a quiz or was noted at a clinic; or somebody sat a quiz that they
// took as well, and so many have taken it that it tells measures: what is known of its questions moves everybody's.
const knowsMore = `(
  EXISTS (SELECT FROM quiz z
            JOIN quiz_attempt own ON own.conference_id = z.conference_id AND own.quiz_id = z.id
            JOIN quiz_attempt t ON t.conference_id = z.conference_id AND t.quiz_id = z.id
           WHERE z.conference_id = l.conference_id AND z.season_id = l.season_id AND own.official_id = l.person_id
             AND own.ended_at IS NOT NULL AND t.ended_at > coalesce(l.read_at, l.created_at)
             AND (t.official_id = l.person_id
                  OR ${fewestTakers} <= (SELECT count(DISTINCT a.official_id) FROM quiz_attempt a
                                          WHERE a.conference_id = z.conference_id AND a.quiz_id = z.id
                                            AND a.ended_at IS NOT NULL)))
  OR EXISTS (SELECT FROM clinic_attendance a
              WHERE a.conference_id = l.conference_id AND a.season_id = l.season_id AND a.official_id = l.person_id
                AND a.noted_at > coalesce(l.read_at, l.created_at)))`;

// Of a letter l in the season s; l has conference, season and person, created_at, read_at, released_at, grounds and
// input_revision. Without grounds noted, a draft is out of date; of a released one the revision tells.
export const outOfDate = `(coalesce(l.grounds <> s.grounds, l.released_at IS NULL OR l.input_revision <> s.input_revision)
  OR ${knowsMore})`;

export interface LetterLine {
  personId: string;
  name: string;
  /** Null when the official has no letter of this kind yet. */
  letter: {
    id: string;
    edition: number;
    position: string | null;
    pages: number;
    sha256: string;
    remark: string;
    createdAt: Date;
    releasedAt: Date | null;
    /** The season's released reports, its settings, the way of computing or their quizzes and clinics have changed since. */
    outOfDate: boolean;
    delivery: { state: string; attempts: number; lastError: string | null; sentAt: Date | null } | null;
  } | null;
}

/** Everyone with a released report, with the newest edition of their letter of a kind. */
export async function letterLines(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
  kind: LetterKind,
): Promise<LetterLine[]> {
  const { rows } = await db.query<LetterLine>(
    `WITH ${seasonNow}
     SELECT p.id AS "personId", p.given_name || ' ' || p.family_name AS name,
            CASE WHEN l.id IS NULL THEN NULL ELSE jsonb_build_object(
              'id', l.id, 'edition', l.edition, 'position', l.position, 'pages', l.pages, 'sha256', l.sha256,
              'remark', l.remark, 'createdAt', l.created_at, 'releasedAt', l.released_at,
              'outOfDate', ${outOfDate},
              'delivery', CASE WHEN d.id IS NULL THEN NULL ELSE jsonb_build_object(
                'state', d.mail, 'attempts', d.attempts, 'lastError', d.last_error, 'sentAt', d.sent_at) END
            ) END AS letter
       FROM person p
       JOIN season_now s ON s.conference_id = p.conference_id AND s.id = $2
       LEFT JOIN LATERAL (
              SELECT * FROM letter l
               WHERE l.conference_id = p.conference_id AND l.season_id = s.id AND l.person_id = p.id AND l.kind = $3
               ORDER BY l.edition DESC LIMIT 1) l ON true
       LEFT JOIN LATERAL (
              SELECT * FROM message m
               WHERE m.conference_id = l.conference_id AND m.about_id = l.id AND m.kind = 'letter'
                 AND m.not_mailed_because IS DISTINCT FROM 'not asked for'
               LIMIT 1) d ON true
      WHERE p.conference_id = $1
        AND EXISTS (SELECT FROM opportunity_count c
                      JOIN report r ON r.conference_id = c.conference_id AND r.id = c.report_id
                     WHERE c.conference_id = p.conference_id AND c.person_id = p.id AND r.season_id = s.id
                       AND r.state = 'released')
      ORDER BY p.family_name, p.given_name, p.id`,
    [conferenceId, seasonId, kind],
  );
  return rows;
}
