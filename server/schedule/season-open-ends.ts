import type { Queryable } from '../database/transaction.ts';
import { openInquiryStates, unfiledStates } from './open-states.ts';

/** What would stay undone in a season that is closed now; each a count. */
type OpenEnds = {
  /** Reports with their observers: drafts and returned ones. */
  drafts: number;
  toReview: number;
  toRelease: number;
  /** Answers of officials without a ruling. */
  answers: number;
  /** Letters made and not released. */
  letters: number;
  /** Inquiries of teams without an answer. */
  inquiries: number;
  /** Selections for games after the season that are not closed. */
  selections: number;
  /** Quizzes that were announced and are not over, for whoever has longest. */
  quizzes: number;
  /** Letters that are being made at this moment. */
  beingMade: number;
};

export async function readOpenEnds(db: Queryable, conferenceId: string, seasonId: string): Promise<OpenEnds> {
  const { rows } = await db.query<OpenEnds>(
    `SELECT (count(*) FILTER (WHERE state IN ${unfiledStates}))::int AS drafts,
            (count(*) FILTER (WHERE state = 'filed'))::int AS "toReview",
            (count(*) FILTER (WHERE state = 'accepted'))::int AS "toRelease",
            (SELECT count(*)::int FROM reply y
               JOIN observation o ON o.conference_id = y.conference_id AND o.id = y.observation_id
               JOIN report x ON x.conference_id = o.conference_id AND x.id = o.report_id
              WHERE y.conference_id = $1 AND x.season_id = $2
                AND NOT EXISTS (SELECT FROM ruling u WHERE u.conference_id = y.conference_id AND u.reply_id = y.id)
            ) AS answers,
            (SELECT count(*)::int FROM letter l
              WHERE l.conference_id = $1 AND l.season_id = $2 AND l.released_at IS NULL) AS letters,
            (SELECT count(*)::int FROM inquiry i
              WHERE i.conference_id = $1 AND i.season_id = $2
                AND i.state IN ${openInquiryStates}) AS inquiries,
            (SELECT count(*)::int FROM selection l
              WHERE l.conference_id = $1 AND l.season_id = $2 AND l.state <> 'closed') AS selections,
            (SELECT count(*)::int FROM quiz z
              WHERE z.conference_id = $1 AND z.season_id = $2 AND z.announced_at IS NOT NULL
                AND now() < greatest(z.closes_at, (SELECT max(t.open_until) FROM quiz_taker t
                     WHERE t.conference_id = z.conference_id AND t.quiz_id = z.id))) AS quizzes,
            (SELECT count(*)::int FROM letter_job j
               JOIN letter_batch b ON b.conference_id = j.conference_id AND b.id = j.batch_id
              WHERE b.conference_id = $1 AND b.season_id = $2 AND j.state = 'waiting') AS "beingMade"
       FROM report r WHERE r.conference_id = $1 AND r.season_id = $2`,
    [conferenceId, seasonId],
  );
  return rows[0]!;
}
