import { positions } from '../../football/positions.ts';
import { handedInStates } from '../../schedule/open-states.ts';
import { email, line, position } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind, type StagedProblem } from './file-kind.ts';
import { findGame, findPerson, gamesByKey, peopleByEmail } from './references.ts';

export const workingCrewsFormat = fileFormat({
  name: 'working-crews',
  purpose: 'Who really worked each game: one line for each official. This confirms the working crew.',
  columns: {
    game: required('game', line(100), 'Write the game as in schedule.csv.'),
    position: required('position', position, `Write one of: ${positions.join(', ')}.`),
    email: required('email', email, 'Write the e-mail address of an official in staff.csv.'),
    season: optional('season', line(100), 'Needed only when two seasons use the same game keys.'),
  },
  key: ['season', 'game', 'position'],
});

export const workingCrews = fileKind({
  format: workingCrewsFormat,
  staging: [
    { name: 'game_id', type: 'uuid' },
    { name: 'position', type: 'text' },
    { name: 'person_id', type: 'uuid' },
    { name: 'email', type: 'text' },
    { name: 'game', type: 'text' },
  ],
  unique: [
    {
      columns: ['game_id', 'position'],
      heading: 'position',
      shows: 'position',
      says: 'has the same position of the same game',
    },
    {
      columns: ['game_id', 'person_id'],
      heading: 'email',
      shows: 'email',
      says: 'has the same official in the same game',
    },
  ],
  async open(client, conferenceId) {
    const games = await gamesByKey(client, conferenceId);
    const people = await peopleByEmail(client, conferenceId);
    return (row, tell) => {
      const game = findGame(games, row, tell);
      const person = findPerson(people, row.email, 'official', tell);
      return game === undefined || person === undefined
        ? undefined
        : [game, row.position, person, row.email, row.game];
    };
  },
  async check(client, conferenceId) {
    const problems: StagedProblem[] = [];
    const twice = await client.query<{ line: number; email: string; position: string }>(
      `SELECT s.line, s.email, w.position
         FROM staged s
         JOIN working_crew_member w ON w.conference_id = $1 AND w.game_id = s.game_id AND w.person_id = s.person_id
        WHERE NOT EXISTS (SELECT FROM staged o WHERE o.game_id = s.game_id AND o.position = w.position)`,
      [conferenceId],
    );
    for (const row of twice.rows) {
      problems.push({
        line: row.line,
        column: 'email',
        value: row.email,
        problem: `This official already worked the game as ${row.position}.`,
        fix: `Add a line for the game's ${row.position}, or another official here.`,
      });
    }
    // Marks and counts of a filed report are about the people who worked; they may not change underneath it.
    const filed = await client.query<{ line: number; game: string; position: string }>(
      `SELECT s.line, s.game, s.position
         FROM staged s
         LEFT JOIN working_crew_member w
           ON w.conference_id = $1 AND w.game_id = s.game_id AND w.position = s.position
        WHERE w.person_id IS DISTINCT FROM s.person_id
          AND EXISTS (SELECT FROM report r
                       WHERE r.conference_id = $1 AND r.game_id = s.game_id AND r.state IN ${handedInStates})`,
      [conferenceId],
    );
    for (const row of filed.rows) {
      problems.push({
        line: row.line,
        column: 'game',
        value: row.game,
        problem: `A report on this game is filed with another ${row.position}.`,
        fix: 'Return the report to its observer before changing who worked the game.',
      });
    }
    return problems;
  },
  async merge(client, conferenceId) {
    const { rowCount } = await client.query(
      `DELETE FROM working_crew_member w USING staged s
        WHERE w.conference_id = $1 AND w.game_id = s.game_id AND w.position = s.position
          AND w.person_id <> s.person_id`,
      [conferenceId],
    );
    const changed = rowCount ?? 0;
    const counts = await countMerged(
      client,
      `INSERT INTO working_crew_member (conference_id, game_id, position, person_id)
       SELECT $1, game_id, position, person_id FROM staged
       ON CONFLICT (conference_id, game_id, position) DO NOTHING
       RETURNING true AS added`,
      [conferenceId],
    );
    await client.query(
      `UPDATE game SET crew_confirmed_at = now()
        WHERE conference_id = $1 AND crew_confirmed_at IS NULL AND id IN (SELECT game_id FROM staged)`,
      [conferenceId],
    );
    return { added: counts.added - changed, changed };
  },
});
