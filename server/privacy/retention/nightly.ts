import type pg from 'pg';
import { settingChanged } from './setting-store.ts';
import { type Taken, takeAwayDue } from './take-away.ts';

/** From this hour of the conference's day on, 0 to 23: nobody works then, and a server started later catches up. */
const hour = 3;

/**
 * For each conference that has it done by itself and had it not done today: takes away what is due. Whichever server
 * comes first does it. A setting changed since three waits for the next night: it can be changed back till then.
 * @param failed told of a conference whose run was cut off; the next night goes on with it
 */
export async function takeAwayNightly(
  pool: pg.Pool,
  failed: (error: unknown) => void,
  now = new Date(),
): Promise<Taken[]> {
  const { rows } = await pool.query<{ id: string }>(
    `UPDATE retention_setting r SET looked_on = ($1::timestamptz AT TIME ZONE c.time_zone)::date
       FROM conference c
      WHERE c.id = r.conference_id AND r.nightly
        AND extract(hour FROM $1::timestamptz AT TIME ZONE c.time_zone) >= $2::int
        AND r.looked_on IS DISTINCT FROM ($1::timestamptz AT TIME ZONE c.time_zone)::date
        AND NOT EXISTS (
          SELECT FROM audit_entry a WHERE a.conference_id = c.id AND a.action = $3
             AND (a.at AT TIME ZONE c.time_zone - make_interval(hours => $2::int))::date
               = ($1::timestamptz AT TIME ZONE c.time_zone - make_interval(hours => $2::int))::date)
      RETURNING c.id`,
    [now, hour, settingChanged],
  );
  const taken: Taken[] = [];
  for (const { id } of rows) {
    await takeAwayDue(pool, { conferenceId: id, personId: null }, 'by the timetable').then(
      (went) => taken.push(...went),
      failed,
    );
  }
  return taken;
}
