import type { Queryable } from '../../database/transaction.ts';

/** What is known of a reel that was made. */
export interface ReelFacts {
  readonly frames: number;
  readonly seconds: number;
  readonly chapters: readonly { readonly title: string; readonly frame: number }[];
  readonly plays: readonly { readonly number: number; readonly frame: number; readonly frames: number }[];
  /** The reel stops before it shows this frame. */
  readonly questions: readonly { readonly number: number; readonly frame: number }[];
  readonly hasSound: boolean;
}

export interface EditionReel {
  readonly id: string;
  readonly facts: ReelFacts;
  /** Its captions are part of the picture: none are to be laid over it. */
  readonly burnedIn: boolean;
}

/** The newest reel of an edition that can be watched; null where there is none. */
export async function readReelOf(
  db: Queryable,
  conferenceId: string,
  programId: string,
  number: number,
): Promise<EditionReel | null> {
  const { rows } = await db.query<EditionReel>(
    `SELECT id, facts, burned_in AS "burnedIn" FROM reel
      WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 AND state = 'ready'
      ORDER BY asked_at DESC, id LIMIT 1`,
    [conferenceId, programId, number],
  );
  return rows[0] ?? null;
}

/** Whether a reel of the edition is being made. */
export async function isReelComing(
  db: Queryable,
  conferenceId: string,
  programId: string,
  number: number,
): Promise<boolean> {
  const { rowCount } = await db.query(
    `SELECT FROM reel WHERE conference_id = $1 AND program_id = $2 AND edition_number = $3 AND state = 'waiting'`,
    [conferenceId, programId, number],
  );
  return rowCount! > 0;
}
