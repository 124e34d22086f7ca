import { randomUUID } from 'node:crypto';
import type pg from 'pg';
import { inTransaction } from '../../server/database/transaction.ts';
import type { Finding } from '../../server/duties/finding.ts';
import { confirmCrew } from '../../server/reports/filing/confirm-crew.ts';
import { fileReport } from '../../server/reports/filing/filing.ts';
import { openReport, putMarks } from '../../server/reports/filing/open-report.ts';
import { acceptReport, releaseReport } from '../../server/reports/filing/review-steps.ts';
import { everybodysDuty, type OneGame, oneGame } from '../reports/one-game.ts';

export interface Marked {
  readonly id: string;
  readonly playId: string;
  readonly personId: string;
}

export interface TaughtSeason extends OneGame {
  /** What the first observer marked, by `NUMBER POSITION`. */
  readonly marks: ReadonlyMap<string, Marked>;
}

/** Which play (by its number), of whom, and how it was found. */
type Seen = readonly (readonly [number: number, position: string, finding: Finding])[];

const firstObserver: Seen = [
  [1, 'umpire', 'missed'],
  [2, 'umpire', 'missed'],
  [3, 'line judge', 'missed'],
  [4, 'back judge', 'missed'],
  [5, 'umpire', 'model'],
  [6, 'line judge', 'model'],
  [7, 'back judge', 'model'],
  [8, 'referee', 'model'],
  [9, 'side judge', 'done'],
];
/** The other observer of the same game sees play 4 otherwise, and play 2 alike. */
const secondObserver: Seen = [
  [2, 'umpire', 'missed'],
  [4, 'back judge', 'done'],
];

/** A conference with one game that two observers reported on, both reports released. */
export async function taughtSeason(pool: pg.Pool): Promise<TaughtSeason> {
  const game = await oneGame(pool, 40);
  const marks = await releasedReport(pool, game, game.observerId, firstObserver);
  await releasedReport(pool, game, game.secondObserverId, secondObserver);
  return { ...game, marks };
}

/** What an observer saw, filed, accepted and released. @returns the marks by `NUMBER POSITION`. */
export async function releasedReport(
  pool: pg.Pool,
  game: OneGame,
  observerId: string,
  seen: Seen,
): Promise<Map<string, Marked>> {
  const observing = { conferenceId: game.conferenceId, personId: observerId };
  const coordinating = { conferenceId: game.conferenceId, personId: game.coordinatorId };
  const put = seen.map(([number, position, finding]) => ({
    id: randomUUID(),
    playId: game.playIds[number - 1]!,
    personId: game.crew[position]!,
    position: position as 'umpire',
    dutyKey: everybodysDuty.key,
    finding,
    comment: 'Looked at the ball.',
  }));
  await inTransaction(pool, async (client) => {
    const reportId = await openReport(client, observing, { gameId: game.gameId, observerId });
    await putMarks(client, observing, reportId, put);
    await confirmCrew(client, observing, game.gameId);
    await fileReport(client, observing, reportId);
    await acceptReport(client, coordinating, reportId);
    await releaseReport(client, coordinating, reportId);
  });
  return new Map(seen.map(([number, position], at) => [`${number} ${position}`, put[at]!]));
}

/** What a program is for, as the API takes it. */
export const frame = {
  title: 'Eyes on players',
  goal: 'Everybody keeps their eyes on players until the last one is up.',
  minutes: 10,
};
