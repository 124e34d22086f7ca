import type { Queryable } from '../../database/transaction.ts';
import type { Cut } from '../../timeline/cut.ts';

/** How a play is cut; `version` is raised by each change. */
export interface KeptCut {
  readonly cut: Cut;
  readonly version: number;
}

/** How the plays of a program are cut, by play; those that nobody cut yet are not there. */
export async function readCuts(
  db: Queryable,
  conferenceId: string,
  programId: string,
): Promise<Map<string, KeptCut>> {
  const { rows } = await db.query<KeptCut & { playId: string }>(
    `SELECT play_id AS "playId", cut, version FROM training_cut WHERE conference_id = $1 AND program_id = $2`,
    [conferenceId, programId],
  );
  return new Map(rows.map(({ playId, ...kept }) => [playId, kept]));
}
