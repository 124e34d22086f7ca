import { validate as isUuid } from 'uuid';
import type { Queryable } from '../database/transaction.ts';
import type { Session } from './session.ts';

// Whose material is whose: each question is asked once, here, and always within the session's conference. Policies
// ask by these, and so does a store that is handed an id from elsewhere than the address.

type Who = Pick<Session, 'conferenceId' | 'personId'>;

async function exists(db: Queryable, sql: string, who: Who, id: string): Promise<boolean> {
  if (!isUuid(id)) return false;
  const { rowCount } = await db.query(`${sql} LIMIT 1`, [who.conferenceId, who.personId, id]);
  return rowCount === 1;
}

/** The thing exists in the session's conference, whoever's it is: what a coordinator may reach. */
export async function isInConference(
  db: Queryable,
  who: Who,
  table: 'person' | 'report' | 'game' | 'observer_assignment' | 'letter' | 'reply',
  id: string,
): Promise<boolean> {
  if (!isUuid(id)) return false;
  const { rowCount } = await db.query(`SELECT FROM ${table} WHERE conference_id = $1 AND id = $2`, [
    who.conferenceId,
    id,
  ]);
  return rowCount === 1;
}

/** The signed-in person is the observer who writes this report. */
export const wroteReport = (db: Queryable, who: Who, reportId: string) =>
  exists(db, 'SELECT FROM report WHERE conference_id = $1 AND observer_id = $2 AND id = $3', who, reportId);

/** The signed-in observer is assigned to the game and has not declined. */
export const isAssignedToGame = (db: Queryable, who: Who, gameId: string) =>
  exists(
    db,
    `SELECT FROM observer_assignment
      WHERE conference_id = $1 AND observer_id = $2 AND game_id = $3 AND answer <> 'declined'`,
    who,
    gameId,
  );

/** The assignment was offered to the signed-in observer, whatever the answer. */
export const ownsAssignment = (db: Queryable, who: Who, assignmentId: string) =>
  exists(
    db,
    'SELECT FROM observer_assignment WHERE conference_id = $1 AND observer_id = $2 AND id = $3',
    who,
    assignmentId,
  );

/** The observation is about the signed-in official and its report was released. */
export const isReleasedObservationAbout = (db: Queryable, who: Who, observationId: string) =>
  exists(
    db,
    `SELECT FROM observation o JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
      WHERE o.conference_id = $1 AND o.person_id = $2 AND o.id = $3 AND o.removed_at IS NULL AND r.state = 'released'`,
    who,
    observationId,
  );

/** The signed-in official wrote this reply. */
export const wroteReply = (db: Queryable, who: Who, replyId: string) =>
  exists(db, 'SELECT FROM reply WHERE conference_id = $1 AND official_id = $2 AND id = $3', who, replyId);

/** The letter is to the signed-in official and was released. */
export const isReleasedLetterTo = (db: Queryable, who: Who, letterId: string) =>
  exists(
    db,
    'SELECT FROM letter WHERE conference_id = $1 AND person_id = $2 AND id = $3 AND released_at IS NOT NULL',
    who,
    letterId,
  );
