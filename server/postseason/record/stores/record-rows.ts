import { type TrailEntry, trailEntries } from '../../../accounts/audit/audit-reading.ts';
import type { Queryable } from '../../../database/transaction.ts';
import type { Position } from '../../../football/positions.ts';
import type { Slot } from '../../../selection/slots.ts';
import { notFound } from '../../../web/problem.ts';

/** Who took a selection from one state to the next, and when. */
export interface SelectionSteps {
  readonly madeBy: string;
  readonly votingBy: string | null;
  readonly votingAt: Date | null;
  readonly openedBy: string | null;
  readonly openedAt: Date | null;
  /** Why before all had sealed, or why without a committee. */
  readonly openedBecause: string;
  readonly closedBy: string | null;
  readonly closedAt: Date | null;
}

export async function readSteps(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<SelectionSteps> {
  const { rows } = await db.query<SelectionSteps>(
    `SELECT made_by AS "madeBy", voting_by AS "votingBy", voting_at AS "votingAt", opened_by AS "openedBy",
            opened_at AS "openedAt", opened_because AS "openedBecause", closed_by AS "closedBy",
            closed_at AS "closedAt"
       FROM selection WHERE conference_id = $1 AND id = $2`,
    [conferenceId, selectionId],
  );
  if (!rows[0]) throw notFound('selection');
  return rows[0];
}

/** What an official was offered, and what came of it. */
export interface OfferMade {
  readonly gameId: string;
  readonly slot: Slot;
  readonly position: Position;
  readonly officialId: string;
  readonly offeredBy: string;
  readonly offeredAt: Date;
  readonly answerBy: string;
  readonly embargoUntil: Date | null;
  readonly answer: 'accepted' | 'declined' | 'withdrawn' | 'moved up' | null;
  readonly answeredAt: Date | null;
  readonly reason: string;
  /** Who wrote down what the official answered by telephone; null where they answered themselves. */
  readonly recordedBy: string | null;
  readonly recordedNote: string;
}

/** All offers of a selection in the order in which they were made, those that were declined too. */
export async function readOffersMade(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<OfferMade[]> {
  const { rows } = await db.query<OfferMade>(
    `SELECT game_id AS "gameId", slot, position, official_id AS "officialId", offered_by AS "offeredBy",
            offered_at AS "offeredAt", to_char(answer_by, 'YYYY-MM-DD') AS "answerBy",
            embargo_until AS "embargoUntil", answer, answered_at AS "answeredAt", reason,
            recorded_by AS "recordedBy", recorded_note AS "recordedNote"
       FROM selection_offer WHERE conference_id = $1 AND selection_id = $2 ORDER BY offered_at, slot, id`,
    [conferenceId, selectionId],
  );
  return rows;
}

export type TrailLine = Pick<
  TrailEntry,
  'number' | 'at' | 'actor' | 'action' | 'reason' | 'before' | 'after'
>;

/** What the audit trail holds of a selection, the first entry first. */
export async function readTrailOf(
  db: Queryable,
  conferenceId: string,
  selectionId: string,
): Promise<TrailLine[]> {
  const { rows } = await db.query<TrailEntry>(
    `${trailEntries} WHERE e.conference_id = $1 AND e.subject_kind = 'selection' AND e.subject_id = $2 ORDER BY e.number`,
    [conferenceId, selectionId],
  );
  return rows.map(({ number, at, actor, action, reason, before, after }) => ({
    ...{ number, at, actor, action, reason, before, after },
  }));
}
