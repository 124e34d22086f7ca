import { fitsTogether, roles } from '../../accounts/roles.ts';
import { decimal, email, line, someOf } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';
import { idsByName } from './references.ts';

export const staffFormat = fileFormat({
  name: 'staff',
  purpose: 'The people of the conference, their roles, and where observers travel from.',
  columns: {
    email: required('email', email, 'Write one e-mail address, such as name@demo.example.', [
      'e-mail address',
      'mail',
    ]),
    givenName: required('given name', line(100), 'Write the given name.', ['first name']),
    familyName: required('family name', line(100), 'Write the family name.', ['last name', 'surname']),
    roles: required(
      'roles',
      someOf(roles),
      `Write ${roles.join(', ')}, or several of them separated by semicolons.`,
    ),
    team: optional('team', line(200), 'Write the team as in teams.csv, or leave it empty.'),
    homePlace: optional('home place', line(200), 'Write the town, or leave it empty.'),
    homeLatitude: optional(
      'home latitude',
      decimal(-90, 90),
      'Write degrees north with a decimal point, such as 41.62, or leave it empty.',
    ),
    homeLongitude: optional(
      'home longitude',
      decimal(-180, 180),
      'Write degrees east with a decimal point (west is negative), such as -93.98, or leave it empty.',
    ),
  },
  key: ['email'],
  check(row) {
    if (!fitsTogether(row.roles))
      return [
        {
          column: 'roles',
          problem: 'A team’s contact has another role too.',
          fix: 'Write team contact alone, or leave it out.',
        },
      ];
    if (row.roles.includes('team contact') !== (row.team !== null))
      return [
        {
          column: 'team',
          problem:
            row.team === null
              ? 'The team that this contact speaks for is missing.'
              : 'Only a team contact has a team here.',
          fix:
            row.team === null
              ? 'Write the team as in teams.csv, in a column "team".'
              : 'Leave the team empty, or write team contact as the role.',
        },
      ];
    if ((row.homeLatitude === null) === (row.homeLongitude === null)) return [];
    return [
      {
        column: row.homeLatitude === null ? 'homeLatitude' : 'homeLongitude',
        problem: 'One of the two home coordinates is missing.',
        fix: 'Write both latitude and longitude, or neither.',
      },
    ];
  },
});

export const staff = fileKind({
  format: staffFormat,
  staging: [
    { name: 'email', type: 'text' },
    { name: 'given_name', type: 'text' },
    { name: 'family_name', type: 'text' },
    { name: 'roles', type: 'text[]' },
    { name: 'team_id', type: 'uuid' },
    { name: 'home_place', type: 'text' },
    { name: 'home_latitude', type: 'double precision' },
    { name: 'home_longitude', type: 'double precision' },
  ],
  unique: [{ columns: ['email'], heading: 'email', shows: 'email', says: 'has the same person' }],
  async open(client, conferenceId) {
    const teams = await idsByName(client, conferenceId, 'team');
    return (row, tell) => {
      const team = row.team === null ? null : teams.get(row.team);
      if (team === undefined) {
        tell(
          'team',
          row.team ?? '',
          'There is no team of this name.',
          'Write the team as in teams.csv, and import teams.csv first.',
        );
        return undefined;
      }
      return [
        row.email,
        row.givenName,
        row.familyName,
        [...row.roles].sort(),
        team,
        row.homePlace,
        row.homeLatitude,
        row.homeLongitude,
      ];
    };
  },
  /** A file that leaves the conference without a coordinator would lock everybody out. */
  async check(client, conferenceId) {
    const { rows } = await client.query<{ line: number; email: string }>(
      `SELECT s.line, s.email
         FROM staged s
         JOIN person p ON p.conference_id = $1 AND p.email = s.email AND p.active
         JOIN person_role r ON r.conference_id = $1 AND r.person_id = p.id AND r.role = 'coordinator'
        WHERE NOT 'coordinator' = ANY (s.roles)
          AND NOT EXISTS (SELECT FROM staged o WHERE 'coordinator' = ANY (o.roles))
          AND NOT EXISTS (
            SELECT FROM person_role k JOIN person q ON q.conference_id = $1 AND q.id = k.person_id AND q.active
             WHERE k.conference_id = $1 AND k.role = 'coordinator'
               AND NOT EXISTS (SELECT FROM staged o WHERE o.email = q.email))
        ORDER BY s.line`,
      [conferenceId],
    );
    return rows.map((row) => ({
      line: row.line,
      column: 'roles',
      value: row.email,
      problem: 'This takes the role of coordinator from the last person who has it.',
      fix: 'Keep "coordinator" among the roles of at least one person.',
    }));
  },
  async merge(client, conferenceId, present) {
    const counts = await countMerged(
      client,
      `INSERT INTO person AS p
         (conference_id, email, given_name, family_name, home_place, home_latitude, home_longitude)
       SELECT $1, email, given_name, family_name, home_place, home_latitude, home_longitude FROM staged
       ON CONFLICT (conference_id, email) DO UPDATE
         SET given_name = excluded.given_name, family_name = excluded.family_name,
             home_place = CASE WHEN $2 THEN excluded.home_place ELSE p.home_place END,
             home_latitude = CASE WHEN $3 THEN excluded.home_latitude ELSE p.home_latitude END,
             home_longitude = CASE WHEN $3 THEN excluded.home_longitude ELSE p.home_longitude END
         WHERE (p.given_name, p.family_name) IS DISTINCT FROM (excluded.given_name, excluded.family_name)
            OR ($2 AND p.home_place IS DISTINCT FROM excluded.home_place)
            OR ($3 AND (p.home_latitude, p.home_longitude) IS DISTINCT FROM
                       (excluded.home_latitude, excluded.home_longitude))
            OR (SELECT array_agg(r.role ORDER BY r.role) FROM person_role r
                 WHERE r.conference_id = p.conference_id AND r.person_id = p.id)
               IS DISTINCT FROM (SELECT s.roles FROM staged s WHERE s.email = excluded.email)
            OR (SELECT s.team_id FROM staged s WHERE s.email = excluded.email) <>
               coalesce((SELECT c.team_id FROM team_contact c
                          WHERE c.conference_id = p.conference_id AND c.person_id = p.id), p.id)
       RETURNING (xmax = 0) AS added`,
      [conferenceId, present.has('homePlace'), present.has('homeLatitude') && present.has('homeLongitude')],
    );
    await client.query(
      `DELETE FROM person_role r USING person p, staged s
        WHERE r.conference_id = $1 AND p.conference_id = $1 AND p.id = r.person_id AND s.email = p.email
          AND NOT r.role = ANY (s.roles)`,
      [conferenceId],
    );
    await client.query(
      `INSERT INTO person_role (conference_id, person_id, role)
       SELECT $1, p.id, role
         FROM staged s JOIN person p ON p.conference_id = $1 AND p.email = s.email, unnest(s.roles) AS role
       ON CONFLICT DO NOTHING`,
      [conferenceId],
    );
    await client.query(
      `INSERT INTO team_contact AS c (conference_id, person_id, team_id)
       SELECT $1, p.id, s.team_id FROM staged s JOIN person p ON p.conference_id = $1 AND p.email = s.email
        WHERE s.team_id IS NOT NULL
       ON CONFLICT (conference_id, person_id) DO UPDATE SET team_id = excluded.team_id
         WHERE c.team_id <> excluded.team_id`,
      [conferenceId],
    );
    return counts;
  },
});
