import { line } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';
import { idsByName } from './references.ts';

export const teamsFormat = fileFormat({
  name: 'teams',
  purpose: 'The teams and where each plays at home.',
  columns: {
    name: required('name', line(200), 'Write the name of the team.'),
    venue: optional('home venue', line(200), 'Write a venue as in venues.csv, or leave it empty.'),
  },
  key: ['name'],
});

export const teams = fileKind({
  format: teamsFormat,
  staging: [
    { name: 'name', type: 'text' },
    { name: 'venue_id', type: 'uuid' },
  ],
  unique: [{ columns: ['name'], heading: 'name', shows: 'name', says: 'has the same team' }],
  async open(client, conferenceId) {
    const venues = await idsByName(client, conferenceId, 'venue');
    return (row, tell) => {
      if (row.venue === null) return [row.name, null];
      const venue = venues.get(row.venue);
      if (venue !== undefined) return [row.name, venue];
      tell(
        'venue',
        row.venue,
        'There is no venue of this name.',
        'Write the venue as in venues.csv, and import venues.csv first.',
      );
      return undefined;
    };
  },
  merge(client, conferenceId, present) {
    return countMerged(
      client,
      `INSERT INTO team AS t (conference_id, name, venue_id)
       SELECT $1, name, venue_id FROM staged
       ON CONFLICT (conference_id, name) DO UPDATE SET venue_id = excluded.venue_id
         WHERE $2 AND t.venue_id IS DISTINCT FROM excluded.venue_id
       RETURNING (xmax = 0) AS added`,
      [conferenceId, present.has('venue')],
    );
  },
});
