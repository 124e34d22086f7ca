import type { Queryable } from '../../database/transaction.ts';
import { type Consequence, findingInWords } from '../../duties/consequence.ts';
import type { Finding } from '../../duties/finding.ts';

/** A mark of a released report on the play that is asked about: what a coordinator may want to correct. */
interface MarkOfPlay {
  readonly observationId: string;
  readonly reportId: string;
  readonly official: string;
  readonly position: string;
  readonly duty: string;
  readonly said: string;
  readonly observer: string;
}

export async function releasedMarksOn(
  db: Queryable,
  conferenceId: string,
  playId: string,
): Promise<MarkOfPlay[]> {
  const { rows } = await db.query<
    Omit<MarkOfPlay, 'said'> & { finding: Finding; consequence: Consequence | null }
  >(
    `SELECT o.id AS "observationId", r.id AS "reportId", p.given_name || ' ' || p.family_name AS official, o.position,
            coalesce(d.title, o.duty_key) AS duty, o.finding, o.consequence,
            b.given_name || ' ' || b.family_name AS observer
       FROM observation o
       JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id AND r.state = 'released'
       JOIN person p ON p.conference_id = o.conference_id AND p.id = o.person_id
       JOIN person b ON b.conference_id = o.conference_id AND b.id = r.observer_id
       LEFT JOIN duty d ON d.conference_id = o.conference_id AND d.rubric_version_id = r.rubric_version_id
                       AND d.key = o.duty_key
      WHERE o.conference_id = $1 AND o.play_id = $2 AND o.removed_at IS NULL ORDER BY p.family_name, o.id`,
    [conferenceId, playId],
  );
  return rows.map(({ finding, consequence, ...mark }) => ({
    ...mark,
    said: findingInWords(finding, consequence),
  }));
}

/** Who worked the game of an inquiry, by position. */
export async function crewOf(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<{ personId: string; name: string; position: string }[]> {
  const { rows } = await db.query<{ personId: string; name: string; position: string }>(
    `SELECT w.person_id AS "personId", p.given_name || ' ' || p.family_name AS name, w.position
       FROM working_crew_member w JOIN person p ON p.conference_id = w.conference_id AND p.id = w.person_id
      WHERE w.conference_id = $1 AND w.game_id = $2 ORDER BY w.position`,
    [conferenceId, gameId],
  );
  return rows;
}
