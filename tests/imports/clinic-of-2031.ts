import type pg from 'pg';

/** A clinic of season 2031 to which all officials of the conference were asked, and nothing noted yet. */
export async function clinicOf2031(
  pool: pg.Pool,
  conferenceId: string,
  title: string,
  day = '2031-04-12',
): Promise<void> {
  await pool.query(
    `WITH made AS (
       INSERT INTO clinic (conference_id, season_id, title, held_on)
       SELECT $1, n.id, $2, $3 FROM season n WHERE n.conference_id = $1 AND n.name = '2031'
       RETURNING id, season_id)
     INSERT INTO clinic_attendance (conference_id, clinic_id, season_id, official_id)
     SELECT $1, made.id, made.season_id, r.person_id
       FROM made, person_role r WHERE r.conference_id = $1 AND r.role = 'official'`,
    [conferenceId, title, day],
  );
}
