import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { notFound } from '../web/problem.ts';

type Availability = {
  seasonId: string;
  season: string;
  personId: string;
  name: string;
  roles: string[];
  answeredAt: Date | null;
  weeksAway: number[];
  note: string;
};

/** What people were asked about a season, or one person about all seasons that are not closed; waiting ones first. */
export async function readAvailability(
  db: Queryable,
  conferenceId: string,
  of: { seasonId: string } | { personId: string },
): Promise<Availability[]> {
  const { rows } = await db.query<Availability>(
    `SELECT a.season_id AS "seasonId", s.name AS season, a.person_id AS "personId",
            p.family_name || ', ' || p.given_name AS name,
            ARRAY(SELECT r.role FROM person_role r WHERE r.conference_id = p.conference_id AND r.person_id = p.id
                     AND r.role <> 'coordinator' ORDER BY r.role DESC) AS roles,
            a.answered_at AS "answeredAt", a.note,
            ARRAY(SELECT w.week FROM season_week_away w
                   WHERE w.conference_id = a.conference_id AND w.season_id = a.season_id AND w.person_id = a.person_id
                   ORDER BY w.week) AS "weeksAway"
       FROM season_availability a
       JOIN season s ON s.conference_id = a.conference_id AND s.id = a.season_id
       JOIN person p ON p.conference_id = a.conference_id AND p.id = a.person_id
      WHERE a.conference_id = $1
        AND ($2::uuid IS NULL OR a.season_id = $2)
        AND ($3::uuid IS NULL OR (a.person_id = $3 AND s.state <> 'closed'))
      ORDER BY a.answered_at IS NOT NULL, s.created_at DESC, p.family_name, p.given_name, p.id`,
    [conferenceId, 'seasonId' in of ? of.seasonId : null, 'personId' in of ? of.personId : null],
  );
  return rows;
}

/** A person's own answer; given again, it takes the place of the one before. @throws Problem 404 when not asked. */
export async function answerAvailability(
  client: Queryable,
  { conferenceId, personId }: Acting & { personId: string },
  seasonId: string,
  { weeksAway, note }: { weeksAway: readonly number[]; note: string },
): Promise<void> {
  const key = [conferenceId, seasonId, personId];
  const { rowCount } = await client.query(
    `UPDATE season_availability SET answered_at = now(), note = $4
      WHERE conference_id = $1 AND season_id = $2 AND person_id = $3`,
    [...key, note],
  );
  if (rowCount === 0) throw notFound('question about your availability');
  await client.query(
    'DELETE FROM season_week_away WHERE conference_id = $1 AND season_id = $2 AND person_id = $3',
    key,
  );
  await client.query(
    `INSERT INTO season_week_away (conference_id, season_id, person_id, week)
     SELECT $1, $2, $3, w.number FROM season_week w
      WHERE w.conference_id = $1 AND w.season_id = $2 AND w.number = ANY ($4::int[])`,
    [...key, weeksAway],
  );
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'told when they are away',
    subjectKind: 'season',
    subjectId: seasonId,
    after: { weeksAway: [...weeksAway], note },
  });
}
