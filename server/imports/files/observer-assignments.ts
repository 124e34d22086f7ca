import { email, line, oneOf } from '../csv/cells.ts';
import { fileFormat, optional, required } from '../csv/format.ts';
import { countMerged, fileKind } from './file-kind.ts';
import { findGame, findPerson, gamesByKey, peopleByEmail } from './references.ts';

const ways = ['in person', 'film'] as const;
const answers = ['offered', 'accepted', 'declined'] as const;

export const observerAssignmentsFormat = fileFormat({
  name: 'observer-assignments',
  purpose: 'Which observer watches which game, in the stadium or on film, and the answer.',
  columns: {
    game: required('game', line(100), 'Write the game as in schedule.csv.'),
    email: required('email', email, 'Write the e-mail address of an observer in staff.csv.'),
    how: required('how', oneOf(ways), 'Write "in person" or "film".'),
    answer: optional('answer', oneOf(answers), 'Write offered, accepted or declined; empty means offered.'),
    season: optional('season', line(100), 'Needed only when two seasons use the same game keys.'),
  },
  key: ['season', 'game', 'email'],
});

export const observerAssignments = fileKind({
  format: observerAssignmentsFormat,
  staging: [
    { name: 'game_id', type: 'uuid' },
    { name: 'observer_id', type: 'uuid' },
    { name: 'how', type: 'text' },
    { name: 'answer', type: 'text' },
    { name: 'email', type: 'text' },
  ],
  unique: [
    {
      columns: ['game_id', 'observer_id'],
      heading: 'email',
      shows: 'email',
      says: 'has the same observer and game',
    },
  ],
  async open(client, conferenceId) {
    const games = await gamesByKey(client, conferenceId);
    const people = await peopleByEmail(client, conferenceId);
    return (row, tell) => {
      const game = findGame(games, row, tell);
      const observer = findPerson(people, row.email, 'observer', tell);
      return game === undefined || observer === undefined
        ? undefined
        : [game, observer, row.how, row.answer, row.email];
    };
  },
  merge(client, conferenceId) {
    return countMerged(
      client,
      `INSERT INTO observer_assignment AS a (conference_id, game_id, observer_id, how, answer, answered_at)
       SELECT $1, game_id, observer_id, how, COALESCE(answer, 'offered'),
              CASE WHEN answer IN ('accepted', 'declined') THEN now() END
         FROM staged
       ON CONFLICT (conference_id, game_id, observer_id) DO UPDATE
         SET how = excluded.how,
             answer = COALESCE((SELECT s.answer FROM staged s
                                 WHERE s.game_id = excluded.game_id AND s.observer_id = excluded.observer_id), a.answer),
             answered_at = COALESCE(a.answered_at, excluded.answered_at)
         WHERE a.how <> excluded.how
            OR (SELECT s.answer FROM staged s
                 WHERE s.game_id = excluded.game_id AND s.observer_id = excluded.observer_id) <> a.answer
       RETURNING (xmax = 0) AS added`,
      [conferenceId],
    );
  },
});
