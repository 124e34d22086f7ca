import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Queryable } from '../database/transaction.ts';
import { dayAfter } from '../text/days.ts';
import { conflict } from '../web/problem.ts';
import { lockSeason } from './season-lock.ts';

/** A week of a season: its number and its days, first and last included, as YYYY-MM-DD in the conference's zone. */
export type SeasonWeek = { number: number; firstDay: string; lastDay: string };

/** Weeks of seven days, one after the other. `firstDay` is YYYY-MM-DD. */
export function weeksFrom(firstDay: string, count: number, firstNumber = 1): SeasonWeek[] {
  return Array.from({ length: count }, (_, at) => ({
    number: firstNumber + at,
    firstDay: dayAfter(firstDay, 7 * at),
    lastDay: dayAfter(firstDay, 7 * at + 6),
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

/** The coordinator's change of a season's weeks. @throws Problem 409 when a week that goes has games. */
export async function changeWeeks(
  client: Queryable,
  { conferenceId, personId }: Acting,
  seasonId: string,
  weeks: readonly SeasonWeek[],
): Promise<void> {
  await lockSeason(client, conferenceId, seasonId);
  const before = await readWeeks(client, conferenceId, seasonId);
  await setWeeks(client, conferenceId, seasonId, weeks);
  const { rows } = await client.query<{ week: number; games: number }>(
    `SELECT g.week, count(*)::int AS games FROM game g
      WHERE g.conference_id = $1 AND g.season_id = $2 AND g.week <> ALL ($3::int[])
      GROUP BY g.week ORDER BY g.week`,
    [conferenceId, seasonId, weeks.map((week) => week.number)],
  );
  // A season whose weeks were never given has games in weeks without days; they need not get any.
  const losing = before.length === 0 && weeks.length === 0 ? [] : rows;
  if (losing[0] && losing.length === 1) {
    const { week, games } = losing[0];
    throw conflict(`Week ${week} has ${games} ${games === 1 ? 'game' : 'games'}, so it keeps its days.`);
  }
  if (losing.length > 1) {
    const named = losing.map(({ week }) => week);
    throw conflict(
      `Weeks ${named.slice(0, -1).join(', ')} and ${named.at(-1)} have games, so they keep their days.`,
    );
  }
  await appendAudit(client, {
    conferenceId,
    actorId: personId,
    action: 'changed the weeks of the season',
    subjectKind: 'season',
    subjectId: seasonId,
    before: inDays(before),
    after: inDays(weeks),
  });
}

/** "week 1": "2026-08-31 to 2026-09-06", for the trail. */
const inDays = (weeks: readonly SeasonWeek[]) =>
  Object.fromEntries(
    weeks.map(({ number, firstDay, lastDay }) => [`week ${number}`, `${firstDay} to ${lastDay}`]),
  );
