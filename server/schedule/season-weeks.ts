import type { Queryable } from '../database/transaction.ts';

/** A week of a season: its number and its days, first and last included, as YYYY-MM-DD in the conference's zone. */
export type SeasonWeek = { number: number; firstDay: string; lastDay: string };

const day = 24 * 3600 * 1000;
const dateAfter = (date: string, days: number) =>
  new Date(Date.parse(`${date}T00:00:00Z`) + days * day).toISOString().slice(0, 10);

/** Weeks of seven days, one after the other. `firstDay` is YYYY-MM-DD. */
export function weeksFrom(firstDay: string, count: number, firstNumber = 1): SeasonWeek[] {
  return Array.from({ length: count }, (_, at) => ({
    number: firstNumber + at,
    firstDay: dateAfter(firstDay, 7 * at),
    lastDay: dateAfter(firstDay, 7 * at + 6),
  }));
}

/** The weeks of a season in order; none while nobody has given their dates. */
export async function readWeeks(
  db: Queryable,
  conferenceId: string,
  seasonId: string,
): Promise<SeasonWeek[]> {
  const { rows } = await db.query<SeasonWeek>(
    `SELECT number, first_day::text AS "firstDay", last_day::text AS "lastDay"
       FROM season_week WHERE conference_id = $1 AND season_id = $2 ORDER BY number`,
    [conferenceId, seasonId],
  );
  return rows;
}

/** Puts these weeks in place of the season's. Games keep their numbers. */
export async function setWeeks(
  client: Queryable,
  conferenceId: string,
  seasonId: string,
  weeks: readonly SeasonWeek[],
): Promise<void> {
  await client.query('DELETE FROM season_week WHERE conference_id = $1 AND season_id = $2', [
    conferenceId,
    seasonId,
  ]);
  await client.query(
    `INSERT INTO season_week (conference_id, season_id, number, first_day, last_day)
     SELECT $1, $2, number, first_day, last_day
       FROM unnest($3::int[], $4::date[], $5::date[]) AS w (number, first_day, last_day)`,
    [
      conferenceId,
      seasonId,
      weeks.map((week) => week.number),
      weeks.map((week) => week.firstDay),
      weeks.map((week) => week.lastDay),
    ],
  );
}
