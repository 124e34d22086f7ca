import type { Queryable } from '../database/transaction.ts';

// Until when an official may answer the marks of a report. The time ends with a day, in the conference's zone, so that
// a letter and a page can name the day and mean the same. A report has its day from its release; a released letter
// opens the reports it counts further, for its own official.

/** SQL: the last instant of a date in a zone. Arguments are SQL too. */
export const endOfDay = (date: string, zone: string) =>
  `((${date} + 1)::timestamp AT TIME ZONE ${zone} - interval '1 millisecond')`;

/** SQL: until when the official `person` may answer the report with the alias `r`; null without an end. */
export const answerUntil = (person: string) =>
  `(CASE WHEN r.reply_until IS NOT NULL THEN
      greatest(r.reply_until, (SELECT w.open_until FROM reply_opening w WHERE w.conference_id = r.conference_id
                                  AND w.report_id = r.id AND w.person_id = ${person})) END)`;

type OfficialOfSeason = { conferenceId: string; seasonId: string; personId: string };

/**
 * The latest day (YYYY-MM-DD) until which an official may still answer a report of the season that counts them; null
 * when none is open.
 */
export async function latestAnswerDay(db: Queryable, official: OfficialOfSeason): Promise<string | null> {
  const { rows } = await db.query<{ day: string | null }>(
    `SELECT to_char(max(${answerUntil('$3')}) AT TIME ZONE c.time_zone, 'YYYY-MM-DD') AS day
       FROM report r JOIN conference c ON c.id = r.conference_id
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released' AND ${answerUntil('$3')} > now()
        AND EXISTS (SELECT FROM opportunity_count o WHERE o.conference_id = $1 AND o.report_id = r.id AND o.person_id = $3)
      GROUP BY c.time_zone`,
    [official.conferenceId, official.seasonId, official.personId],
  );
  return rows[0]?.day ?? null;
}

/**
 * Lets an official answer the season's released reports that count them until the end of a day (YYYY-MM-DD). What is
 * open longer stays so.
 */
export async function openAnswersUntil(
  client: Queryable,
  official: OfficialOfSeason,
  day: string,
): Promise<void> {
  await client.query(
    `INSERT INTO reply_opening AS w (conference_id, report_id, person_id, open_until)
     SELECT r.conference_id, r.id, $3, ${endOfDay('$4::date', 'c.time_zone')}
       FROM report r JOIN conference c ON c.id = r.conference_id
      WHERE r.conference_id = $1 AND r.season_id = $2 AND r.state = 'released'
        AND EXISTS (SELECT FROM opportunity_count o WHERE o.conference_id = $1 AND o.report_id = r.id AND o.person_id = $3)
     ON CONFLICT (conference_id, report_id, person_id)
       DO UPDATE SET open_until = greatest(w.open_until, excluded.open_until)`,
    [official.conferenceId, official.seasonId, official.personId, day],
  );
}

/**
 * Until which day (YYYY-MM-DD) each official of a game may answer all its released reports that count them. Who may not
 * answer one, or never could, is missing.
 */
export async function answerDays(
  db: Queryable,
  conferenceId: string,
  gameId: string,
): Promise<Map<string, string>> {
  const { rows } = await db.query<{ personId: string; day: string }>(
    `SELECT o.person_id AS "personId",
            to_char(min(${answerUntil('o.person_id')}) AT TIME ZONE c.time_zone, 'YYYY-MM-DD') AS day
       FROM report r
       JOIN conference c ON c.id = r.conference_id
       JOIN LATERAL (SELECT DISTINCT person_id FROM opportunity_count n
                      WHERE n.conference_id = r.conference_id AND n.report_id = r.id) o ON true
      WHERE r.conference_id = $1 AND r.game_id = $2 AND r.state = 'released'
      GROUP BY o.person_id, c.time_zone
     HAVING min(${answerUntil('o.person_id')}) > max(r.released_at)`,
    [conferenceId, gameId],
  );
  return new Map(rows.map(({ personId, day }) => [personId, day]));
}
