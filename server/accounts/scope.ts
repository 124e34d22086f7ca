/**
 * Whether the signed-in person may reach one thing: SQL that gives a row when it is so, where `s` is their session
 * (conference and person) and `$3` the thing's id. It is asked in the query that reads the session (`session.ts`),
 * which each request makes anyway. Every question stays within the session's conference.
 */
export interface Question {
  readonly name: string;
  readonly sql: string;
}

const inConference = (table: string): Question => ({
  name: `any ${table}`,
  sql: `SELECT FROM ${table} t WHERE t.conference_id = s.conference_id AND t.id = $3`,
});

/** The thing exists in the session's conference, whoever's it is: what a coordinator may reach. */
export const anyPerson = inConference('person');
export const anyReport = inConference('report');
export const anyGame = inConference('game');
export const anyAssignment = inConference('observer_assignment');
export const anyLetter = inConference('letter');
export const anyReply = inConference('reply');
export const anySelection = inConference('selection');
/** The place at a game after the season was offered to the signed-in official. */
export const wasOffered: Question = {
  name: 'was offered',
  sql: `${inConference('selection_offer').sql} AND t.official_id = s.person_id`,
};
/** A team's draft is not the conference's to see. */
export const anyInquiry: Question = {
  name: 'any inquiry',
  sql: `${inConference('inquiry').sql} AND t.state <> 'draft'`,
};

/** It is the signed-in person themselves. */
export const themselves: Question = {
  name: 'themselves',
  sql: 'SELECT WHERE s.person_id = $3',
};

/** The thing is the signed-in person's: `column` of its table names them. */
const theirs = (name: string, table: string, column: string): Question => ({
  name,
  sql: `${inConference(table).sql} AND t.${column} = s.person_id`,
});

/** The signed-in person is the observer who writes this report. */
export const wroteReport = theirs('wrote report', 'report', 'observer_id');

export const anyCalibrationSet = inConference('calibration_set');

/** The signed-in observer was asked to mark the set's clips, and it was opened. */
export const askedToCalibrate: Question = {
  name: 'asked to calibrate',
  sql: `SELECT FROM calibration_observer t
          JOIN calibration_set c ON c.conference_id = t.conference_id AND c.id = t.set_id AND c.state <> 'draft'
         WHERE t.conference_id = s.conference_id AND t.set_id = $3 AND t.observer_id = s.person_id`,
};

/** The signed-in observer is assigned to the game and has not declined. */
export const assignedToGame: Question = {
  name: 'assigned to game',
  sql: `SELECT FROM observer_assignment t
         WHERE t.conference_id = s.conference_id AND t.game_id = $3 AND t.observer_id = s.person_id
           AND t.answer <> 'declined'`,
};

/** The signed-in official worked the game or was marked in it, and a report of it was released: the plays explain it. */
export const workedReleasedGame: Question = {
  name: 'worked released game',
  sql: `SELECT FROM report r
         WHERE r.conference_id = s.conference_id AND r.game_id = $3 AND r.state = 'released'
           AND (EXISTS (SELECT FROM working_crew_member t
                         WHERE t.conference_id = r.conference_id AND t.game_id = r.game_id
                           AND t.person_id = s.person_id)
             OR EXISTS (SELECT FROM observation t
                         WHERE t.conference_id = r.conference_id AND t.report_id = r.id
                           AND t.person_id = s.person_id AND t.removed_at IS NULL))`,
};

/** The assignment was offered to the signed-in observer, whatever the answer. */
export const ownsAssignment = theirs('owns assignment', 'observer_assignment', 'observer_id');

/** The observation is about the signed-in official and its report was released. */
export const releasedObservation: Question = {
  name: 'released observation',
  sql: `SELECT FROM observation t JOIN report r ON r.conference_id = t.conference_id AND r.id = t.report_id
         WHERE t.conference_id = s.conference_id AND t.id = $3 AND t.person_id = s.person_id
           AND t.removed_at IS NULL AND r.state = 'released'`,
};

/** The signed-in official wrote this reply. */
export const wroteReply = theirs('wrote reply', 'reply', 'official_id');

/** The letter is to the signed-in official and was released. */
export const releasedLetter: Question = {
  name: 'released letter',
  sql: `${theirs('own letter', 'letter', 'person_id').sql} AND t.released_at IS NOT NULL`,
};

/** Whom the conference lets see film, by its setting; without one, observers of the game. */
const filmIsFor = (...viewers: string[]) =>
  `coalesce((SELECT f.viewers FROM film_setting f WHERE f.conference_id = s.conference_id), 'observers')
     IN (${viewers.map((name) => `'${name}'`).join(', ')})`;

/** The signed-in observer is assigned to the game, and observers may see its film. */
export const assignedToFilmedGame: Question = {
  name: 'assigned to filmed game',
  sql: `${assignedToGame.sql} AND ${filmIsFor('observers', 'officials')}`,
};

/** The plays of the game explain what was released of the signed-in official, and those who worked it may see its film. */
export const workedFilmedGame: Question = {
  name: 'worked filmed game',
  sql: `${workedReleasedGame.sql} AND ${filmIsFor('officials')}`,
};

/** The signed-in person is of the audience of an edition of the training program. */
export const isToWatch: Question = {
  name: 'is to watch',
  sql: `SELECT FROM training_viewer t
         WHERE t.conference_id = s.conference_id AND t.program_id = $3 AND t.person_id = s.person_id`,
};

/** SQL: the signed-in person speaks for the team `team`. */
const speaksFor = (team: string) =>
  `EXISTS (SELECT FROM team_contact c WHERE c.conference_id = s.conference_id AND c.person_id = s.person_id
                                       AND c.team_id ${team})`;

/** The inquiry is of the team that the signed-in contact speaks for. */
export const inquiryOfOwnTeam: Question = {
  name: 'inquiry of own team',
  sql: `${inConference('inquiry').sql} AND ${speaksFor('= t.team_id')}`,
};

/** The team that the signed-in contact speaks for plays in the game. */
export const gameOfOwnTeam: Question = {
  name: 'game of own team',
  sql: `${inConference('game').sql} AND ${speaksFor('IN (t.home_team_id, t.visiting_team_id)')}`,
};

/** The signed-in official was asked for a statement about the play of this inquiry. */
export const askedForStatement: Question = {
  name: 'asked for statement',
  sql: `SELECT FROM inquiry_statement t
         WHERE t.conference_id = s.conference_id AND t.inquiry_id = $3 AND t.person_id = s.person_id`,
};

/** The signed-in person sits on the committee of this selection. */
export const sitsOnCommittee: Question = {
  name: 'sits on committee',
  sql: `SELECT FROM selection_member m
         WHERE m.conference_id = s.conference_id AND m.selection_id = $3 AND m.person_id = s.person_id`,
};

/** The signed-in person was asked to read the play of this inquiry a second time. */
export const readsSecond: Question = {
  name: 'reads second',
  sql: `SELECT FROM inquiry_reading t
         WHERE t.conference_id = s.conference_id AND t.inquiry_id = $3 AND t.reader_id = s.person_id`,
};
