import { timeZone } from '../../web/time-zone.ts';
import { decimal, line } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';

export const venuesFormat = fileFormat({
  name: 'venues',
  purpose: 'Where games are played, with coordinates for travel and the time zone of kickoffs.',
  columns: {
    name: required('name', line(200), 'Write the name of the venue.'),
    place: optional('place', line(200), 'Write the town, or leave it empty.'),
    latitude: required(
      'latitude',
      decimal(-90, 90),
      'Write degrees north with a decimal point, such as 41.62.',
    ),
    longitude: required(
      'longitude',
      decimal(-180, 180),
      'Write degrees east with a decimal point; west of Greenwich is negative, such as -93.98.',
    ),
    timeZone: required('time zone', timeZone, 'Write an IANA time zone name, such as America/Chicago.'),
  },
  key: ['name'],
});

export const venues = fileKind({
  format: venuesFormat,
  staging: [
    { name: 'name', type: 'text' },
    { name: 'place', type: 'text' },
    { name: 'latitude', type: 'double precision' },
    { name: 'longitude', type: 'double precision' },
    { name: 'time_zone', type: 'text' },
  ],
  unique: [{ columns: ['name'], heading: 'name', shows: 'name', says: 'has the same venue' }],
  async open() {
    return (row) => [row.name, row.place ?? '', row.latitude, row.longitude, row.timeZone];
  },
  merge(client, conferenceId, present) {
    return countMerged(
      client,
      `INSERT INTO venue AS v (conference_id, name, place, latitude, longitude, time_zone)
       SELECT $1, name, place, latitude, longitude, time_zone FROM staged
       ON CONFLICT (conference_id, name) DO UPDATE
         SET place = CASE WHEN $2 THEN excluded.place ELSE v.place END,
             latitude = excluded.latitude, longitude = excluded.longitude, time_zone = excluded.time_zone
         WHERE (v.latitude, v.longitude, v.time_zone) IS DISTINCT FROM
               (excluded.latitude, excluded.longitude, excluded.time_zone)
            OR ($2 AND v.place IS DISTINCT FROM excluded.place)
       RETURNING (xmax = 0) AS added`,
      [conferenceId, present.has('place')],
    );
  },
});
