import { positions } from '../../football/positions.ts';
import { email, line, position } from '../csv/cells.ts';
import { fileFormat, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';
import { findPerson, peopleByEmail } from './references.ts';
import { checkSeasons, openFirstSeason } from './season-of-row.ts';

export const crewsFormat = fileFormat({
  name: 'crews',
  purpose:
    'Who usually works together: one line for each official of each crew. The season is opened first, on the Seasons page.',
  columns: {
    season: required('season', line(100), 'Write the season, such as 2026.'),
    crew: required('crew', line(100), 'Write the name of the crew.'),
    position: required('position', position, `Write one of: ${positions.join(', ')}.`),
    email: required('email', email, 'Write the e-mail address of an official in staff.csv.'),
  },
  key: ['season', 'crew', 'position'],
});

export const crews = fileKind({
  format: crewsFormat,
  staging: [
    { name: 'season', type: 'text' },
    { name: 'crew', type: 'text' },
    { name: 'position', type: 'text' },
    { name: 'person_id', type: 'uuid' },
    { name: 'email', type: 'text' },
  ],
  unique: [
    {
      columns: ['season', 'crew', 'position'],
      heading: 'position',
      shows: 'position',
      says: 'has the same position of the same crew',
    },
    {
      columns: ['season', 'crew', 'person_id'],
      heading: 'email',
      shows: 'email',
      says: 'has the same official in the same crew',
    },
  ],
  async open(client, conferenceId) {
    const people = await peopleByEmail(client, conferenceId);
    const seasonIsThere = await checkSeasons(client, conferenceId);
    return (row, tell) => {
      const season = seasonIsThere({ season: row.season }, tell);
      const person = findPerson(people, row.email, 'official', tell);
      return person === undefined || !season
        ? undefined
        : [row.season, row.crew, row.position, person, row.email];
    };
  },
  async check(client, conferenceId) {
    const { rows } = await client.query<{ line: number; email: string; position: string }>(
      `SELECT s.line, s.email, m.position
         FROM staged s
         JOIN season n ON n.conference_id = $1 AND n.name = s.season
         JOIN crew c ON c.conference_id = $1 AND c.season_id = n.id AND c.name = s.crew
         JOIN crew_member m ON m.conference_id = $1 AND m.crew_id = c.id AND m.person_id = s.person_id
        WHERE NOT EXISTS (
          SELECT FROM staged o WHERE o.season = s.season AND o.crew = s.crew AND o.position = m.position)
        ORDER BY s.line`,
      [conferenceId],
    );
    return rows.map((row) => ({
      line: row.line,
      column: 'email',
      value: row.email,
      problem: `This official already is the crew's ${row.position}.`,
      fix: `Add a line for the crew's ${row.position}, or another official here.`,
    }));
  },
  async merge(client, conferenceId) {
    await openFirstSeason(client, conferenceId);
    await client.query(
      `INSERT INTO crew (conference_id, season_id, name)
       SELECT DISTINCT $1::uuid, n.id, s.crew FROM staged s
         JOIN season n ON n.conference_id = $1 AND n.name = s.season
       ON CONFLICT (conference_id, season_id, name) DO NOTHING`,
      [conferenceId],
    );
    const seats = `SELECT c.id AS crew_id, s.position, s.person_id
                     FROM staged s
                     JOIN season n ON n.conference_id = $1 AND n.name = s.season
                     JOIN crew c ON c.conference_id = $1 AND c.season_id = n.id AND c.name = s.crew`;
    // Two officials who change places are taken out first: no order of updates would keep them apart.
    const { rowCount } = await client.query(
      `DELETE FROM crew_member m USING (${seats}) seat
        WHERE m.conference_id = $1 AND m.crew_id = seat.crew_id AND m.position = seat.position
          AND m.person_id <> seat.person_id`,
      [conferenceId],
    );
    const changed = rowCount ?? 0;
    const counts = await countMerged(
      client,
      `INSERT INTO crew_member (conference_id, crew_id, position, person_id)
       SELECT $1, crew_id, position, person_id FROM (${seats}) seat
       ON CONFLICT (conference_id, crew_id, position) DO NOTHING
       RETURNING true AS added`,
      [conferenceId],
    );
    return { added: counts.added - changed, changed };
  },
});
