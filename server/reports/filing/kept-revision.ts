import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';

/** Keeps what a released report says now, whole, under its revision number. */
export async function keepRevision(
  client: Queryable,
  acting: Acting,
  reportId: string,
  reason: string,
): Promise<void> {
  await client.query(
    `INSERT INTO report_revision (conference_id, report_id, revision, reason, made_by, made_at, content)
     SELECT r.conference_id, r.id, r.revision, $3, $4, $5, jsonb_build_object(
              'rubricVersionId', r.rubric_version_id,
              'generalComment', r.general_comment,
              'watched', r.watched,
              'observations', COALESCE((
                SELECT jsonb_agg(jsonb_build_object('id', o.id, 'playId', o.play_id, 'personId', o.person_id,
                         'position', o.position, 'dutyKey', o.duty_key, 'finding', o.finding, 'comment', o.comment,
                         'consequence', o.consequence, 'standing', o.standing)
                         ORDER BY o.id)
                  FROM observation o WHERE o.conference_id = r.conference_id AND o.report_id = r.id
                   AND o.removed_at IS NULL), '[]'),
              'counts', COALESCE((
                SELECT jsonb_agg(jsonb_build_array(n.person_id, n.position, n.duty_key, n.opportunities, n.not_met,
                         n.not_counted, n.model, n.cost_none, n.cost_yards, n.cost_possession, n.cost_score,
                         n.undecided, n.likely, n.unwatched, n.set_aside, n.set_aside_not_met) ORDER BY n.person_id, n.duty_key)
                  FROM opportunity_count n WHERE n.conference_id = r.conference_id AND n.report_id = r.id), '[]'))
       FROM report r WHERE r.conference_id = $1 AND r.id = $2`,
    [acting.conferenceId, reportId, reason, acting.personId, acting.at ?? new Date()],
  );
}
