import type { Queryable } from '../database/transaction.ts';

export const attendanceStates = ['open', 'attended', 'made up', 'excused', 'missed'] as const;
export type AttendanceState = (typeof attendanceStates)[number];

export interface OwnClinic {
  readonly id: string;
  readonly seasonId: string;
  readonly season: string;
  readonly title: string;
  /** YYYY-MM-DD. */
  readonly heldOn: string;
  readonly place: string;
  readonly minutes: number | null;
  readonly makeUp: string;
  readonly state: AttendanceState;
}

/** Clinics that an official was asked to, the newest first; of one season where it is given. */
export async function ownClinics(
  db: Queryable,
  conferenceId: string,
  officialId: string,
  seasonId: string | null = null,
): Promise<OwnClinic[]> {
  const { rows } = await db.query<OwnClinic>(
    `SELECT c.id, c.season_id AS "seasonId", s.name AS season, c.title, to_char(c.held_on, 'YYYY-MM-DD') AS "heldOn", c.place,
            c.minutes, c.make_up AS "makeUp", a.state
       FROM clinic_attendance a
       JOIN clinic c ON c.conference_id = a.conference_id AND c.id = a.clinic_id
       JOIN season s ON s.conference_id = c.conference_id AND s.id = c.season_id
      WHERE a.conference_id = $1 AND a.official_id = $2 AND ($3::uuid IS NULL OR c.season_id = $3)
      ORDER BY c.held_on DESC, c.id`,
    [conferenceId, officialId, seasonId],
  );
  return rows;
}
