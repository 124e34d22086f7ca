import { z } from 'zod';
import { decimal, email, integer, line, localDay, orderOfDays, text, yesOrNo } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';
import { findPerson, idsByName, peopleByEmail } from './references.ts';
import { checkSeasons, openFirstSeason } from './season-of-row.ts';

const several = (cell: string) =>
  cell
    .split(';')
    .map((part) => part.trim())
    .filter((part) => part !== '');
const days = text(1000)
  .transform(several)
  .pipe(z.array(localDay('has what is not a day such as 2031-12-06')).max(60, 'names more than 60 days'));
const known = 'or leave it empty where it is not known.';

const officialFactsFormat = fileFormat({
  name: 'official-facts',
  purpose: 'What is known of officials beside grades, for selections after the season.',
  columns: {
    season: required('season', line(100), 'Write the season as on the Seasons page.'),
    email: required('email', email, 'Write the e-mail address of an official in staff.csv.'),
    yearsOfService: optional('years of service', integer(0, 80), `Write a whole number of years, ${known}`),
    rulesTest: optional('rules test', decimal(0, 100), `Write percent, such as 91.5, ${known}`),
    fitnessPassed: optional('fitness passed', yesOrNo, `Write yes or no, ${known}`),
    fitnessUntil: {
      ...optional(
        'fitness until',
        localDay('is not a day such as 2031-12-06'),
        'Write the last day on which the test counts, such as 2032-06-30, or leave it empty.',
      ),
      asking: orderOfDays,
    },
    goodStanding: optional('good standing', yesOrNo, `Write yes or no, ${known}`),
    standingReason: optional('standing reason', text(2000), 'Write why, or leave it empty.'),
    available: optional('available', yesOrNo, `Write yes or no, ${known}`),
    daysAway: optional('days away', days, 'Write days such as 2031-12-06, with semicolons between.'),
    postseasonsLately: optional(
      'postseason games lately',
      integer(0, 30),
      `Write the postseason games of the last three seasons, ${known}`,
    ),
    ties: optional(
      'tied to',
      text(4000).transform(several),
      'Write teams as in teams.csv, with semicolons between, or leave it empty.',
    ),
  },
  key: ['season', 'email'],
});

/** By the format's column: the table's, and what stands in it where nothing is known. */
const facts = {
  yearsOfService: ['years_of_service', 'integer', 'NULL'],
  rulesTest: ['rules_test_score', 'double precision', 'NULL'],
  fitnessPassed: ['fitness_passed', 'boolean', 'NULL'],
  fitnessUntil: ['fitness_until', 'date', 'NULL'],
  goodStanding: ['good_standing', 'boolean', 'NULL'],
  standingReason: ['standing_reason', 'text', `''`],
  available: ['available', 'boolean', 'NULL'],
  daysAway: ['days_away', 'jsonb', `'[]'`],
  postseasonsLately: ['postseasons_lately', 'integer', 'NULL'],
} as const;
type Fact = keyof typeof facts;
const names = Object.keys(facts) as Fact[];
const columns = names.map((name) => facts[name][0]);
/** A column that the file has not got leaves what is there. */
const then = (name: Fact) =>
  `CASE WHEN '${name}' = ANY ($2::text[]) THEN excluded.${facts[name][0]} ELSE f.${facts[name][0]} END`;
const tiesOf = (person: string) =>
  `ARRAY(SELECT t.team_id::text FROM official_tie t WHERE t.conference_id = $1 AND t.person_id = ${person} ORDER BY 1)`;

export const officialFacts = fileKind({
  format: officialFactsFormat,
  staging: [
    { name: 'season', type: 'text' },
    { name: 'person_id', type: 'uuid' },
    ...names.map((name) => ({ name: facts[name][0], type: facts[name][1] })),
    { name: 'ties', type: 'text[]' },
    { name: 'email', type: 'text' },
  ],
  unique: [
    {
      columns: ['season', 'person_id'],
      heading: 'email',
      shows: 'email',
      says: 'has the same official and season',
    },
  ],
  async open(client, conferenceId) {
    const people = await peopleByEmail(client, conferenceId);
    const teams = await idsByName(client, conferenceId, 'team');
    const seasonIsThere = await checkSeasons(client, conferenceId);
    return (row, tell) => {
      const season = seasonIsThere({ season: row.season }, tell);
      const person = findPerson(people, row.email, 'official', tell);
      const ties = row.ties ?? [];
      const unknown = ties.filter((name) => !teams.has(name));
      if (unknown.length > 0)
        tell(
          'ties',
          unknown.join('; '),
          `There is no team of the name ${unknown[0]}.`,
          'Write teams as in teams.csv, and import teams.csv first.',
        );
      if (person === undefined || !season || unknown.length > 0) return undefined;
      return [
        ...[row.season, person, row.yearsOfService, row.rulesTest, row.fitnessPassed, row.fitnessUntil],
        ...[row.goodStanding, row.standingReason, row.available],
        row.daysAway === null ? null : JSON.stringify([...new Set(row.daysAway)].sort()),
        row.postseasonsLately,
        [...new Set(ties.map((name) => teams.get(name)!))].sort(),
        row.email,
      ];
    };
  },
  async merge(client, conferenceId, present, importedBy) {
    await openFirstSeason(client, conferenceId);
    const values = [conferenceId, [...present], importedBy];
    const staged = `staged s JOIN season n ON n.conference_id = $1 AND n.name = s.season`;
    const counts = await countMerged(
      client,
      `INSERT INTO official_fact AS f (conference_id, season_id, person_id, ${columns.join(', ')}, entered_how, entered_by)
       SELECT $1, n.id, s.person_id,
              ${names.map((name) => `coalesce(s.${facts[name][0]}, ${facts[name][2]})`).join(', ')}, 'file', $3::uuid
         FROM ${staged}
       ON CONFLICT (conference_id, season_id, person_id) DO UPDATE
         SET ${names.map((name) => `${facts[name][0]} = ${then(name)}`).join(', ')},
             entered_how = 'file', entered_by = $3::uuid, entered_at = now(), revision = f.revision + 1
         WHERE (${columns.map((column) => `f.${column}`).join(', ')}) IS DISTINCT FROM (${names.map(then).join(', ')})
            OR 'ties' = ANY ($2::text[]) AND ${tiesOf('f.person_id')} IS DISTINCT FROM
               (SELECT s.ties FROM ${staged} WHERE s.person_id = f.person_id AND n.id = f.season_id)
       RETURNING (xmax = 0) AS added`,
      values,
    );
    if (!present.has('ties')) return counts;
    await client.query(
      `DELETE FROM official_tie t USING staged s
        WHERE t.conference_id = $1 AND t.person_id = s.person_id
          AND NOT EXISTS (SELECT FROM staged o WHERE o.person_id = t.person_id AND t.team_id::text = ANY (o.ties))`,
      [conferenceId],
    );
    await client.query(
      `INSERT INTO official_tie (conference_id, person_id, team_id, entered_by)
       SELECT DISTINCT $1::uuid, s.person_id, tie::uuid, $2::uuid FROM staged s, unnest(s.ties) AS tie
       ON CONFLICT DO NOTHING`,
      [conferenceId, importedBy],
    );
    return counts;
  },
});
