import type pg from 'pg';
import { attendanceStates } from '../../knowledge/clinic-rows.ts';
import { email, line, localDay, oneOf, orderOfDays, text } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';
import { checkSeasons } from './season-of-row.ts';

const clinicAttendanceFormat = fileFormat({
  name: 'clinic-attendance',
  purpose: 'Who was at clinics that were made on the Clinics page.',
  columns: {
    season: required('season', line(100), 'Write the season as on the Seasons page.'),
    clinic: required('clinic', line(200), 'Write the title as on the Clinics page.'),
    // Spreadsheets that a sheet is filled in with write its days in their own way.
    day: {
      ...required('day', localDay('is not a day such as 2031-04-12'), 'Write its day, such as 2031-04-12.'),
      asking: orderOfDays,
    },
    email: required('email', email, 'Write the e-mail address of an official who was asked to it.'),
    attendance: optional(
      'attendance',
      oneOf(attendanceStates),
      'Write attended, made up, excused, missed, or open where nothing is to be noted; empty leaves what is there.',
    ),
    note: optional('note', text(500), 'Write a note of 500 characters at most; empty leaves what is there.'),
  },
  key: ['season', 'clinic', 'day', 'email'],
});

/** Attendance, over what is noted. Clinics are made and officials asked on their pages, so that a slip of the pen does neither. */
export const clinicAttendance = fileKind({
  format: clinicAttendanceFormat,
  staging: [
    { name: 'clinic_id', type: 'uuid' },
    { name: 'official_id', type: 'uuid' },
    { name: 'state', type: 'text' },
    { name: 'note', type: 'text' },
    { name: 'email', type: 'text' },
  ],
  unique: [
    {
      columns: ['clinic_id', 'official_id'],
      heading: 'email',
      shows: 'email',
      says: 'has the same official and clinic',
    },
  ],
  async open(client, conferenceId) {
    const seasonIsThere = await checkSeasons(client, conferenceId);
    const { rows } = await client.query<{ id: string; season: string; title: string; day: string }>(
      `SELECT c.id, n.name AS season, c.title, to_char(c.held_on, 'YYYY-MM-DD') AS day
         FROM clinic c JOIN season n ON n.conference_id = c.conference_id AND n.id = c.season_id
        WHERE c.conference_id = $1 ORDER BY c.held_on, c.title`,
      [conferenceId],
    );
    const clinicOf = (season: string, title: string, day: string) =>
      rows.find((one) => one.season === season && one.title === title && one.day === day);
    const asked = await askedByEmail(client, conferenceId);
    return (row, tell) => {
      if (!seasonIsThere({ season: row.season }, tell)) return undefined;
      const clinic = clinicOf(row.season, row.clinic, row.day);
      if (!clinic) {
        const days = rows.filter((one) => one.season === row.season && one.title === row.clinic);
        if (days.length > 0)
          tell(
            'day',
            row.day,
            `This clinic was not on this day, but on ${days.map(({ day }) => day).join(', ')}.`,
            'Write its day as on the Clinics page.',
          );
        else
          tell(
            'clinic',
            row.clinic,
            `Season ${row.season} has no clinic of this title.`,
            'Correct the title, or make the clinic on the Clinics page first.',
          );
        return undefined;
      }
      const official = asked.get(`${clinic.id} ${row.email}`);
      if (official === undefined) {
        tell(
          'email',
          row.email,
          'Nobody of this e-mail address was asked to this clinic.',
          'Correct the address, or ask whoever came since on the clinic’s page first.',
        );
        return undefined;
      }
      return [clinic.id, official, row.attendance, row.note, row.email];
    };
  },
  async merge(client, conferenceId, _present, importedBy) {
    // As whoever notes on a clinic's page holds it: so the one sees what the other noted.
    await client.query(
      `SELECT FROM clinic WHERE conference_id = $1 AND id IN (SELECT clinic_id FROM staged) ORDER BY id FOR NO KEY UPDATE`,
      [conferenceId],
    );
    return countMerged(
      client,
      `UPDATE clinic_attendance a
          SET state = coalesce(s.state, a.state), note = coalesce(s.note, a.note), noted_by = $2::uuid, noted_at = now()
         FROM staged s
         JOIN clinic_attendance was
           ON was.conference_id = $1 AND was.clinic_id = s.clinic_id AND was.official_id = s.official_id
        WHERE a.conference_id = $1 AND a.clinic_id = s.clinic_id AND a.official_id = s.official_id
          AND (coalesce(s.state, a.state), coalesce(s.note, a.note)) IS DISTINCT FROM (a.state, a.note)
       RETURNING was.state = 'open' AS added`,
      [conferenceId, importedBy],
    );
  },
});

/** Officials asked to clinics, by the clinic's id and their e-mail address. */
async function askedByEmail(
  client: pg.ClientBase,
  conferenceId: string,
): Promise<ReadonlyMap<string, string>> {
  const { rows } = await client.query<{ clinicId: string; email: string; id: string }>(
    `SELECT a.clinic_id AS "clinicId", lower(p.email) AS email, p.id
       FROM clinic_attendance a JOIN person p ON p.conference_id = a.conference_id AND p.id = a.official_id
      WHERE a.conference_id = $1`,
    [conferenceId],
  );
  return new Map(rows.map((row) => [`${row.clinicId} ${row.email}`, row.id]));
}
